package setup

import (
	"slices"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
)

// apartIndex keeps where people may have entered something apart, so that a production is
// not read whole to find it.
type apartIndex struct {
	setUpOf   map[logbook.ID]logbook.ID // of each white that counts, as it stands in its record
	whites    map[logbook.ID]int        // how many a set-up has
	several   logbook.IDSet             // the set-ups that have more than one
	joined    logbook.IDSet             // those that read as one with others
	replacing logbook.IDSet             // the readings that replace one
}

// KeepApart keeps where people may have entered something apart.
var KeepApart = logbook.Keep{Name: "apart", Begin: func() logbook.Keeper {
	return &apartIndex{map[logbook.ID]logbook.ID{}, map[logbook.ID]int{}, logbook.IDSet{}, logbook.IDSet{}, logbook.IDSet{}}
}}

func apartOf(b *logbook.Book) *apartIndex {
	return b.Kept(KeepApart).(*apartIndex)
}

// Change looks at a record again.
func (x *apartIndex) Change(apart logbook.View) {
	v, _ := apart.Book().RecordOf(apart.Kind, apart.ID)
	reads := v.ID == apart.ID && !v.Deleted()
	switch apart.Kind {
	case kinds.SetUp:
		delete(x.joined, apart.ID)
		if len(v.Members()) > 1 {
			x.joined.Add(apart.ID)
		}
	case kinds.Reading:
		delete(x.replacing, apart.ID)
		if reads && v.Value("supersedes") != "" {
			x.replacing.Add(apart.ID)
		}
	case kinds.White:
		if setUp, ok := x.setUpOf[apart.ID]; ok {
			x.count(setUp, -1)
			delete(x.setUpOf, apart.ID)
		}
		if setUp, ok := v.Value("setUp").ID(); ok && reads && !lighting.Withdrawn(v) {
			x.count(setUp, 1)
			x.setUpOf[apart.ID] = setUp
		}
	}
}

func (x *apartIndex) count(setUp logbook.ID, by int) {
	if x.whites[setUp] += by; x.whites[setUp] == 0 {
		delete(x.whites, setUp)
	}
	if delete(x.several, setUp); x.whites[setUp] > 1 {
		x.several.Add(setUp)
	}
}

// setUps lists the set-ups that may have several whites, in the order in which they were
// made.
func (x *apartIndex) setUps(b *logbook.Book) []logbook.View {
	all := logbook.IDSet{}
	for id := range x.several {
		all.Add(b.Resolve(id))
	}
	for id := range x.joined {
		if x.whites[id] > 0 {
			all.Add(b.Resolve(id))
		}
	}
	return inOrder(b, kinds.SetUp, all)
}

func (x *apartIndex) readings(b *logbook.Book) []logbook.View {
	return inOrder(b, kinds.Reading, x.replacing)
}

// inOrder finds records that are not struck out, in the order in which they were made.
func inOrder(b *logbook.Book, kind logbook.Kind, ids logbook.IDSet) (all []logbook.View) {
	for id := range ids {
		if v, ok := b.RecordOf(kind, id); ok && !v.Deleted() {
			all = append(all, v)
		}
	}
	slices.SortFunc(all, logbook.ByPlace)
	return all
}

// mayBeApart reports whether two of a set-up's whites may count at one moment: neither
// names the other, and neither surely begins later. It looks at the records of the whites
// and takes alone; whether they do, and can be told apart, the set-up says once it is read.
func mayBeApart(b *logbook.Book, setUp logbook.ID, whites []logbook.View) bool {
	h := &history{book: b, named: map[logbook.ID]logbook.IDSet{}, led: map[logbook.ID]logbook.IDSet{}}
	begins := make([]begin, len(whites))
	for i, v := range whites {
		begins[i] = beginOf(b, v)
	}
	for i, v := range whites {
		for j, w := range whites[:i] {
			if h.ledTo(v.ID)[w.ID] != h.ledTo(w.ID)[v.ID] {
				continue // one replaces the other
			}
			if !surelyApart(begins[i], begins[j]) || len(h.namedBy(v.ID)) > 0 && len(h.namedBy(w.ID)) > 0 {
				return true
			}
		}
	}
	for _, take := range b.Referring(kinds.Take, "setUp", setUp) {
		if named := take.Ref("white"); !named.IsZero() && !slices.ContainsFunc(whites, func(v logbook.View) bool { return v.ID == named }) {
			return true // of another set-up
		}
	}
	return false
}

// surelyApart reports whether of two starts one is later, whatever the takes are.
func surelyApart(x, y begin) bool {
	switch {
	case x.as == "" || y.as == "":
		return false
	case x.numbered && y.numbered:
		return x.number != y.number
	case x.as == "start" || y.as == "start":
		return x.as != y.as
	case x.as == "time" && y.as == "time":
		return x.at != y.at
	}
	return false
}
