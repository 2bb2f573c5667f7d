package storetest

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"reflect"
	"strings"
	"testing"

	"evenwhite/logbook"

	"pgregory.net/rapid"
)

func logPromises() []promise {
	return []promise{
		{"an append is read back in order as it was", appendsAreRead},
		{"a dot is held once: repeat and clash", dotsAreHeldOnce},
		{"clashes are kept aside, oldest first, each once", clashesAreKept},
		{"of the clashes that one device brings a bounded number is kept", clashesAreBounded},
		{"reading is paged by bytes", readingIsPaged},
		{"nothing is beyond the end", nothingBeyondTheEnd},
		{"an entry that is not what it says fails the whole call", wrongEntriesAreRefused},
		{"an edit of the greatest size is kept", greatEditsAreKept},
		{"what is handed in and out is the caller's own", copiesAreTheCallers},
		{"ranges follow lines and gaps", rangesFollow},
		{"edits are found by dot in the order asked for", editsAreFound},
		{"productions are apart, and unknown ones are an error", productionsAreApart},
		{"a log begins once", logsBeginOnce},
		{"random calls leave what a plain list would hold", randomCalls},
	}
}

func appendsAreRead(t *testing.T, s logbook.Store) {
	begin(t, s)
	if damage, err := s.Damaged(Production); err != nil || len(damage) != 0 {
		t.Errorf("of an empty log, damaged are %v (%v)", damage, err)
	}
	if head, err := s.Head(Production); err != nil || head != (logbook.Head{Identity: identity}) {
		t.Errorf("the head of an empty log is %+v (%v)", head, err)
	}
	var want []logbook.Entry
	for n := uint64(1); n <= 20; n++ {
		want = append(want, Entry(1, n, fmt.Sprint("lens ", n)))
	}
	add(t, s)
	for i, r := range append(add(t, s, want[:7]...), add(t, s, want[7:]...)...) {
		if r.Outcome != logbook.Taken || r.Seq != logbook.Seq(i+1) {
			t.Errorf("receipt %d is %+v, want taken at %d", i, r, i+1)
		}
	}
	got, err := s.Read(Production, 0, 1<<20)
	if err != nil || len(got) != len(want) {
		t.Fatalf("got %d edits (%v), want %d", len(got), err, len(want))
	}
	for i, g := range got {
		if !reflect.DeepEqual(g.Entry, want[i]) {
			t.Errorf("edit %d is %+v, want %+v", i, g.Entry, want[i])
		}
	}
}

func dotsAreHeldOnce(t *testing.T, s logbook.Store) {
	begin(t, s)
	one, other := Entry(1, 1, "50 mm"), Entry(1, 1, "85 mm")
	r := add(t, s, one, one, other, Entry(1, 2, "x"), other)
	want := []logbook.Receipt{{Outcome: logbook.Taken, Seq: 1}, {Outcome: logbook.Repeat, Seq: 1},
		{Outcome: logbook.Clash, Seq: 1}, {Outcome: logbook.Taken, Seq: 2}, {Outcome: logbook.Clash, Seq: 1}}
	if !reflect.DeepEqual(r, want) {
		t.Errorf("receipts are %+v, want %+v", r, want)
	}
	again := add(t, s, other, one, Entry(1, 2, "x"))
	want = []logbook.Receipt{{Outcome: logbook.Clash, Seq: 1}, {Outcome: logbook.Repeat, Seq: 1}, {Outcome: logbook.Repeat, Seq: 2}}
	if !reflect.DeepEqual(again, want) {
		t.Errorf("a later call gives %+v, want %+v", again, want)
	}
	if got := readAll(t, s, Production); len(got) != 2 || !reflect.DeepEqual(got[0].Entry, one) {
		t.Errorf("the log holds %d edits, want 2 and the first one unchanged", len(got))
	}
}

func clashesAreKept(t *testing.T, s logbook.Store) {
	begin(t, s)
	first, second, third := Entry(1, 2, "85 mm"), Entry(1, 1, "85 mm"), Entry(1, 1, "135 mm")
	add(t, s, Entry(1, 1, "50 mm"), Entry(1, 2, "50 mm"), first)
	add(t, s, second, third)
	later := second
	later.Received, later.Via = 9999, logbook.ID{9}
	add(t, s, later, first)
	got, err := s.Clashes(Production)
	if want := []logbook.Entry{first, second, third}; err != nil || !reflect.DeepEqual(got, want) {
		t.Errorf("kept aside are %+v (%v), want %+v", got, err, want)
	}
}

func clashesAreBounded(t *testing.T, s logbook.Store) {
	begin(t, s)
	clash := func(n int, via byte, size int) logbook.Entry {
		e := Entry(1, 1, fmt.Sprint(n, strings.Repeat("x", size)))
		e.Via = logbook.ID{via}
		return e
	}
	add(t, s, Entry(1, 1, "50 mm"))
	var many []logbook.Entry
	for n := range logbook.MostClashes + 2 {
		many = append(many, clash(n, 1, 0))
	}
	got := add(t, s, many[:600]...)
	for i, r := range append(got, add(t, s, many[600:]...)...) {
		want := logbook.Clash
		if i >= logbook.MostClashes {
			want = logbook.CrowdedOut
		}
		if r != (logbook.Receipt{Outcome: want, Seq: 1}) {
			t.Fatalf("receipt %d is %+v, want the outcome %d", i, r, want)
		}
	}
	if r := add(t, s, many[0], many[len(many)-1]); r[0].Outcome != logbook.Clash || r[1].Outcome != logbook.CrowdedOut {
		t.Errorf("brought again they are %+v, want a clash that is kept and one that is not", r)
	}
	kept, large := 0, 60_000
	for n := range logbook.MostClashBytes/large + 2 {
		if add(t, s, clash(n, 2, large))[0].Outcome == logbook.Clash {
			kept++
		}
	}
	if want := logbook.MostClashBytes / len(clash(10, 2, large).Bytes); kept != want {
		t.Errorf("of another device %d large ones are kept, want %d", kept, want)
	}
	if r := add(t, s, clash(0, 2, 10), Entry(1, 2, "taken")); r[0].Outcome != logbook.Clash || r[1].Outcome != logbook.Taken {
		t.Errorf("a small one and an edit are %+v, want a clash that is kept and one taken", r)
	}
	if clashes, err := s.Clashes(Production); err != nil || len(clashes) != logbook.MostClashes+kept+1 {
		t.Errorf("%d clashes are kept (%v), want %d", len(clashes), err, logbook.MostClashes+kept+1)
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
	for _, c := range []struct{ atMost, want int }{
		{-1, 1}, {0, 1}, {1, 1}, {size, 1}, {size + 1, 2}, {3 * size, 3}, {3*size + 1, 4}, {50 * size, 50}, {math.MaxInt, 50},
	} {
		page, err := s.Read(Production, 0, c.atMost)
		if err != nil || len(page) != c.want {
			t.Errorf("a page of %d bytes has %d edits of %d bytes (%v), want %d", c.atMost, len(page), size, err, c.want)
		}
	}
	page, err := s.Read(Production, 47, 1<<20)
	if err != nil || len(page) != 3 || page[0].Seq != 48 {
		t.Errorf("after 47 are %d edits (%v), want 48 to 50", len(page), err)
	}
}

func nothingBeyondTheEnd(t *testing.T, s logbook.Store) {
	begin(t, s)
	add(t, s, Entry(1, 1, "x"), Entry(1, 2, "x"))
	for _, after := range []logbook.Seq{2, 3, 1 << 40, math.MaxInt64, math.MaxInt64 + 1, math.MaxUint64} {
		if page, err := s.Read(Production, after, 100); err != nil || len(page) != 0 {
			t.Errorf("after %d are %d edits (%v), want none", after, len(page), err)
		}
		if chain, ok, err := s.ChainAt(Production, after+1); after < math.MaxUint64 && (ok || err != nil || chain != logbook.Chain{}) {
			t.Errorf("chain at %d is %x, %v (%v), want none", after+1, chain, ok, err)
		}
	}
	if at, ok, err := s.ChainAt(Production, 0); at != (logbook.Chain{}) || !ok || err != nil {
		t.Errorf("chain at 0 is %x, %v (%v), want zero", at, ok, err)
	}
}

func wrongEntriesAreRefused(t *testing.T, s logbook.Store) {
	begin(t, s)
	add(t, s, Entry(1, 1, "x"))
	dot, hash, cut := Entry(1, 3, "x"), Entry(1, 3, "x"), Entry(1, 3, "x")
	dot.Dot.N = 4
	hash.Hash[0]++
	cut.Bytes = cut.Bytes[:20]
	for name, wrong := range map[string]logbook.Entry{"another dot": dot, "another hash": hash, "cut bytes": cut, "nothing": {}} {
		r, err := s.Append(Production, []logbook.Entry{Entry(1, 2, "x"), Entry(1, 1, "clash"), wrong, Entry(1, 5, "x")})
		if !errors.Is(err, logbook.ErrForm) || r != nil {
			t.Errorf("%s: got %v and %v, want %v and no receipts", name, r, err, logbook.ErrForm)
		}
	}
	clashes, err := s.Clashes(Production)
	if got := readAll(t, s, Production); len(got) != 1 || len(clashes) != 0 || err != nil {
		t.Errorf("the log holds %d edits and %d clashes (%v), want 1 and 0", len(got), len(clashes), err)
	}
}

func greatEditsAreKept(t *testing.T, s logbook.Store) {
	begin(t, s)
	text := strings.Repeat("x", logbook.MaxEdit-300)
	for n := uint64(1); n <= 5; n++ {
		add(t, s, Entry(1, n, text), Entry(2, n, "x"))
	}
	if got := readAll(t, s, Production); len(got) != 10 || !bytes.Equal(got[8].Bytes, Entry(1, 5, text).Bytes) {
		t.Errorf("got %d edits, want 10 with the great ones unchanged", len(got))
	}
}

// copiesAreTheCallers looks at a log that is long enough to lie on pages of its
// own: small ones are copied by some stores in any case.
func copiesAreTheCallers(t *testing.T, s logbook.Store) {
	begin(t, s)
	given, clash := Entry(1, 1, "50 mm"), Entry(1, 1, "85 mm")
	want, wantClash := Entry(1, 1, "50 mm"), Entry(1, 1, "85 mm")
	add(t, s, given, clash)
	clear(given.Bytes)
	clear(clash.Bytes)
	for n := uint64(2); n <= 60; n++ {
		add(t, s, Entry(1, n, "50 mm"), Entry(1, n, "85 mm"))
	}
	for round := range 2 {
		read, err := s.Read(Production, 0, math.MaxInt)
		got, getErr := s.Get(Production, []logbook.Dot{want.Dot})
		aside, asideErr := s.Clashes(Production)
		if err := errors.Join(err, getErr, asideErr); err != nil || len(read) != 60 || len(got) != 1 || len(aside) != 60 {
			t.Fatalf("got %d, %d and %d edits (%v), want 60, 1 and 60", len(read), len(got), len(aside), err)
		}
		if !bytes.Equal(read[0].Bytes, want.Bytes) || !bytes.Equal(got[0].Bytes, want.Bytes) || !bytes.Equal(aside[0].Bytes, wantClash.Bytes) {
			t.Errorf("round %d: the store's bytes changed with the caller's", round)
		}
		for i := range read {
			clear(read[i].Bytes)
			clear(aside[i].Bytes)
		}
		clear(got[0].Bytes)
	}
	r, err := s.Ranges(Production)
	if err != nil {
		t.Fatal(err)
	}
	r[logbook.Line{9}] = []logbook.Span{{From: 1, To: 1}}
	r[logbook.Line{1}][0].To = 100
	if again, _ := s.Ranges(Production); fmt.Sprint(again) != "map[0100000000000000:[{1 60}]]" {
		t.Errorf("the ranges became %v with the caller's copy", again)
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
	other := logbook.ID{0, 14: 9}
	if err := s.Begin(other, logbook.Line{9}); err != nil {
		t.Fatal(err)
	}
	add(t, s, Entry(1, 1, "a"))
	if r, err := s.Append(other, []logbook.Entry{EntryOf(other, 1, 1, "b")}); err != nil || r[0].Outcome != logbook.Taken || r[0].Seq != 1 {
		t.Errorf("the other production answers %+v (%v), want taken at 1", r, err)
	}
	ids, err := s.Productions()
	if want := []logbook.ID{other, Production}; err != nil || !reflect.DeepEqual(ids, want) {
		t.Errorf("productions are %v (%v), want %v", ids, err, want)
	}
	for name, err := range callsOn(s, logbook.ID{8}) {
		if !errors.Is(err, logbook.ErrNoProduction) {
			t.Errorf("%s of an unknown production: got %v, want %v", name, err, logbook.ErrNoProduction)
		}
	}
	if ids, err := s.Productions(); len(ids) != 2 || err != nil {
		t.Errorf("asking made productions: %v (%v)", ids, err)
	}
}

// callsOn makes all calls on one log except Begin.
func callsOn(s logbook.Store, production logbook.ID) map[string]error {
	_, appended := s.Append(production, []logbook.Entry{EntryOf(production, 1, 1, "b")})
	_, read := s.Read(production, 0, 1)
	_, head := s.Head(production)
	_, ranges := s.Ranges(production)
	_, clashes := s.Clashes(production)
	_, get := s.Get(production, []logbook.Dot{Entry(1, 1, "").Dot})
	_, damaged := s.Damaged(production)
	_, _, chain := s.ChainAt(production, 0)
	return map[string]error{"Append": appended, "Read": read, "Head": head, "Ranges": ranges, "Clashes": clashes, "Get": get,
		"ChainAt": chain, "Damaged": damaged}
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

// randomCalls appends random batches and compares with a list and a map.
func randomCalls(t *testing.T, s logbook.Store) {
	round := uint16(0)
	rapid.Check(t, func(rt *rapid.T) {
		round++
		production := logbook.ID{7, byte(round >> 8), byte(round), 14: 7}
		if err := s.Begin(production, identity); err != nil {
			rt.Fatal(err)
		}
		var list []logbook.Entry
		aside := map[logbook.Hash]bool{}
		held := map[logbook.Dot]int{}
		for range rapid.IntRange(1, 4).Draw(rt, "calls") {
			var batch []logbook.Entry
			var want []logbook.Receipt
			for range rapid.IntRange(0, 12).Draw(rt, "entries") {
				e := EntryOf(production, rapid.ByteRange(1, 2).Draw(rt, "line"), rapid.Uint64Range(1, 9).Draw(rt, "n"),
					rapid.SampledFrom([]string{"a", "a", "a", "b"}).Draw(rt, "text"))
				batch = append(batch, e)
				at, ok := held[e.Dot]
				switch {
				case !ok:
					list = append(list, e)
					at = len(list)
					held[e.Dot] = at
					want = append(want, logbook.Receipt{Outcome: logbook.Taken, Seq: logbook.Seq(at)})
				case list[at-1].Hash == e.Hash:
					want = append(want, logbook.Receipt{Outcome: logbook.Repeat, Seq: logbook.Seq(at)})
				default:
					aside[e.Hash] = true
					want = append(want, logbook.Receipt{Outcome: logbook.Clash, Seq: logbook.Seq(at)})
				}
			}
			got, err := s.Append(production, batch)
			if err != nil || len(got) != len(want) || len(want) > 0 && !reflect.DeepEqual(got, want) {
				rt.Fatalf("receipts are %+v (%v), want %+v", got, err, want)
			}
		}
		got, err := s.Read(production, 0, math.MaxInt)
		if err != nil || len(got) != len(list) {
			rt.Fatalf("got %d edits (%v), want %d", len(got), err, len(list))
		}
		for i := range list {
			if !reflect.DeepEqual(got[i].Entry, list[i]) {
				rt.Fatalf("edit %d is %+v, want %+v", i, got[i].Entry, list[i])
			}
		}
		if clashes, err := s.Clashes(production); err != nil || len(clashes) != len(aside) {
			rt.Fatalf("got %d clashes (%v), want %d", len(clashes), err, len(aside))
		}
	})
}
