package exchange_test

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/exchange"
	"evenwhite/logbook/logtest"
)

// drawSpans writes rows of spans as anybody may send them, and says what they name and whether
// they rise without an overlap.
func drawSpans(chance *rand.Rand, name string, most uint64) (rows string, said []logbook.Dot, rise bool) {
	rise = true
	for line := range 3 {
		var spans strings.Builder
		last := uint64(0)
		for range chance.IntN(4) {
			from := 1 + chance.Uint64N(most)
			if chance.IntN(3) > 0 { // else anywhere
				from = last + 1 + chance.Uint64N(3)
			}
			to := from + chance.Uint64N(4)
			rise = rise && from > last
			last = to
			fmt.Fprintf(&spans, ",%d,%d", from, to)
			for n := from; n <= to; n++ {
				said = append(said, logtest.Dot(line, n))
			}
		}
		rows += fmt.Sprintf("[\"%s\",\"%s\"%s]\n", name, logtest.Line(line), &spans)
	}
	return rows, said, rise
}

// Whatever spans a device names: where they overlap the request is refused by the name of the
// row; else each edit that it wants comes once, and of what it has none, and all others once.
func TestOverlappingSpansAreRefusedAndOthersLoseAndDoubleNothing(t *testing.T) {
	const most = 12 // edits of a line
	l := openPeer(t, logbook.NewMemory(), 0x10)
	for line := range 3 {
		pushMany(t, l, line, 1, most, 5)
	}
	met, err := l.Exchange(exchange.Request{}, logtest.ID(61), 9)
	if err != nil {
		t.Fatal(err)
	}
	refused, answered := 0, 0
	for seed := range uint64(400) {
		chance := rand.New(rand.NewPCG(seed, 5))
		name := []string{"have", "want"}[seed%2]
		spans, said, rise := drawSpans(chance, name, most)
		text := fmt.Sprintf("[\"rows\",1]\n[\"run\",\"%s\"]\n%s[\"end\",0]\n", met.Run, spans)
		req, err := exchange.ReadRequestRows([]byte(text), logtest.Production, nil)
		if !rise {
			refused++
			if !errors.Is(err, exchange.ErrRows) || !strings.Contains(err.Error(), "a span of "+name) {
				t.Fatalf("seed %d: got %v, want that a span of %s is refused:\n%s", seed, err, name, text)
			}
			continue
		}
		if err != nil {
			t.Fatalf("seed %d: %v\n%s", seed, err, text)
		}
		a, err := l.Exchange(req, logtest.ID(61), 9)
		if err != nil {
			t.Fatal(err)
		}
		answered++
		came, named := map[logbook.Dot]int{}, map[logbook.Dot]bool{}
		for _, e := range a.Edits {
			came[e.Dot]++
		}
		for _, d := range said {
			named[d] = true
		}
		for line := range 3 {
			for n := uint64(1); n <= most; n++ {
				d, want := logtest.Dot(line, n), 0
				if named[d] == (name == "want") {
					want = 1
				}
				if came[d] != want {
					t.Fatalf("seed %d: edit %s came %d times, want %d:\n%s", seed, d, came[d], want, text)
				}
			}
		}
	}
	if refused < 100 || answered < 100 {
		t.Errorf("%d were refused and %d answered: too few to say anything", refused, answered)
	}
}
