package logbook

import (
	"sync"
	"testing"
)

// told reports whether a channel is closed.
func told(c <-chan struct{}) bool {
	select {
	case <-c:
		return true
	default:
		return false
	}
}

func TestALogTellsThatEditsCameInAndOnlyThen(t *testing.T) {
	l := openTestLog(t, NewMemory())
	first, place := l.Changed(), placeOfLog(t, l)
	if told(first) {
		t.Fatal("a change was told before there was any")
	}
	if _, err := l.Push([]*Edit{clipEdit(1, 1, "lens", `"50 mm"`)}, testID(2), 1000); err != nil {
		t.Fatal(err)
	}
	if !told(first) || placeOfLog(t, l) == place {
		t.Error("an edit that was pushed was not told")
	}
	second, place := l.Changed(), placeOfLog(t, l)
	for _, e := range []*Edit{clipEdit(1, 1, "lens", `"50 mm"`), clipEdit(1, 1, "lens", `"85 mm"`)} {
		if _, err := l.Push([]*Edit{e}, testID(2), 1000); err != nil {
			t.Fatal(err)
		}
	}
	if told(second) || placeOfLog(t, l) != place {
		t.Error("a repeat or a clash was told as a change")
	}
	_, err := l.Change(Writer{Device: testID(3), By: "desk", Now: 2000}, func(*Book) ([]Draft, error) {
		return []Draft{{Kind: KindNote, Record: testID(4), Set: []Change{{"about", Value(`"` + testID(2).String() + `"`), nil}, {"text", `"a bird"`, nil}}}}, nil
	})
	if err != nil || !told(second) {
		t.Errorf("a change by the service was not told (%v)", err)
	}
}

func placeOfLog(t *testing.T, l *Peer) string {
	t.Helper()
	place, err := l.Place()
	if err != nil {
		t.Fatal(err)
	}
	return place
}

func TestNoChangeIsMissedBetweenLookingAndWaiting(t *testing.T) {
	const changes = 1000
	var s Signal
	var mu sync.Mutex
	n := 0
	go func() {
		for range changes {
			mu.Lock()
			n++
			mu.Unlock()
			s.Tell()
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
