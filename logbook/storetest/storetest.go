// Package storetest holds every store to the promises of logbook.Store.
package storetest

import (
	"bytes"
	"errors"
	"fmt"
	"sync"
	"testing"

	"evenwhite/logbook"
)

// Run runs the suite. open makes an empty store for one test and registers its
// closing and its integrity check with t.Cleanup.
func Run(t *testing.T, open func(t *testing.T) logbook.Store) {
	for _, c := range []struct {
		name string
		test func(*testing.T, logbook.Store)
	}{
		{"an append is read back in order with its chain", appendsAreRead},
		{"a dot is held once: repeat and clash", dotsAreHeldOnce},
		{"reading is paged by bytes", readingIsPaged},
		{"what is handed out is the caller's own", copiesAreTheCallers},
		{"ranges follow lines and gaps", rangesFollow},
		{"edits are found by dot", editsAreFound},
		{"productions are apart, and unknown ones are an error", productionsAreApart},
		{"a log begins once", logsBeginOnce},
		{"small values are kept under names", valuesAreKept},
		{"many writers at once lose nothing", manyWriters},
		{"a closed store says so", closedSaysSo},
	} {
		t.Run(c.name, func(t *testing.T) { c.test(t, open(t)) })
	}
}

// Production is the production that the suite writes in.
var Production = logbook.ID{1, 14: 7}

var identity = logbook.Line{1, 2, 3, 4, 5, 6, 7, 8}

// Entry makes the nth edit of a line, with a value that makes it long.
func Entry(line byte, n uint64, text string) logbook.Entry {
	return entryOf(Production, line, n, text)
}

func entryOf(production logbook.ID, line byte, n uint64, text string) logbook.Entry {
	e := &logbook.Edit{
		Production: production, Record: logbook.ID{2, 14: 7}, Device: logbook.ID{3, 14: 7}, Kind: logbook.KindClip,
		Dot: logbook.Dot{Line: logbook.Line{line}, N: n}, By: "2nd AC",
		Set: []logbook.Change{{Field: "lens", Value: logbook.TextValue(text)}},
	}
	b, err := logbook.EncodeEdit(e)
	if err != nil {
		panic(err)
	}
	return logbook.Entry{Dot: e.Dot, Hash: logbook.HashOf(b), Bytes: b, Via: e.Device, Received: 1000 + logbook.Millis(n)}
}

func begin(t *testing.T, s logbook.Store) {
	t.Helper()
	if err := s.Begin(Production, identity); err != nil {
		t.Fatal(err)
	}
}

func add(t *testing.T, s logbook.Store, entries ...logbook.Entry) []logbook.Receipt {
	t.Helper()
	r, err := s.Append(Production, entries)
	if err != nil {
		t.Fatal(err)
	}
	if len(r) != len(entries) {
		t.Fatalf("got %d receipts for %d entries", len(r), len(entries))
	}
	return r
}

func appendsAreRead(t *testing.T, s logbook.Store) {
	begin(t, s)
	var want []logbook.Entry
	for n := uint64(1); n <= 20; n++ {
		want = append(want, Entry(1, n, fmt.Sprint("lens ", n)))
	}
	for i, r := range append(add(t, s, want[:7]...), add(t, s, want[7:]...)...) {
		if r.Outcome != logbook.Taken || r.Seq != logbook.Seq(i+1) {
			t.Errorf("receipt %d is %+v, want taken at %d", i, r, i+1)
		}
	}
	got, err := s.Read(Production, 0, 1<<20)
	if err != nil || len(got) != len(want) {
		t.Fatalf("got %d edits (%v), want %d", len(got), err, len(want))
	}
	var chain logbook.Chain
	for i, g := range got {
		w := want[i]
		chain = chain.Next(logbook.HashOf(w.Bytes))
		if g.Seq != logbook.Seq(i+1) || g.Dot != w.Dot || g.Hash != w.Hash || g.Via != w.Via || g.Received != w.Received || !bytes.Equal(g.Bytes, w.Bytes) {
			t.Errorf("edit %d is %+v, want %+v", i, g, w)
		}
		at, ok, err := s.ChainAt(Production, g.Seq)
		if g.Chain != chain || at != chain || !ok || err != nil {
			t.Errorf("chain at %d is %x and %x (%v %v), want %x", g.Seq, g.Chain, at, ok, err, chain)
		}
	}
	head, err := s.Head(Production)
	if want := (logbook.Head{Identity: identity, Seq: 20, Chain: chain}); err != nil || head != want {
		t.Errorf("head is %+v (%v), want %+v", head, err, want)
	}
	if at, ok, err := s.ChainAt(Production, 0); at != (logbook.Chain{}) || !ok || err != nil {
		t.Errorf("chain at 0 is %x (%v %v), want zero", at, ok, err)
	}
	if _, ok, err := s.ChainAt(Production, 21); ok || err != nil {
		t.Errorf("chain beyond the end: ok %v (%v), want false", ok, err)
	}
}

func dotsAreHeldOnce(t *testing.T, s logbook.Store) {
	begin(t, s)
	one, other := Entry(1, 1, "50 mm"), Entry(1, 1, "85 mm")
	r := add(t, s, one, one, other, Entry(1, 2, "x"), other)
	want := []logbook.Receipt{{Outcome: logbook.Taken, Seq: 1}, {Outcome: logbook.Repeat, Seq: 1}, {Outcome: logbook.Clash, Seq: 1}, {Outcome: logbook.Taken, Seq: 2}, {Outcome: logbook.Clash, Seq: 1}}
	for i := range want {
		if r[i] != want[i] {
			t.Errorf("receipt %d is %+v, want %+v", i, r[i], want[i])
		}
	}
	if again := add(t, s, other, one); again[0].Outcome != logbook.Clash || again[1].Outcome != logbook.Repeat {
		t.Errorf("a later call gives %+v, want a clash and a repeat", again)
	}
	clashes, err := s.Clashes(Production)
	if err != nil || len(clashes) != 1 || !bytes.Equal(clashes[0].Bytes, other.Bytes) || clashes[0].Dot != other.Dot || clashes[0].Via != other.Via {
		t.Errorf("kept aside are %+v (%v), want the one clash once", clashes, err)
	}
	if got, _ := s.Read(Production, 0, 1<<20); len(got) != 2 || !bytes.Equal(got[0].Bytes, one.Bytes) {
		t.Errorf("the log holds %d edits, want 2 and the first one unchanged", len(got))
	}
}

func readingIsPaged(t *testing.T, s logbook.Store) {
	begin(t, s)
	size := 0
	for n := uint64(1); n <= 50; n++ {
		e := Entry(1, n, "a lens with a long name")
		size = len(e.Bytes)
		add(t, s, e)
	}
	var seen logbook.Seq
	for pages := 0; ; pages++ {
		page, err := s.Read(Production, seen, 3*size)
		if err != nil {
			t.Fatal(err)
		}
		if len(page) == 0 {
			break
		}
		if len(page) > 4 {
			t.Fatalf("a page has %d edits of %d bytes, want about three", len(page), size)
		}
		for _, e := range page {
			if e.Seq != seen+1 {
				t.Fatalf("sequence %d follows %d", e.Seq, seen)
			}
			seen = e.Seq
		}
	}
	if seen != 50 {
		t.Errorf("read up to %d, want 50", seen)
	}
	if page, err := s.Read(Production, 0, 0); err != nil || len(page) != 1 {
		t.Errorf("a page of no bytes has %d edits (%v), want one", len(page), err)
	}
	if page, err := s.Read(Production, 1<<40, 100); err != nil || len(page) != 0 {
		t.Errorf("beyond the end are %d edits (%v), want none", len(page), err)
	}
}

func copiesAreTheCallers(t *testing.T, s logbook.Store) {
	begin(t, s)
	e := Entry(1, 1, "50 mm")
	want := append([]byte(nil), e.Bytes...)
	add(t, s, e)
	for i := range e.Bytes {
		e.Bytes[i] = 0xff
	}
	for round := 0; round < 2; round++ {
		got, err := s.Read(Production, 0, 100)
		if err != nil || len(got) != 1 || !bytes.Equal(got[0].Bytes, want) {
			t.Fatalf("round %d: got %x (%v), want %x", round, got[0].Bytes, err, want)
		}
		for i := range got[0].Bytes {
			got[0].Bytes[i] = 0
		}
	}
	r, err := s.Ranges(Production)
	if err != nil {
		t.Fatal(err)
	}
	r.Add(logbook.Dot{Line: logbook.Line{9}, N: 1})
	if again, _ := s.Ranges(Production); len(again) != 1 {
		t.Errorf("the ranges grew to %v with the caller's copy", again)
	}
}

func rangesFollow(t *testing.T, s logbook.Store) {
	begin(t, s)
	for _, n := range []uint64{1, 2, 5, 9, 3, 8, 7} {
		add(t, s, Entry(1, n, "x"))
	}
	add(t, s, Entry(2, 4, "x"))
	got, err := s.Ranges(Production)
	if err != nil {
		t.Fatal(err)
	}
	if want := "map[0100000000000000:[{1 3} {5 5} {7 9}] 0200000000000000:[{4 4}]]"; fmt.Sprint(got) != want {
		t.Errorf("ranges are %v, want %s", got, want)
	}
}

func editsAreFound(t *testing.T, s logbook.Store) {
	begin(t, s)
	add(t, s, Entry(1, 1, "a"), Entry(1, 2, "b"), Entry(2, 1, "c"))
	missing := logbook.Dot{Line: logbook.Line{7}, N: 1}
	got, err := s.Get(Production, []logbook.Dot{Entry(2, 1, "").Dot, missing, Entry(1, 1, "").Dot})
	if err != nil || len(got) != 2 || got[0].Seq != 3 || got[1].Seq != 1 || !bytes.Equal(got[1].Bytes, Entry(1, 1, "a").Bytes) {
		t.Errorf("got %+v (%v), want the edits at 3 and 1", got, err)
	}
}

func productionsAreApart(t *testing.T, s logbook.Store) {
	begin(t, s)
	other := logbook.ID{9}
	if err := s.Begin(other, logbook.Line{9}); err != nil {
		t.Fatal(err)
	}
	add(t, s, Entry(1, 1, "a"))
	if r, err := s.Append(other, []logbook.Entry{entryOf(other, 1, 1, "b")}); err != nil || r[0].Outcome != logbook.Taken || r[0].Seq != 1 {
		t.Errorf("the other production answers %+v (%v), want taken at 1", r, err)
	}
	ids, err := s.Productions()
	if err != nil || len(ids) != 2 || ids[0] != Production || ids[1] != other {
		t.Errorf("productions are %v (%v)", ids, err)
	}
	unknown := logbook.ID{8}
	_, appended := s.Append(unknown, []logbook.Entry{Entry(1, 1, "b")})
	_, read := s.Read(unknown, 0, 1)
	_, head := s.Head(unknown)
	_, ranges := s.Ranges(unknown)
	_, clashes := s.Clashes(unknown)
	_, get := s.Get(unknown, nil)
	_, _, chain := s.ChainAt(unknown, 0)
	for name, err := range map[string]error{"Append": appended, "Read": read, "Head": head, "Ranges": ranges, "Clashes": clashes, "Get": get, "ChainAt": chain} {
		if !errors.Is(err, logbook.ErrNoProduction) {
			t.Errorf("%s of an unknown production: got %v, want %v", name, err, logbook.ErrNoProduction)
		}
	}
}

func logsBeginOnce(t *testing.T, s logbook.Store) {
	begin(t, s)
	add(t, s, Entry(1, 1, "a"))
	if err := s.Begin(Production, logbook.Line{9}); err != nil {
		t.Fatal(err)
	}
	if head, err := s.Head(Production); err != nil || head.Identity != identity || head.Seq != 1 {
		t.Errorf("head is %+v (%v), want the first identity and one edit", head, err)
	}
}

func valuesAreKept(t *testing.T, s logbook.Store) {
	for name, value := range map[string]string{"device/b": "2", "device/a": "1", "key/jwt": "secret"} {
		if err := s.Keep(name, []byte(value)); err != nil {
			t.Fatal(err)
		}
	}
	if got, err := s.Kept("device/a"); err != nil || string(got) != "1" {
		t.Errorf("got %q (%v), want 1", got, err)
	}
	if err := s.Keep("device/a", []byte("3")); err != nil {
		t.Fatal(err)
	}
	got, err := s.KeptUnder("device/")
	if err != nil || len(got) != 2 || got[0].Name != "device/a" || string(got[0].Value) != "3" || got[1].Name != "device/b" {
		t.Errorf("got %v (%v), want a and b", got, err)
	}
	if err := s.Keep("device/a", nil); err != nil {
		t.Fatal(err)
	}
	if got, err := s.Kept("device/a"); err != nil || got != nil {
		t.Errorf("got %q (%v) after its removal, want nothing", got, err)
	}
	if got, _ := s.KeptUnder("device/"); len(got) != 1 {
		t.Errorf("got %v, want b alone", got)
	}
}

func manyWriters(t *testing.T, s logbook.Store) {
	begin(t, s)
	const writers, each = 64, 10
	var all sync.WaitGroup
	for w := 1; w <= writers; w++ {
		all.Go(func() {
			for n := uint64(1); n <= each; n++ {
				r, err := s.Append(Production, []logbook.Entry{Entry(byte(w), n, "x")})
				if err != nil || r[0].Outcome != logbook.Taken {
					t.Errorf("writer %d, edit %d: %+v (%v)", w, n, r, err)
				}
				if ranges, err := s.Ranges(Production); err != nil || !ranges.Has(logbook.Dot{Line: logbook.Line{byte(w)}, N: n}) {
					t.Errorf("writer %d: edit %d was acknowledged and is not in the ranges (%v)", w, n, err)
				}
			}
		})
	}
	all.Wait()
	got, err := s.Read(Production, 0, 1<<30)
	if err != nil || len(got) != writers*each {
		t.Fatalf("got %d edits (%v), want %d", len(got), err, writers*each)
	}
	var chain logbook.Chain
	for i, e := range got {
		if chain = chain.Next(e.Hash); e.Seq != logbook.Seq(i+1) || e.Chain != chain {
			t.Fatalf("edit %d has sequence %d and chain %x, want chain %x", i+1, e.Seq, e.Chain, chain)
		}
	}
}

func closedSaysSo(t *testing.T, s logbook.Store) {
	begin(t, s)
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	_, productions := s.Productions()
	_, appended := s.Append(Production, []logbook.Entry{Entry(1, 1, "x")})
	_, read := s.Read(Production, 0, 1)
	_, head := s.Head(Production)
	_, ranges := s.Ranges(Production)
	_, kept := s.Kept("x")
	_, under := s.KeptUnder("x")
	for name, err := range map[string]error{
		"Productions": productions, "Append": appended, "Read": read, "Head": head, "Ranges": ranges, "Kept": kept,
		"KeptUnder": under, "Keep": s.Keep("x", []byte("y")), "Begin": s.Begin(logbook.ID{5}, identity),
	} {
		if !errors.Is(err, logbook.ErrClosed) {
			t.Errorf("%s: got %v, want %v", name, err, logbook.ErrClosed)
		}
	}
}
