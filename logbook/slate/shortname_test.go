package slate_test

import (
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/logtest"
	"evenwhite/logbook/slate"
)

func TestShortNameOfATitle(t *testing.T) {
	for title, want := range map[string]string{
		"The Night Ferry":              "the-night-ferry",
		"The Lighthouse Keeper":        "the-lighthouse",
		"Unaussprechlichkeitsbeweise!": "unaussprechlichk",
		"Öl & Wasser":                  "l-wasser",
		"夜":                            "",
	} {
		b := logbook.NewBook(logtest.Production, kinds.Rules)
		e := &logbook.Edit{
			Production: logtest.Production, Record: logtest.Production, Device: logtest.ID(3), Kind: kinds.Production,
			Dot: logtest.Dot(1, 1), Set: []logbook.Change{{Field: "title", Value: logbook.TextValue(title)}},
		}
		if err := b.Apply(e); err != nil {
			t.Fatal(err)
		}
		v, _ := b.Record(logtest.Production)
		if got := slate.ShortName(v); got != want {
			t.Errorf("%q: got %q, want %q", title, got, want)
		}
	}
}
