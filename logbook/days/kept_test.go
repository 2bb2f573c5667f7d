package days_test

import (
	"encoding/json"
	"fmt"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/deviation"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/logtest"
)

// What is kept of each set-up is asked after every few edits of a day, and must be what is
// found by whoever asks for the first time. The clock stands, so that nothing is said anew for
// its sake.
func TestWhatIsKeptOfEachSetUpIsWhatIsFoundAnew(t *testing.T) {
	for seed := uint64(1); seed <= uint64(*dayCount)/6; seed++ {
		t.Run(fmt.Sprint("seed ", seed), func(t *testing.T) {
			d := play(drawDay(seed))
			for _, now := range []logbook.Millis{d.soon(), d.clock + muchLater} {
				keptDay(t, d, now)
			}
		})
	}
}

func keptDay(t *testing.T, d *played, now logbook.Millis) {
	l, err := logbook.OpenLog(logbook.NewMemory(), production, kinds.Rules, logtest.Lines(0xee))
	if err != nil {
		t.Fatal(err)
	}
	var kept deviation.Kept
	pushed := 0
	for i := range d.events {
		edits := d.edits[pushed:d.marks[i+1].edits]
		if pushed += len(edits); len(edits) > 0 {
			if _, err := l.Push(edits, logbook.ID{15: 9}, now); err != nil {
				t.Fatal(err)
			}
		}
		if i%2 == 1 && i != len(d.events)-1 {
			continue
		}
		f, err := l.Freeze()
		if err != nil {
			t.Fatal(err)
		}
		got, err := kept.Of(f, deviation.Scope{}, now)
		if err != nil {
			t.Fatal(err)
		}
		if got, want := inJSON(t, got), inJSON(t, deviation.Of(f, deviation.Scope{}, now)); got != want {
			t.Fatalf("after %s, event %d, is kept\n%s\nand found anew\n%s", d.events[i].Do, i, got, want)
		}
		f.Close()
	}
}

func inJSON(t *testing.T, all []deviation.Deviation) string {
	t.Helper()
	b, err := json.MarshalIndent(all, "", " ")
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}
