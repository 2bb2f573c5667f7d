package logbook_test

import (
	"maps"
	"slices"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/exchange"
	"evenwhite/logbook/kinds"
)

// later is an edit in a form that only a newer version knows.
func later(e logbook.Entry) logbook.Entry {
	e.Bytes = slices.Clone(e.Bytes)
	e.Bytes[0] = 2
	e.Hash = logbook.HashOf(e.Bytes)
	return e
}

func entryWith(t *testing.T, n uint64, extra ...logbook.Member) logbook.Entry {
	t.Helper()
	e := &logbook.Edit{Production: logbook.ID{1}, Record: logbook.ID{2}, Device: logbook.ID{3}, Kind: kinds.Gel,
		Dot: logbook.Dot{Line: logbook.Line{1}, N: n}, By: "2nd AC", Extra: extra,
		Set: []logbook.Change{{Field: "name", Value: `"full green"`}}}
	b, err := logbook.EncodeEdit(e)
	if err != nil {
		t.Fatal(err)
	}
	return logbook.Entry{Dot: e.Dot, Hash: logbook.HashOf(b), Bytes: b, Via: e.Device}
}

func openOn(t *testing.T, entries ...logbook.Entry) *exchange.Peer {
	t.Helper()
	store := logbook.NewMemory()
	if err := store.Begin(logbook.ID{1}, logbook.Line{5}); err != nil {
		t.Fatal(err)
	}
	if _, err := store.Append(logbook.ID{1}, entries); err != nil {
		t.Fatal(err)
	}
	l, err := logbook.OpenLog(store, logbook.ID{1}, kinds.Rules, func() logbook.Line { return logbook.Line{6} })
	if err != nil {
		t.Fatalf("the log does not open: %v", err)
	}
	return exchange.NewPeer(l)
}

// A form that this version cannot read closes no log, and holds up no device.
func TestALogWithAnEditOfANewerFormOpens(t *testing.T) {
	p := openOn(t, entryWith(t, 1), later(entryWith(t, 2)), entryWith(t, 3))
	damage, err := p.Damaged()
	if err != nil || len(damage) != 1 || damage[0].Dot.N != 2 {
		t.Errorf("listed are %+v (%v), want the one that cannot be read", damage, err)
	}
	a, err := p.Exchange(exchange.Request{}, logbook.ID{8}, 0)
	if err != nil || len(a.Edits) != 2 || a.More {
		t.Errorf("readable: got %d edits (%v), want the two others", len(a.Edits), err)
	}
	_, passages, err := p.ExchangeRows(exchange.Request{}, logbook.ID{8}, 0)
	edits := 0
	for _, passage := range passages {
		edits += passage.Edits
	}
	if err != nil || edits != 2 {
		t.Errorf("in rows: got %d edits (%v), want the two others", edits, err)
	}
}

// The table of members belongs to byte form 1: one that is added to it would close
// every log that holds it among the extras.
func TestAMemberThatComesLaterStaysAmongTheExtras(t *testing.T) {
	gps := logbook.Member{Name: "gps", Value: `{"lat":52.50}`}
	entry := entryWith(t, 1, gps)
	p := openOn(t, entry)
	a, err := p.Exchange(exchange.Request{}, logbook.ID{8}, 0)
	if err != nil || len(a.Edits) != 1 {
		t.Fatalf("got %d edits (%v), want 1", len(a.Edits), err)
	}
	text, err := a.Edits[0].MarshalJSON()
	if err != nil {
		t.Fatal(err)
	}
	var read logbook.Edit
	if err := read.UnmarshalJSON(text); err != nil {
		t.Fatal(err)
	}
	if b, err := logbook.EncodeEdit(&read); err != nil || string(b) != string(entry.Bytes) {
		t.Errorf("through its readable form it became other bytes (%v)", err)
	}
	want := []string{"act", "at", "by", "device", "kind", "line", "n", "offsetMs", "over", "production", "record", "set"}
	if got := slices.Sorted(maps.Keys(logbook.KnownMembers)); !slices.Equal(got, want) {
		t.Errorf("the members of byte form 1 are %q, want %q for ever", got, want)
	}
}
