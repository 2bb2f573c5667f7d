package days_test

import (
	"fmt"
	"maps"
	"math/rand/v2"
	"slices"

	"evenwhite/logbook"
	"evenwhite/logbook/glance"
)

// inAnyOrder: the same edits in any order give the same bytes.
var inAnyOrder = law{name: "order", holds: func(d *played) error {
	edits := append([]*logbook.Edit(nil), d.edits...)
	rand.New(rand.NewPCG(uint64(len(edits)), 3)).Shuffle(len(edits), func(i, k int) { edits[i], edits[k] = edits[k], edits[i] })
	other := bookOf(edits)
	was, is := d.tellNow(), tell(other, d.soon())
	for _, key := range slices.SortedFunc(maps.Keys(was), func(a, b toldKey) int { return slices.Compare(a.clip[:], b.clip[:]) }) {
		a, b := was[key], is[key]
		if b == nil {
			return fmt.Errorf("in another order %s has no row", a.name())
		}
		if x, y := textOf(a.row)+a.correction, textOf(b.row)+b.correction; x != y {
			return fmt.Errorf("%s in another order: %s", a.name(), firstDifference(x, y))
		}
	}
	for _, p := range d.places {
		if x, y := placeSaid(d.all(), p, d.soon()), placeSaid(other, p, d.soon()); x != y {
			return fmt.Errorf("now and the findings in another order: %s", firstDifference(x, y))
		}
	}
	return nil
}}

// placeSaid are now and the findings of a set-up, as text.
func placeSaid(b *logbook.Book, p *place, at logbook.Millis) string {
	n, err := glance.Now(b, p.setUp, at)
	return fmt.Sprintln(textOf(n), err) + textOf(deviationsOf(b, p.setUp, at))
}

// firstDifference shows where two texts part.
func firstDifference(a, b string) string {
	at := 0
	for at < len(a) && at < len(b) && a[at] == b[at] {
		at++
	}
	from := max(0, at-160)
	return fmt.Sprintf("\n  …%s\n  …%s", a[from:min(len(a), at+160)], b[from:min(len(b), at+160)])
}
