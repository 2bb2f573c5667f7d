package removal

import (
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/exchange"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/logtest"
)

// failing is a store that does not remove.
type failing struct {
	*logbook.Memory
	err error
}

func (f failing) Remove(logbook.ID, logbook.Head, []byte) error { return f.err }

func openPeer(t *testing.T, store logbook.Store) *exchange.Peer {
	t.Helper()
	l, err := logbook.OpenLog(store, logtest.Production, kinds.Rules, logtest.Lines(0x10))
	if err == nil {
		_, err = l.Push([]*logbook.Edit{logtest.ClipEdit(1, 1, "lens", `"50 mm"`)}, logtest.ID(2), 1000)
	}
	if err != nil {
		t.Fatal(err)
	}
	return exchange.NewPeer(l)
}

func order(into string) Order {
	return Order{Into: into, Program: "the test", By: "desk", Now: time.Date(2031, 3, 4, 6, 30, 0, 0, time.UTC)}
}

func inFolder(t *testing.T, path string) (names []string) {
	t.Helper()
	entries, err := os.ReadDir(path)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		names = append(names, e.Name())
	}
	return names
}

func TestFilesStayOnlyWhereTheProductionMayBeGone(t *testing.T) {
	for _, c := range []struct {
		err  error
		stay int
	}{{logbook.ErrWentOn, 0}, {logbook.ErrFull, 0}, {logbook.ErrBroken, 1}} {
		into := t.TempDir()
		l := openPeer(t, failing{logbook.NewMemory(), c.err})
		if _, err := Take(l, order(into)); !errors.Is(err, c.err) {
			t.Errorf("got %v, want %v", err, c.err)
		}
		if left := inFolder(t, into); len(left) != c.stay {
			t.Errorf("%v: %v is left, want %d folders", c.err, left, c.stay)
		}
		if _, err := l.Push([]*logbook.Edit{logtest.ClipEdit(1, 2, "lens", `"85 mm"`)}, logtest.ID(2), 2000); err != nil {
			t.Errorf("after %v the log takes nothing: %v", c.err, err)
		}
		if n := l.Frozen(); n != 0 {
			t.Errorf("after %v %d books are frozen", c.err, n)
		}
	}
}

func TestNothingIsRemovedWhereTheFilesCannotBeWritten(t *testing.T) {
	store := logbook.NewMemory()
	l := openPeer(t, store)
	into := filepath.Join(t.TempDir(), "a file")
	if err := os.WriteFile(into, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := Take(l, order(into)); err == nil {
		t.Error("files were written into a file")
	}
	folder := t.TempDir()
	first, err := Take(l, order(folder))
	if err != nil {
		t.Fatal(err)
	}
	if mark, err := Find(store, logtest.Production); err != nil || mark == nil || mark.Folder != first.Folder || mark.Edits != 1 {
		t.Errorf("the mark is %+v (%v)", mark, err)
	}
	again := openPeer(t, logbook.NewMemory())
	if _, err := Take(again, order(folder)); !errors.Is(err, os.ErrExist) {
		t.Errorf("a folder of this name: got %v, want %v", err, os.ErrExist)
	}
	if left := inFolder(t, folder); len(left) != 1 || left[0] != first.Folder {
		t.Errorf("%v is left", left)
	}
}

func TestAFileThatReadsOtherwiseIsDamaged(t *testing.T) {
	path := filepath.Join(t.TempDir(), "edits.bundle")
	d, err := newDraft(path)
	if err != nil {
		t.Fatal(err)
	}
	_, err = io.WriteString(d, "what was written")
	of, err := d.end(err)
	if err != nil || of.Bytes != 16 || of.Name != "edits.bundle" {
		t.Fatalf("got %+v (%v)", of, err)
	}
	if err := readBack(path, of, anyBytes); err != nil {
		t.Error(err)
	}
	for _, other := range []string{"what was writtem", "what was", "what was written, and more", ""} {
		if err := os.WriteFile(path, []byte(other), 0o600); err != nil {
			t.Fatal(err)
		}
		if err := readBack(path, of, anyBytes); !errors.Is(err, logbook.ErrDamaged) {
			t.Errorf("%q: got %v, want %v", other, err, logbook.ErrDamaged)
		}
	}
}

func TestADocumentIsWholeWithAsManyRowsAsItCounts(t *testing.T) {
	for text, whole := range map[string]bool{
		`{"rows":[],"count":0}`: true, `{"production":{"title":"x"},"rows":[{"row":[1,2]},{}],"count":2}`: true,
		`{"rows":[{},{}],"count":1}`: false, `{"rows":[{},{}]}`: false, `{"rows":[`: false, `{"rows":[]`: false, `{"rows":[{]}`: false,
		"": false, "[]": false, `{"rows":{},"count":0}`: false, `{"rows":[],"count":0}{}`: false, `{"rows":[{}`: false, `{"rows":[],"count":"0"}`: false,
	} {
		err := wholeDocument(strings.NewReader(text))
		if (err == nil) != whole || err != nil && !errors.Is(err, logbook.ErrDamaged) {
			t.Errorf("%s: got %v", text, err)
		}
	}
}

func TestAMarkOfALaterVersionIsAMark(t *testing.T) {
	store := logbook.NewMemory()
	if err := store.Keep(logbook.RemovedName(logtest.Production), []byte("in another form")); err != nil {
		t.Fatal(err)
	}
	if mark, err := Find(store, logtest.Production); err != nil || mark == nil || mark.Production != logtest.Production {
		t.Errorf("got %+v (%v)", mark, err)
	}
	if all, err := All(store); err != nil || len(all) != 1 {
		t.Errorf("got %+v (%v)", all, err)
	}
}

func TestWhatNoHeadTellsOfKeepsAProductionToo(t *testing.T) {
	guard := func(*logbook.Edit) bool { return true }
	for name, come := range map[string]func(*exchange.Peer) error{
		"a clash": func(l *exchange.Peer) error {
			_, err := l.Push([]*logbook.Edit{logtest.ClipEdit(1, 1, "lens", `"85 mm"`)}, logtest.ID(2), 2000)
			return err
		},
		"an edit that is kept aside, and left there": func(l *exchange.Peer) error {
			_, err := l.PushGuarded([]*logbook.Edit{logtest.ClipEdit(2, 1, "lens", `"85 mm"`)}, guard, logtest.ID(2), 2000)
			if err != nil {
				return err
			}
			rows, err := l.Asides()
			if err != nil {
				return err
			}
			return l.LeaveAside([]logbook.AsideKey{rows[0].Key()})
		},
	} {
		l := openPeer(t, logbook.NewMemory())
		g, err := see(l)
		if err != nil {
			t.Fatal(err)
		}
		if err := g.same(); err != nil {
			t.Errorf("before %s: %v", name, err)
		}
		if err := come(l); err != nil {
			t.Fatal(err)
		}
		if err := g.same(); !errors.Is(err, logbook.ErrWentOn) {
			t.Errorf("after %s: got %v, want %v", name, err, logbook.ErrWentOn)
		}
		g.book.Close()
	}
}
