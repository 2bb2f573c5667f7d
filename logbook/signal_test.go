package logbook_test

import (
	"sync"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/logtest"
)

// closed reports whether a channel is closed.
func closed(c <-chan struct{}) bool {
	select {
	case <-c:
		return true
	default:
		return false
	}
}

func TestALogSignalsThatEditsCameInAndOnlyThen(t *testing.T) {
	l := logtest.Open(t, logbook.NewMemory(), rules, 0x10)
	first, place := l.Changed(), endOf(t, l)
	if closed(first) {
		t.Fatal("a change was signalled before there was any")
	}
	if _, err := l.Push([]*logbook.Edit{logtest.ClipEdit(1, 1, "lens", `"50 mm"`)}, logtest.ID(2), 1000); err != nil {
		t.Fatal(err)
	}
	if !closed(first) || endOf(t, l) == place {
		t.Error("an edit that was pushed was not signalled")
	}
	second, place := l.Changed(), endOf(t, l)
	for _, e := range []*logbook.Edit{logtest.ClipEdit(1, 1, "lens", `"50 mm"`), logtest.ClipEdit(1, 1, "lens", `"85 mm"`)} {
		if _, err := l.Push([]*logbook.Edit{e}, logtest.ID(2), 1000); err != nil {
			t.Fatal(err)
		}
	}
	if closed(second) || endOf(t, l) != place {
		t.Error("a repeat or a clash was signalled as a change")
	}
	_, err := l.Change(logbook.Writer{Device: logtest.ID(3), By: "desk", Now: 2000}, func(*logbook.Book) ([]logbook.Draft, error) {
		return []logbook.Draft{
			{Kind: "note", Record: logtest.ID(4), Set: []logbook.Change{{Field: "about", Value: logbook.IDValue(logtest.ID(2))}, {Field: "text", Value: `"a bird"`}}},
		}, nil
	})
	if err != nil || !closed(second) {
		t.Errorf("a change by the service was not signalled (%v)", err)
	}
}

func endOf(t *testing.T, l *logbook.Log) logbook.Head {
	t.Helper()
	head, err := l.Head()
	if err != nil {
		t.Fatal(err)
	}
	return head
}

func TestNoChangeIsMissedBetweenLookingAndWaiting(t *testing.T) {
	const changes = 1000
	var s logbook.Signal
	var mu sync.Mutex
	n := 0
	go func() {
		for range changes {
			mu.Lock()
			n++
			mu.Unlock()
			s.Wake()
		}
	}()
	for {
		next := s.Next()
		mu.Lock()
		seen := n
		mu.Unlock()
		if seen == changes {
			return
		}
		<-next
	}
}
