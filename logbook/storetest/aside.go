package storetest

import (
	"errors"
	"reflect"
	"testing"

	"evenwhite/logbook"
)

func asidePromises() []promise {
	return []promise{
		{"edits that are kept aside are no part of the log", asidesAreApart},
		{"an edit is kept aside once, and may be marked as left", asidesAreKeptOnce},
		{"what is kept aside is of one production, and the caller's own", asidesAreCopies},
		{"an edit that is not its bytes is not kept aside, nor any with it", asidesAreVerified},
	}
}

func asides(t *testing.T, s logbook.Store, production logbook.ID) []logbook.Aside {
	t.Helper()
	rows, err := s.Asides(production)
	if err != nil {
		t.Fatal(err)
	}
	return rows
}

func setAside(t *testing.T, s logbook.Store, rows ...logbook.Aside) {
	t.Helper()
	if err := s.SetAside(Production, rows); err != nil {
		t.Fatal(err)
	}
}

func asidesAreApart(t *testing.T, s logbook.Store) {
	begin(t, s)
	if rows := asides(t, s, Production); len(rows) != 0 {
		t.Errorf("a new log keeps %d edits aside", len(rows))
	}
	add(t, s, Entry(1, 1, "35"))
	before, err := s.Head(Production)
	if err != nil {
		t.Fatal(err)
	}
	second, other := Entry(1, 2, "50"), Entry(1, 2, "85")
	setAside(t, s, logbook.Aside{Entry: Entry(2, 1, "a")}, logbook.Aside{Entry: second}, logbook.Aside{Entry: other})
	rows := asides(t, s, Production)
	if len(rows) != 3 || rows[0].Dot != second.Dot || rows[1].Dot != other.Dot || rows[2].Dot.Line != (logbook.Line{2}) {
		t.Fatalf("got %+v, want two of line 1 and then one of line 2", rows)
	}
	if string(rows[0].Hash[:]) > string(rows[1].Hash[:]) || rows[0].Received == 0 || rows[0].Via != second.Via {
		t.Errorf("got %+v, want them by hash, with when they came and who brought them", rows[:2])
	}
	if head, err := s.Head(Production); err != nil || head != before {
		t.Errorf("the head is %+v (%v), want %+v", head, err, before)
	}
	if ranges, err := s.Ranges(Production); err != nil || ranges.Has(second.Dot) {
		t.Errorf("the ranges hold %s (%v)", second.Dot, err)
	}
	if got := add(t, s, second); got[0].Outcome != logbook.Taken {
		t.Errorf("the log answers %v to an edit that is kept aside, want that it is taken", got[0].Outcome)
	}
	keys := []logbook.AsideKey{rows[2].Key(), rows[2].Key(), {Dot: logbook.Dot{Line: logbook.Line{9}, N: 9}}}
	if err := s.DropAside(Production, keys); err != nil {
		t.Fatal(err)
	}
	if left := asides(t, s, Production); !reflect.DeepEqual(left, rows[:2]) {
		t.Errorf("got %+v left, want %+v", left, rows[:2])
	}
}

func asidesAreKeptOnce(t *testing.T, s logbook.Store) {
	begin(t, s)
	e := Entry(1, 1, "35")
	setAside(t, s, logbook.Aside{Entry: e})
	again := e
	again.Received, again.Via = e.Received+5, logbook.ID{9}
	for _, left := range []bool{true, false, true} {
		setAside(t, s, logbook.Aside{Entry: again, Left: left})
		if got, want := asides(t, s, Production), []logbook.Aside{{Entry: e, Left: left}}; !reflect.DeepEqual(got, want) {
			t.Errorf("got %+v, want %+v", got, want)
		}
	}
}

func asidesAreCopies(t *testing.T, s logbook.Store) {
	begin(t, s)
	e := Entry(1, 1, "35")
	setAside(t, s, logbook.Aside{Entry: e})
	first := asides(t, s, Production)
	first[0].Bytes[3] ^= 1
	if err := asides(t, s, Production)[0].Verify(); err != nil {
		t.Error(err)
	}
	other := logbook.ID{8}
	_, listing := s.Asides(other)
	for what, err := range map[string]error{
		"keeping":  s.SetAside(other, []logbook.Aside{{Entry: e}}),
		"dropping": s.DropAside(other, []logbook.AsideKey{first[0].Key()}),
		"listing":  listing,
	} {
		if want := logbook.ErrNoProduction; !errors.Is(err, want) {
			t.Errorf("%s aside for a production that is not here: got %v, want %v", what, err, want)
		}
	}
	if err := s.Begin(other, identity); err != nil {
		t.Fatal(err)
	}
	if rows := asides(t, s, other); len(rows) != 0 {
		t.Errorf("another production keeps %d edits aside", len(rows))
	}
}

func asidesAreVerified(t *testing.T, s logbook.Store) {
	begin(t, s)
	bad := Entry(1, 2, "50")
	bad.Hash[0] ^= 1
	if err := s.SetAside(Production, []logbook.Aside{{Entry: Entry(1, 1, "35")}, {Entry: bad}}); !errors.Is(err, logbook.ErrForm) {
		t.Errorf("got %v, want %v", err, logbook.ErrForm)
	}
	if rows := asides(t, s, Production); len(rows) != 0 {
		t.Errorf("%d edits are kept aside, want none", len(rows))
	}
}
