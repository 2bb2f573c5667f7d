package amend

import (
	"fmt"
	"slices"
	"sort"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
)

// runsOf names the runs among the groups of takes of a set-up, each by the first record of
// its first group. Takes that the same devices logged, with no take in between that only
// some of them have, are a run: what is true of one group of it nearly always is of all, so
// that one answer settles them. Any other group is a run of its own.
func runsOf(b *logbook.Book, all []*TwinGroup, setUp logbook.ID) map[*TwinGroup]logbook.ID {
	var groups []*TwinGroup
	for _, g := range all {
		if g.Kind == kinds.Take && g.SetUp == setUp {
			groups = append(groups, g)
		}
	}
	places := placesOf(b, setUp)
	at := func(g *TwinGroup) int { return places[g.Records[0]] }
	sort.SliceStable(groups, func(i, j int) bool { return at(groups[i]) < at(groups[j]) })
	runs, last := map[*TwinGroup]logbook.ID{}, map[string]*TwinGroup{} // by devices
	for _, g := range groups {
		runs[g] = g.Records[0]
		devices := fmt.Sprint(devicesOf(b, g))
		if before := last[devices]; before != nil && at(g) <= at(before)+1 {
			runs[g] = runs[before]
		}
		last[devices] = g
	}
	return runs
}

// placesOf orders the takes of a set-up by number and suffix; those that read alike
// stand in one place.
func placesOf(b *logbook.Book, setUp logbook.ID) map[logbook.ID]int {
	takes := b.Referring(kinds.Take, "setUp", setUp)
	before := func(i, j int) bool {
		n, _ := takes[i].Number("number")
		m, _ := takes[j].Number("number")
		if n != m {
			return n < m
		}
		return takes[i].Text("suffix") < takes[j].Text("suffix")
	}
	sort.SliceStable(takes, before)
	places := map[logbook.ID]int{}
	place := 0
	for i, take := range takes {
		if i > 0 && before(i-1, i) {
			place++
		}
		places[take.ID] = place
	}
	return places
}

// devicesOf are the devices that logged the records of a group, each once.
func devicesOf(b *logbook.Book, g *TwinGroup) (all []logbook.ID) {
	for _, id := range g.Records {
		all = append(all, deviceOf(b, id))
	}
	slices.SortFunc(all, compareIDs)
	return slices.Compact(all)
}

func deviceOf(b *logbook.Book, id logbook.ID) logbook.ID {
	v, ok := b.Record(id)
	if !ok {
		return logbook.ID{}
	}
	return v.Created().Device
}
