package storetest

import (
	"errors"
	"slices"
	"sync"
	"testing"

	"evenwhite/logbook"
)

func removePromises() []promise {
	return []promise{
		{"a production that is removed is gone, and leaves its mark", removedIsGone},
		{"a log that went on is not removed", wentOnStays},
		{"a removed production begins again from nothing, once its mark is dropped", removedBeginsAgain},
		{"of a removal and an append at once one wins", removeOrAppend},
	}
}

func head(t *testing.T, s logbook.Store, production logbook.ID) logbook.Head {
	t.Helper()
	h, err := s.Head(production)
	if err != nil {
		t.Fatal(err)
	}
	return h
}

func remove(t *testing.T, s logbook.Store, mark string) {
	t.Helper()
	if err := s.Remove(Production, head(t, s, Production), []byte(mark)); err != nil {
		t.Fatal(err)
	}
}

func removedIsGone(t *testing.T, s logbook.Store) {
	begin(t, s)
	other := logbook.ID{9, 14: 7}
	if err := s.Begin(other, identity); err != nil {
		t.Fatal(err)
	}
	theirs := EntryOf(other, 1, 1, "stays")
	if _, err := s.Append(other, []logbook.Entry{theirs}); err != nil {
		t.Fatal(err)
	}
	add(t, s, Entry(1, 1, "a"), Entry(1, 1, "a clash"), Entry(2, 7, "b"))
	setAside(t, s, logbook.Aside{Entry: Entry(3, 1, "aside")})
	remove(t, s, "a mark")
	if all, err := s.Productions(); err != nil || !slices.Equal(all, []logbook.ID{other}) {
		t.Errorf("the store has %v (%v), want only the other production", all, err)
	}
	for name, err := range map[string]error{
		"Begin":              s.Begin(Production, identity),
		"Append":             second(s.Append(Production, []logbook.Entry{Entry(1, 2, "late")})),
		"Append, of nothing": second(s.Append(Production, nil)),
		"Read":               second(s.Read(Production, 0, 1000)),
		"Get":                second(s.Get(Production, []logbook.Dot{Entry(1, 1, "a").Dot})),
		"Head":               second(s.Head(Production)),
		"Ranges":             second(s.Ranges(Production)),
		"Clashes":            second(s.Clashes(Production)),
		"SetAside":           s.SetAside(Production, []logbook.Aside{{Entry: Entry(3, 2, "aside")}}),
		"DropAside":          s.DropAside(Production, nil),
		"Asides":             second(s.Asides(Production)),
		"Remove":             s.Remove(Production, logbook.Head{}, nil),
	} {
		want := logbook.ErrNoProduction
		if name == "Begin" {
			want = logbook.ErrRemoved
		}
		if !errors.Is(err, want) {
			t.Errorf("%s of a removed production: got %v, want %v", name, err, want)
		}
	}
	if mark, err := s.Kept(logbook.RemovedName(Production)); err != nil || string(mark) != "a mark" {
		t.Errorf("the mark is %q (%v)", mark, err)
	}
	if got := readAll(t, s, other); len(got) != 1 || got[0].Hash != theirs.Hash {
		t.Errorf("the other production holds %+v", got)
	}
}

func second[T any](_ T, err error) error { return err }

func wentOnStays(t *testing.T, s logbook.Store) {
	begin(t, s)
	add(t, s, Entry(1, 1, "a"))
	seen := head(t, s, Production)
	add(t, s, Entry(1, 2, "b"))
	elsewhere := head(t, s, Production)
	elsewhere.Identity[0]++
	for _, at := range []logbook.Head{seen, elsewhere, {}} {
		if err := s.Remove(Production, at, []byte("a mark")); !errors.Is(err, logbook.ErrWentOn) {
			t.Errorf("removed at %+v: got %v, want %v", at, err, logbook.ErrWentOn)
		}
	}
	if got := readAll(t, s, Production); len(got) != 2 {
		t.Errorf("the log has %d edits, want 2", len(got))
	}
	if mark, err := s.Kept(logbook.RemovedName(Production)); err != nil || mark != nil {
		t.Errorf("a mark is kept: %q (%v)", mark, err)
	}
}

func removedBeginsAgain(t *testing.T, s logbook.Store) {
	begin(t, s)
	add(t, s, Entry(1, 1, "a"), Entry(1, 2, "b"), Entry(1, 1, "a clash"))
	remove(t, s, "a mark")
	if err := s.Keep(logbook.RemovedName(Production), nil); err != nil {
		t.Fatal(err)
	}
	if err := s.Begin(Production, logbook.Line{9}); err != nil {
		t.Fatal(err)
	}
	if h := head(t, s, Production); h != (logbook.Head{Identity: logbook.Line{9}}) {
		t.Errorf("the new log begins at %+v", h)
	}
	if clashes, err := s.Clashes(Production); err != nil || len(clashes) != 0 {
		t.Errorf("the new log has clashes: %+v (%v)", clashes, err)
	}
	if r := add(t, s, Entry(1, 2, "b"), Entry(1, 1, "a"))[0]; r.Outcome != logbook.Taken || r.Seq != 1 {
		t.Errorf("an edit that the removed log held: got %+v, want it taken as the first", r)
	}
}

// removeOrAppend lets both begin at once: whatever was acknowledged before the removal is
// known to who removes, and whatever comes after it is refused.
func removeOrAppend(t *testing.T, s logbook.Store) {
	for round := range byte(20) {
		begin(t, s)
		add(t, s, Entry(1, 1, "a"))
		at := head(t, s, Production)
		start := make(chan struct{})
		var both sync.WaitGroup
		var removed error
		appended := make([]error, 4)
		both.Go(func() {
			<-start
			removed = s.Remove(Production, at, []byte{round})
		})
		for i := range appended {
			both.Go(func() {
				<-start
				_, appended[i] = s.Append(Production, []logbook.Entry{Entry(byte(2+i), 1, "b")})
			})
		}
		close(start)
		both.Wait()
		for _, err := range appended {
			if (err == nil) == (removed == nil) || err != nil && !errors.Is(err, logbook.ErrNoProduction) {
				t.Fatalf("removed: %v; appended: %v", removed, appended)
			}
		}
		if removed != nil {
			if !errors.Is(removed, logbook.ErrWentOn) {
				t.Fatal(removed)
			}
			remove(t, s, "")
		}
		if err := s.Keep(logbook.RemovedName(Production), nil); err != nil {
			t.Fatal(err)
		}
	}
}
