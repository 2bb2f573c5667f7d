package days_test

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/glance"
)

// inAnyOrder: the same edits in any order give the same bytes.
var inAnyOrder = law{name: "order", holds: func(d *played) error {
	now := d.clock + minute
	want := everythingSaid(d.all(), d.job, now)
	edits := append([]*logbook.Edit(nil), d.edits...)
	rand.New(rand.NewPCG(uint64(len(edits)), 3)).Shuffle(len(edits), func(i, k int) { edits[i], edits[k] = edits[k], edits[i] })
	if got := everythingSaid(bookOf(edits), d.job, now); got != want {
		return errors.New("in another order: " + firstDifference(want, got))
	}
	return nil
}}

// everythingSaid are rows, corrections, findings and now of a production, as text.
func everythingSaid(b *logbook.Book, j *job, now logbook.Millis) string {
	var out strings.Builder
	for _, row := range rowsOf(b) {
		fmt.Fprintln(&out, textOf(row))
	}
	for _, p := range j.places {
		for _, clip := range p.clips {
			_, text := correctionOf(b, clip, now)
			fmt.Fprintln(&out, text)
		}
		n, err := glance.Now(b, p.setUp, now)
		fmt.Fprintln(&out, textOf(n), err)
		fmt.Fprintln(&out, textOf(deviationsOf(b, p.setUp, now)))
	}
	return out.String()
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

func TestAnyOrder(t *testing.T) { inAnyOrder.keeps(t, drawDay, *dayCount) }
