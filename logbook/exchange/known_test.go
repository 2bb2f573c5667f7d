package exchange_test

import (
	"errors"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/exchange"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/logtest"
)

// What a device stored of a log is all that the next start of its program needs: it goes on
// where it stood, and says the same.
func TestWhatIsKnownOfALogOutlivesTheStart(t *testing.T) {
	log, err := logbook.OpenLog(logbook.NewMemory(), logtest.Production, kinds.Rules, func() logbook.Line { return logbook.Line{9} })
	if err != nil {
		t.Fatal(err)
	}
	peer, device := exchange.NewPeer(log), logbook.ID{6: 0x70, 8: 0x80, 15: 5}
	drawn := byte(0)
	draw := func() logbook.Line { drawn++; return logbook.Line{1, drawn} }
	r := exchange.NewReplica(logtest.Production, device, kinds.Rules, draw)
	write := func(r *exchange.Replica) {
		set := []logbook.Change{{Field: "number", Value: "1"}}
		d := logbook.Draft{Kind: kinds.Day, Record: logbook.ID{6: 0x70, 8: 0x80, 15: drawn + 1}, Set: set}
		if _, err := r.Write(d, "Ada", 1_930_000_000_000, 0); err != nil {
			t.Fatal(err)
		}
	}
	if r.Knowledge(logbook.Line{9}) != nil {
		t.Error("it knows a log that it never met")
	}
	write(r)
	var met logbook.Line
	for more := true; more; {
		a, err := peer.Exchange(r.Request(met), device, 1_930_000_000_000)
		if err != nil {
			t.Fatal(err)
		}
		met, more = r.Take(a)
	}
	write(r)
	known := r.Knowledge(met)
	next := exchange.NewReplica(logtest.Production, device, kinds.Rules, draw)
	for _, e := range r.Edits(false) {
		next.Hold(e)
	}
	if next.Unsent() != 2 {
		t.Errorf("a start that knows no log has %d edits unsent, want 2", next.Unsent())
	}
	if err := next.Recall(known); err != nil {
		t.Fatal(err)
	}
	q := next.Request(met)
	if len(q.Edits) != 1 || next.Unsent() != 1 || len(next.Edits(true)) != 1 || next.Own() != 2 {
		t.Errorf("it brings %d edits, %d of %d are unsent", len(q.Edits), next.Unsent(), next.Own())
	}
	if string(next.Knowledge(met)) != string(known) {
		t.Errorf("it knows\n%s\nbefore it knew\n%s", next.Knowledge(met), known)
	}
	for i := range len(known) - 1 {
		if err := next.Recall(known[:i]); !errors.Is(err, exchange.ErrRows) {
			t.Fatalf("cut off behind %d bytes it is taken: %v", i, err)
		}
	}
	if string(next.Knowledge(met)) != string(known) {
		t.Error("what could not be read changed what is known")
	}
}
