// Package storetest holds every store to the promises of logbook.Store.
package storetest

import (
	"crypto/sha256"
	"errors"
	"reflect"
	"slices"
	"testing"

	"evenwhite/logbook"
)

type promise struct {
	name string
	test func(*testing.T, logbook.Store)
}

// Run runs the suite. open makes an empty store for one test and registers its
// closing with t.Cleanup. After each test what the store holds is held against
// itself.
func Run(t *testing.T, open func(t *testing.T) logbook.Store) {
	for _, p := range slices.Concat(logPromises(), keptPromises(), asidePromises(), removePromises(), togetherPromises()) {
		t.Run(p.name, func(t *testing.T) {
			s := open(t)
			p.test(t, s)
			MustAgree(t, s)
		})
	}
}

// Production is the production that the suite writes in.
var Production = logbook.ID{1, 14: 7}

var identity = logbook.Line{1, 2, 3, 4, 5, 6, 7, 8}

// Entry makes the nth edit of a line; the text makes it long and different.
func Entry(line byte, n uint64, text string) logbook.Entry {
	return EntryOf(Production, line, n, text)
}

// EntryOf makes such an edit of another production.
func EntryOf(production logbook.ID, line byte, n uint64, text string) logbook.Entry {
	e := &logbook.Edit{
		Production: production, Record: logbook.ID{2, 14: 7}, Device: logbook.ID{3, 14: 7}, Kind: "clip",
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

// readAll reads a whole log in small pages.
func readAll(t *testing.T, s logbook.Store, production logbook.ID) []logbook.Stored {
	t.Helper()
	var all []logbook.Stored
	for after := logbook.Seq(0); ; {
		page, err := s.Read(production, after, 2000)
		if err != nil {
			t.Fatal(err)
		}
		if len(page) == 0 {
			return all
		}
		all = append(all, page...)
		if page[len(page)-1].Seq <= after {
			t.Fatalf("a page after %d ends at %d", after, page[len(page)-1].Seq)
		}
		after = page[len(page)-1].Seq
	}
}

// MustAgree computes hashes, chain and ranges anew and compares all ways into
// each log. A store that was closed is left alone.
func MustAgree(t *testing.T, s logbook.Store) {
	t.Helper()
	productions, err := s.Productions()
	if errors.Is(err, logbook.ErrClosed) {
		return
	}
	if err != nil {
		t.Fatal(err)
	}
	for _, production := range productions {
		agreeLog(t, s, production)
	}
}

func agreeLog(t *testing.T, s logbook.Store, production logbook.ID) {
	t.Helper()
	head, err := s.Head(production)
	if err != nil {
		t.Fatal(err)
	}
	want := logbook.Head{Identity: head.Identity}
	held := map[logbook.Dot]logbook.Stored{}
	for _, e := range readAll(t, s, production) {
		want.Seq++
		hash := sha256.Sum256(e.Bytes)
		link := sha256.Sum256(append(append([]byte(nil), want.Chain[:]...), hash[:16]...))
		copy(want.Chain[:], link[:8])
		if e.Seq != want.Seq || e.Chain != want.Chain || e.Hash != logbook.Hash(hash[:16]) {
			t.Errorf("edit %s: sequence %d, chain %x, hash %x; want %d, %x, %x", e.Dot, e.Seq, e.Chain, e.Hash, want.Seq, want.Chain, hash[:16])
		}
		if at, ok, err := s.ChainAt(production, e.Seq); at != want.Chain || !ok || err != nil {
			t.Errorf("chain at %d is %x, %v (%v), want %x", e.Seq, at, ok, err, want.Chain)
		}
		if got, err := s.Get(production, []logbook.Dot{e.Dot}); err != nil || len(got) != 1 || !reflect.DeepEqual(got[0], e) {
			t.Errorf("by its dot edit %s is %+v (%v), want %+v", e.Dot, got, err, e)
		}
		if twice, ok := held[e.Dot]; ok {
			t.Errorf("edit %s stands at %d and %d", e.Dot, twice.Seq, e.Seq)
		}
		held[e.Dot] = e
	}
	if head != want {
		t.Errorf("head is %+v, want %+v", head, want)
	}
	mustHold(t, s, production, held)
}

// mustHold compares the ranges and the clashes with the edits.
func mustHold(t *testing.T, s logbook.Store, production logbook.ID, held map[logbook.Dot]logbook.Stored) {
	t.Helper()
	ranges, err := s.Ranges(production)
	if err != nil {
		t.Fatal(err)
	}
	count := uint64(0)
	for line, spans := range ranges {
		for i, span := range spans {
			if span.From < 1 || span.To < span.From || i > 0 && spans[i-1].To+1 >= span.From {
				t.Errorf("line %s: the spans %v do not rise with gaps between them", line, spans)
			}
			count += span.To - span.From + 1
		}
	}
	for dot := range held {
		if !ranges.Has(dot) {
			t.Errorf("edit %s is held and not in the ranges", dot)
		}
	}
	if count != uint64(len(held)) {
		t.Errorf("the ranges count %d edits, the log %d", count, len(held))
	}
	clashes, err := s.Clashes(production)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range clashes {
		if e, ok := held[c.Dot]; !ok || e.Hash == c.Hash {
			t.Errorf("%s was kept aside as a clash with an edit that is not there or the same", c.Dot)
		}
	}
}
