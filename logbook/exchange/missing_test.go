package exchange_test

import (
	"fmt"
	"math"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/exchange"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/logtest"
)

func TestMissing(t *testing.T) {
	phone := func(n int) exchange.Holder {
		return exchange.Holder{Device: logtest.ID(60 + n), By: fmt.Sprintf("phone %d", n)}
	}
	lens := func(line int, n uint64, over ...logbook.Dot) *logbook.Edit {
		return logtest.ClipEdit(line, n, "lens", `"50 mm"`, over...)
	}
	dot := func(line int, n uint64) logbook.Dot { return logtest.Dot(line, n) }
	for _, c := range []struct {
		name  string
		edits []*logbook.Edit
		want  []exchange.MissingEdits
	}{
		{"nothing where every line is whole", []*logbook.Edit{lens(1, 1), lens(1, 2, dot(1, 1)), lens(2, 1, dot(1, 2))}, nil},
		{"gaps in a line, with who wrote it", []*logbook.Edit{lens(1, 6), lens(1, 3), lens(1, 4)},
			[]exchange.MissingEdits{{Line: logtest.Line(1), Spans: []logbook.Span{{From: 1, To: 2}, {From: 5, To: 5}}, Writer: phone(1), SeenBy: []exchange.Holder{}}}},
		{"a name whose edit is not here, with who has seen it", []*logbook.Edit{lens(1, 1), lens(2, 1, dot(1, 3))},
			[]exchange.MissingEdits{{Line: logtest.Line(1), Spans: []logbook.Span{{From: 2, To: 3}}, Writer: phone(1), SeenBy: []exchange.Holder{phone(2)}}}},
		{"a line of which nothing is here", []*logbook.Edit{lens(2, 1, dot(1, 2)), lens(3, 1, dot(1, 1)), lens(3, 2, dot(1, 2))},
			[]exchange.MissingEdits{{Line: logtest.Line(1), Spans: []logbook.Span{{From: 1, To: 2}}, Writer: exchange.Holder{}, SeenBy: []exchange.Holder{phone(2), phone(3)}}}},
		{"not an edit that is here and refused", []*logbook.Edit{logtest.ClipEdit(1, 1, "kelvin", "-3"), logtest.ClipEdit(2, 1, "kelvin", "4300", dot(1, 1))}, nil},
		{"not what a refused edit names", []*logbook.Edit{logtest.ClipEdit(2, 1, "kelvin", "-3", dot(1, 7))}, nil},
		{"the writer of a line whose only edit was refused", []*logbook.Edit{logtest.ClipEdit(1, 2, "kelvin", "-3")},
			[]exchange.MissingEdits{{Line: logtest.Line(1), Spans: []logbook.Span{{From: 1, To: 1}}, Writer: phone(1), SeenBy: []exchange.Holder{}}}},
		{"the greatest number there is", []*logbook.Edit{lens(2, 1, dot(1, math.MaxInt64))},
			[]exchange.MissingEdits{{Line: logtest.Line(1), Spans: []logbook.Span{{From: 1, To: math.MaxInt64}}, Writer: exchange.Holder{}, SeenBy: []exchange.Holder{phone(2)}}}},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := exchange.Missing(logtest.Book(kinds.Rules, c.edits...)); fmt.Sprint(got) != fmt.Sprint(c.want) {
				t.Errorf("got %v, want %v", got, c.want)
			}
		})
	}
	t.Run("an edit that comes is missing no longer", func(t *testing.T) {
		b := logtest.Book(kinds.Rules, lens(1, 3), lens(2, 1, dot(1, 2)))
		for n := uint64(1); n <= 2; n++ {
			if err := b.Apply(lens(1, n)); err != nil {
				t.Fatal(err)
			}
		}
		if got := exchange.Missing(b); len(got) != 0 {
			t.Errorf("got %v, want none", got)
		}
	})
}
