package amend

import (
	"cmp"
	"sort"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
)

// A ConflictPlace is a place in the list of conflicts: after a record of a kind.
type ConflictPlace struct {
	Kind   logbook.Kind // empty: before all
	Record logbook.Place
}

// Compare returns -1, 0 or +1: kinds go by the table, those of a newer version come last, by name.
func (p ConflictPlace) Compare(other ConflictPlace) int {
	if p.Kind != other.Kind {
		rank := func(kind logbook.Kind) int {
			if n := rankOf(kind); n >= 0 {
				return n
			}
			return len(kinds.Specs)
		}
		switch {
		case p.Kind == "":
			return -1
		case other.Kind == "":
			return 1
		}
		return cmp.Or(cmp.Compare(rank(p.Kind), rank(other.Kind)), cmp.Compare(p.Kind, other.Kind))
	}
	return p.Record.Compare(other.Record)
}

// conflictIndex keeps which records hold something that is not decided.
type conflictIndex struct {
	order  *logbook.Order[ConflictPlace]
	found  map[logbook.RecordRef]openRecord
	counts map[logbook.ID]int // by the set-up as it stands in the records
}

type openRecord struct {
	place logbook.Place
	setUp logbook.ID
	count int
}

// KeepConflicts keeps the records with something to settle.
var KeepConflicts = logbook.Keep{Name: "conflicts", Begin: func() logbook.Keeper {
	return &conflictIndex{logbook.NewOrder(ConflictPlace.Compare, nil), map[logbook.RecordRef]openRecord{}, map[logbook.ID]int{}}
}}

func conflictsOf(b *logbook.Book) *conflictIndex {
	return b.Kept(KeepConflicts).(*conflictIndex)
}

// Change looks at a record again.
func (x *conflictIndex) Change(apart logbook.View) {
	at := logbook.RecordRef{Kind: apart.Kind, Record: apart.ID}
	if known, ok := x.found[at]; ok {
		x.order.Remove(ConflictPlace{at.Kind, known.place})
		if x.counts[known.setUp] -= known.count; x.counts[known.setUp] == 0 {
			delete(x.counts, known.setUp)
		}
		delete(x.found, at)
	}
	v, _ := apart.Book().RecordOf(apart.Kind, apart.ID)
	if v.ID != apart.ID {
		return // it is listed as the one that it reads as
	}
	count := len(undecided(v))
	if count == 0 {
		return
	}
	now := openRecord{v.Place(), v.ID, count}
	if v.Kind != kinds.SetUp {
		now.setUp, _ = v.Value("setUp").ID()
	}
	x.order.Add(ConflictPlace{at.Kind, now.place})
	x.counts[now.setUp] += count
	x.found[at] = now
}

// Conflicts lists what is not decided in a production, by kind in the order of
// the table, then in the order in which the records were made. Struck-out records count
// only where somebody changed them unseen.
func Conflicts(b *logbook.Book) []Conflict {
	all, _, _ := ConflictsFrom(b, ConflictPlace{}, -1)
	return all
}

// ConflictsFrom lists so many of them from behind a place on, or all for less than none;
// and where it goes on, if it does. The conflicts of one record stay together.
func ConflictsFrom(b *logbook.Book, after ConflictPlace, most int) (all []Conflict, last ConflictPlace, more bool) {
	last = after
	for at := range conflictsOf(b).order.From(func(p ConflictPlace) bool { return p.Compare(after) > 0 }) {
		v, _ := b.RecordOf(at.Kind, at.Record.ID)
		found := undecided(v)
		if most >= 0 && len(all) > 0 && len(all)+len(found) > most {
			return all, last, true
		}
		all, last = append(all, found...), at
	}
	return all, last, false
}

// ConflictCounts is how much is not decided in each set-up, by id.
func ConflictCounts(b *logbook.Book) []SetUpCount {
	counts := map[logbook.ID]int{}
	for setUp, n := range conflictsOf(b).counts {
		counts[b.Resolve(setUp)] += n
	}
	sums := make([]SetUpCount, 0, len(counts))
	for setUp, n := range counts {
		sums = append(sums, SetUpCount{setUp, n})
	}
	sort.Slice(sums, func(i, j int) bool { return sums[i].SetUp.Less(sums[j].SetUp) })
	return sums
}
