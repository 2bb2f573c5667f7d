package storetest

import (
	"errors"
	"sync"
	"testing"

	"evenwhite/logbook"
)

func togetherPromises() []promise {
	return []promise{
		{"many writers at once lose nothing", manyWriters},
		{"of one call either all or nothing is seen", callsAreSeenWhole},
		{"of many that begin a log one draws its identity", beginTogether},
		{"a call that runs while the store closes is done or refused", closingWaits},
		{"a closed store says so", closedSaysSo},
	}
}

func manyWriters(t *testing.T, s logbook.Store) {
	begin(t, s)
	const writers, each = 64, 10
	var all sync.WaitGroup
	for w := 1; w <= writers; w++ {
		all.Go(func() {
			for n := uint64(1); n <= each; n++ {
				e := Entry(byte(w), n, "x")
				r, err := s.Append(Production, []logbook.Entry{e})
				if err != nil || r[0].Outcome != logbook.Taken {
					t.Errorf("writer %d, edit %d: %+v (%v)", w, n, r, err)
				}
				if ranges, err := s.Ranges(Production); err != nil || !ranges.Has(e.Dot) {
					t.Errorf("writer %d: edit %d was acknowledged and is not in the ranges (%v)", w, n, err)
				}
				if got, err := s.Get(Production, []logbook.Dot{e.Dot}); err != nil || len(got) != 1 {
					t.Errorf("writer %d: edit %d was acknowledged and is not found (%v)", w, n, err)
				}
			}
		})
	}
	all.Wait()
	if head, err := s.Head(Production); err != nil || head.Seq != writers*each {
		t.Errorf("the log ends at %d (%v), want %d", head.Seq, err, writers*each)
	}
}

func callsAreSeenWhole(t *testing.T, s logbook.Store) {
	begin(t, s)
	const writers, calls, size = 8, 10, 7
	var writing, reading sync.WaitGroup
	written := make(chan struct{})
	for w := 1; w <= writers; w++ {
		writing.Go(func() {
			for call := range uint64(calls) {
				var batch []logbook.Entry
				for n := range uint64(size) {
					batch = append(batch, Entry(byte(w), call*size+n+1, "x"))
				}
				if _, err := s.Append(Production, batch); err != nil {
					t.Error(err)
				}
			}
		})
	}
	reading.Go(func() {
		for {
			head, err := s.Head(Production)
			if err != nil || head.Seq%size != 0 {
				t.Errorf("the log is seen to end at %d (%v), within a call", head.Seq, err)
				return
			}
			held, err := s.Ranges(Production)
			if err != nil {
				t.Error(err)
				return
			}
			for line, spans := range held {
				if len(spans) != 1 || spans[0].To%size != 0 {
					t.Errorf("line %s is seen to hold %v, within a call", line, spans)
					return
				}
			}
			select {
			case <-written:
				return
			default:
			}
		}
	})
	writing.Wait()
	close(written)
	reading.Wait()
}

func beginTogether(t *testing.T, s logbook.Store) {
	var all sync.WaitGroup
	seen := make([]logbook.Line, 32)
	for i := range seen {
		all.Go(func() {
			if err := s.Begin(Production, logbook.Line{byte(i + 1)}); err != nil {
				t.Error(err)
			}
			head, err := s.Head(Production)
			if err != nil {
				t.Error(err)
			}
			seen[i] = head.Identity
		})
	}
	all.Wait()
	for _, line := range seen {
		if line != seen[0] || line == (logbook.Line{}) {
			t.Fatalf("the identities seen are %v, want one", seen)
		}
	}
}

// closeUnderLoad closes a store that is written and returns the dots of the edits that were acknowledged.
func closeUnderLoad(t *testing.T, s logbook.Store) map[logbook.Dot]bool {
	begin(t, s)
	const writers = 16
	var writing sync.WaitGroup
	var mu sync.Mutex
	acknowledged := map[logbook.Dot]bool{}
	enough := make(chan struct{})
	for w := 1; w <= writers; w++ {
		writing.Go(func() {
			for n := uint64(1); ; n++ {
				e := Entry(byte(w), n, "x")
				_, err := s.Append(Production, []logbook.Entry{e})
				if errors.Is(err, logbook.ErrClosed) {
					return
				}
				if err != nil {
					t.Error(err)
					return
				}
				mu.Lock()
				acknowledged[e.Dot] = true
				if len(acknowledged) == 5*writers {
					close(enough)
				}
				mu.Unlock()
			}
		})
	}
	<-enough
	if err := s.Close(); err != nil {
		t.Error(err)
	}
	writing.Wait()
	return acknowledged
}

func closingWaits(t *testing.T, s logbook.Store) {
	if n := len(closeUnderLoad(t, s)); n < 80 {
		t.Errorf("%d edits were acknowledged, want at least 80", n)
	}
}

func closedSaysSo(t *testing.T, s logbook.Store) {
	begin(t, s)
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	calls := callsOn(s, Production)
	_, calls["Productions"] = s.Productions()
	_, calls["Kept"] = s.Kept("x")
	_, calls["KeptUnder"] = s.KeptUnder("x")
	calls["Keep"] = s.Keep("x", []byte("y"))
	calls["Begin"] = s.Begin(Production, identity)
	calls["Begin of another"] = s.Begin(logbook.ID{5}, identity)
	calls["Close"] = s.Close()
	for name, err := range calls {
		if !errors.Is(err, logbook.ErrClosed) {
			t.Errorf("%s: got %v, want %v", name, err, logbook.ErrClosed)
		}
	}
}
