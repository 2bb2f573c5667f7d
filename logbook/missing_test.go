package logbook

import (
	"fmt"
	"math"
	"testing"
)

func bookOf(edits ...*Edit) *Book {
	b := NewBook(testID(1), KindRules)
	for _, e := range edits {
		_ = b.Apply(e) // a refusal is kept in the book
	}
	return b
}

func TestMissing(t *testing.T) {
	phone := func(n int) Holder { return Holder{testID(60 + n), fmt.Sprintf("phone %d", n)} }
	lens := func(line int, n uint64, over ...Dot) *Edit { return clipEdit(line, n, "lens", `"50 mm"`, over...) }
	dot := func(line int, n uint64) Dot { return Dot{testLine(line), n} }
	for _, c := range []struct {
		name  string
		edits []*Edit
		want  []MissingEdits
	}{
		{"nothing where every line is whole", []*Edit{lens(1, 1), lens(1, 2, dot(1, 1)), lens(2, 1, dot(1, 2))}, nil},
		{"gaps in a line, with who wrote it", []*Edit{lens(1, 6), lens(1, 3), lens(1, 4)},
			[]MissingEdits{{testLine(1), []Span{{1, 2}, {5, 5}}, phone(1), []Holder{}}}},
		{"a name whose edit is not here, with who has seen it", []*Edit{lens(1, 1), lens(2, 1, dot(1, 3))},
			[]MissingEdits{{testLine(1), []Span{{2, 3}}, phone(1), []Holder{phone(2)}}}},
		{"a line of which nothing is here", []*Edit{lens(2, 1, dot(1, 2)), lens(3, 1, dot(1, 1)), lens(3, 2, dot(1, 2))},
			[]MissingEdits{{testLine(1), []Span{{1, 2}}, Holder{}, []Holder{phone(2), phone(3)}}}},
		{"not an edit that is here and refused", []*Edit{clipEdit(1, 1, "kelvin", "-3"), clipEdit(2, 1, "kelvin", "4300", dot(1, 1))}, nil},
		{"not what a refused edit names", []*Edit{clipEdit(2, 1, "kelvin", "-3", dot(1, 7))}, nil},
		{"the writer of a line whose only edit was refused", []*Edit{clipEdit(1, 2, "kelvin", "-3")},
			[]MissingEdits{{testLine(1), []Span{{1, 1}}, phone(1), []Holder{}}}},
		{"the greatest number there is", []*Edit{lens(2, 1, dot(1, math.MaxInt64))},
			[]MissingEdits{{testLine(1), []Span{{1, math.MaxInt64}}, Holder{}, []Holder{phone(2)}}}},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := Missing(bookOf(c.edits...)); fmt.Sprint(got) != fmt.Sprint(c.want) {
				t.Errorf("got %v, want %v", got, c.want)
			}
		})
	}
	t.Run("an edit that comes is missing no longer", func(t *testing.T) {
		b := bookOf(lens(1, 3), lens(2, 1, dot(1, 2)))
		for n := uint64(1); n <= 2; n++ {
			if err := b.Apply(lens(1, n)); err != nil {
				t.Fatal(err)
			}
		}
		if got := Missing(b); len(got) != 0 {
			t.Errorf("got %v, want none", got)
		}
	})
}
