package amend

import (
	"sort"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
)

// setRuns numbers the runs among the pairs, from 1. Takes of one set-up that the same
// two devices logged, with no take in between that only one of them has, are a run:
// what is true of one pair of it nearly always is of all, so that one answer settles
// them. Any other pair is a run of its own.
func setRuns(b *logbook.Book, pairs []Twin) {
	places := map[logbook.ID]map[logbook.ID]int{} // per set-up: where a take stands
	at := func(t *Twin) int {
		if places[t.SetUp] == nil {
			places[t.SetUp] = placesOf(b, t.SetUp)
		}
		return places[t.SetUp][t.First]
	}
	order := make([]*Twin, len(pairs))
	for i := range pairs {
		pairs[i].Run = i + 1
		order[i] = &pairs[i]
	}
	sort.SliceStable(order, func(i, j int) bool {
		t, u := order[i], order[j]
		if t.SetUp != u.SetUp {
			return t.SetUp.Less(u.SetUp)
		}
		return at(t) < at(u)
	})
	last := map[[3]logbook.ID]*Twin{} // per set-up and two devices
	for _, t := range order {
		if t.Kind != kinds.Take {
			continue
		}
		key := [3]logbook.ID{t.SetUp, deviceOf(b, t.First), deviceOf(b, t.Second)}
		if key[2].Less(key[1]) {
			key[1], key[2] = key[2], key[1]
		}
		if before := last[key]; before != nil && at(t) <= at(before)+1 {
			t.Run = before.Run
		}
		last[key] = t
	}
	runs := map[int]int{}
	for i := range pairs {
		run, ok := runs[pairs[i].Run]
		if !ok {
			run = len(runs) + 1
			runs[pairs[i].Run] = run
		}
		pairs[i].Run = run
	}
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

func deviceOf(b *logbook.Book, id logbook.ID) logbook.ID {
	v, ok := b.Record(id)
	if !ok {
		return logbook.ID{}
	}
	return v.Created().Device
}

// AnswerAll makes the drafts of one answer to the whole run that a pair is in: to
// the pair alone where it is not asked about. The error is a *FieldError.
func AnswerAll(b *logbook.Book, first, second logbook.ID, answer string) ([]logbook.Draft, error) {
	drafts, err := Answer(b, first, second, answer)
	if err != nil {
		return nil, err
	}
	if second.Less(first) {
		first, second = second, first
	}
	all := Twins(b)
	run := 0
	for _, t := range all {
		if t.First == first && t.Second == second {
			run = t.Run
		}
	}
	for _, t := range all {
		if t.Run != run || t.First == first && t.Second == second {
			continue
		}
		more, err := Answer(b, t.First, t.Second, answer)
		if err != nil {
			return nil, err
		}
		drafts = append(drafts, more...)
	}
	return drafts, nil
}
