package logtest

import (
	"math"

	"pgregory.net/rapid"

	"evenwhite/logbook"
)

// The bounds of the byte form.
const (
	yearTenThousand = 253402300800000
	maxName         = 200
)

// DrawEdit makes any edit that the byte form can hold.
func DrawEdit(t *rapid.T) *logbook.Edit {
	name := rapid.StringMatching(`[a-zA-Zä/*]{1,12}`)
	dot := drawDot(math.MaxUint64) // which is what an edit may name
	e := &logbook.Edit{
		Production: Production, Record: ID(rapid.IntRange(2, 9).Draw(t, "record")), Device: ID(100),
		Kind: logbook.Kind(name.Draw(t, "kind")), Dot: drawDot(1<<62).Draw(t, "dot"),
		At:     logbook.Millis(rapid.Int64Range(0, yearTenThousand-1).Draw(t, "at")),
		Offset: logbook.Millis(rapid.Int64Range(1-yearTenThousand, yearTenThousand-1).Draw(t, "offset")),
		By:     rapid.String().Draw(t, "by"),
	}
	if len(e.By) > maxName {
		e.By = e.By[:0]
	}
	if rapid.Bool().Draw(t, "hasAct") {
		e.Act = dot.Draw(t, "act")
	}
	for _, field := range rapid.SliceOfNDistinct(name, 1, 5, rapid.ID[string]).Draw(t, "fields") {
		e.Set = append(e.Set, logbook.Change{
			Field: field, Value: drawValue(t, "value"),
			Over: rapid.SliceOfNDistinct(dot, 0, 3, rapid.ID[logbook.Dot]).Draw(t, "over"),
		})
	}
	for _, n := range rapid.SliceOfNDistinct(rapid.StringMatching(`x[a-z]{1,8}`), 0, 2, rapid.ID[string]).Draw(t, "extra") {
		e.Extra = append(e.Extra, logbook.Member{Name: n, Value: drawValue(t, "extra value")})
	}
	return e
}

func drawDot(most uint64) *rapid.Generator[logbook.Dot] {
	return rapid.Custom(func(t *rapid.T) logbook.Dot {
		return Dot(rapid.IntRange(0, 3).Draw(t, "line"), rapid.Uint64Range(1, most).Draw(t, "n"))
	})
}

func drawValue(t *rapid.T, label string) logbook.Value {
	texts := []string{`1`, `1.50`, `-0`, `1e-7`, `true`, `false`, `null`, `"a"`, `"ä\n\"\u0001"`, `[1,[2.0,"x"]]`, `{"b":1,"a":{"c":[]}}`, `"😀"`}
	v, err := logbook.ParseValue(rapid.SampledFrom(texts).Draw(t, label))
	if err != nil {
		t.Fatal(err)
	}
	return v
}
