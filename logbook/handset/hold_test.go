package handset_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/logtest"
	"evenwhite/server/demo"
)

// A page that an engine held before is held again as it was, but is not judged.
func TestAPageThatWasValidIsHeldAsItIs(t *testing.T) {
	store := logbook.NewMemory()
	var good []byte
	demoLog(t, store).Read(func(b *logbook.Book) {
		for e := range b.Applied() {
			bytes, err := logbook.EncodeEdit(e)
			if err != nil {
				t.Fatal(err)
			}
			good = frame(good, bytes)
		}
	})
	opened := func() *machine {
		m := &machine{TB: t}
		m.ask("open", fmt.Sprintf(`{"production":"%s","device":"%s"}`, demo.Production, phone), nil)
		return m
	}
	judged, valid := opened(), opened()
	if got, want := string(valid.ask("hold", `{"valid":true}`, good).JSON), string(judged.ask("hold", `{}`, good).JSON); got != want {
		t.Errorf("hold: got %.300s, want %.300s", got, want)
	}
	for name, text := range map[string]string{"state": `{}`, "setUps": `{}`, "conflicts": fmt.Sprintf(`{"now":%d}`, asked), "quarantine": `{}`} {
		if got, want := string(valid.ask(name, text, nil).JSON), string(judged.ask(name, text, nil).JSON); got != want {
			t.Errorf("%s: got %.300s, want %.300s", name, got, want)
		}
	}
	bad := logtest.ClipEdit(1, 1, "lens", "7") // no text
	bad.Production, bad.Kind = demo.Production, kinds.Clip
	bytes, err := logbook.EncodeEdit(bad)
	if err != nil {
		t.Fatal(err)
	}
	if got := string(judged.member("hold", `{}`, frame(nil, bytes), "marks")); !strings.Contains(got, "lens") {
		t.Errorf("of an edit that is not valid it says %s", got)
	}
	if got := string(valid.member("hold", `{"valid":true}`, frame(nil, bytes), "marks")); got != "[]" {
		t.Errorf("what was said to be valid was judged: %s", got)
	}
	cut := frame(frame(nil, bytes[:60]), slices.Clone(bytes))
	if got := string(opened().member("hold", `{"valid":true}`, cut, "marks")); !strings.Contains(got, "not an edit") || strings.Count(got, "reason") != 1 {
		t.Errorf("of a cut edit and a whole one it says %s", got)
	}
}
