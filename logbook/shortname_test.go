package logbook

import "testing"

func TestShortNameOfATitle(t *testing.T) {
	for title, want := range map[string]string{
		"The Night Ferry":              "the-night-ferry",
		"The Lighthouse Keeper":        "the-lighthouse",
		"Unaussprechlichkeitsbeweise!": "unaussprechlichk",
		"Öl & Wasser":                  "l-wasser",
		"夜":                            "",
	} {
		b := NewBook(testID(1), KindRules)
		e := &Edit{Production: testID(1), Record: testID(1), Device: testID(3), Kind: KindProduction, Dot: Dot{testLine(1), 1}, Set: []Change{{"title", TextValue(title), nil}}}
		if err := b.Apply(e); err != nil {
			t.Fatal(err)
		}
		v, _ := b.Record(testID(1))
		if got := ShortNameOf(v); got != want {
			t.Errorf("%q: got %q, want %q", title, got, want)
		}
	}
}
