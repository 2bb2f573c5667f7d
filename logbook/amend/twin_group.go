package amend

import (
	"bytes"
	"cmp"
	"slices"
	"sort"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
)

// A TwinGroup is records with equal natural keys, which may be the same thing logged several
// times. A person says which of them are one; the group is asked about until each pair of it
// is answered.
type TwinGroup struct {
	Kind    logbook.Kind
	SetUp   logbook.ID      // zero where the records belong to none
	Run     logbook.ID      // groups of one run may be answered together
	Records []logbook.ID    // as they read, by id
	Two     [][2]logbook.ID // the pairs of them that were answered to be two
	key     uint64
}

// Place is where the group stands in the list: the kind by its place in the table.
func (g *TwinGroup) Place() TwinPlace { return PlaceOfTwins(g.Kind, g.Records[0], g.key) }

// A TwinPlace is a place in the list of groups.
type TwinPlace struct {
	Kind int
	ID   logbook.ID
	Key  uint64 // a clip may be in several groups
}

// PlaceOfTwins is the place of a group by what it begins with.
func PlaceOfTwins(kind logbook.Kind, id logbook.ID, key uint64) TwinPlace {
	return TwinPlace{rankOf(kind), id, key}
}

// Compare returns -1, 0 or +1.
func (p TwinPlace) Compare(other TwinPlace) int {
	return cmp.Or(cmp.Compare(p.Kind, other.Kind), bytes.Compare(p.ID[:], other.ID[:]), cmp.Compare(p.Key, other.Key))
}

func rankOf(kind logbook.Kind) int {
	return slices.IndexFunc(kinds.Specs, func(s kinds.Spec) bool { return s.Kind == kind })
}

// Twins lists the groups that are asked about, by kind in the order of the table, then by
// their first ids. Struck-out records drop out.
func Twins(b *logbook.Book) []TwinGroup { return TwinsFrom(b, TwinPlace{Kind: -1}, -1) }

// TwinsFrom lists so many of them from behind a place on; all for less than none.
func TwinsFrom(b *logbook.Book, after TwinPlace, most int) []TwinGroup {
	all := groupsAsked(b)
	from, _ := slices.BinarySearchFunc(all, after, func(g *TwinGroup, p TwinPlace) int {
		if g.Place().Compare(p) <= 0 {
			return -1
		}
		return 1
	})
	to := len(all)
	if most >= 0 {
		to = min(from+most, to)
	}
	out := make([]TwinGroup, 0, to-from)
	runs := map[logbook.ID]map[*TwinGroup]logbook.ID{} // by set-up
	for _, g := range all[from:to] {
		found := *g
		if found.Run = g.Records[0]; g.Kind == kinds.Take {
			if runs[g.SetUp] == nil {
				runs[g.SetUp] = runsOf(b, all, g.SetUp)
			}
			found.Run = runs[g.SetUp][g]
		}
		out = append(out, found)
	}
	return out
}

// twoAmong lists the pairs of records that were answered to be two.
func twoAmong(b *logbook.Book, kind logbook.Kind, ids []logbook.ID) (pairs [][2]logbook.ID) {
	for _, id := range ids {
		v, _ := b.RecordOf(kind, id)
		for other, answer := range v.Answers() {
			if answer != TwinTwo {
				continue
			}
			w, _ := b.RecordOf(kind, other.ID)
			pair := [2]logbook.ID{id, w.ID}
			if w.ID.Less(id) {
				pair = [2]logbook.ID{w.ID, id}
			}
			if _, in := slices.BinarySearchFunc(ids, w.ID, compareIDs); in && w.ID != id {
				pairs = append(pairs, pair)
			}
		}
	}
	sort.Slice(pairs, func(i, j int) bool {
		return cmp.Or(compareIDs(pairs[i][0], pairs[j][0]), compareIDs(pairs[i][1], pairs[j][1])) < 0
	})
	return slices.Compact(pairs)
}

func compareIDs(x, y logbook.ID) int { return bytes.Compare(x[:], y[:]) }
