package etcd

import (
	"errors"
	"testing"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/storetest"
)

// within waits for something that comes by itself, at most for a while that only a fault takes.
func within(t testing.TB, what string, is func() bool) {
	t.Helper()
	for until := time.Now().Add(time.Minute); !is(); {
		if time.Now().After(until) {
			t.Fatalf("in vain waited for: %s", what)
		}
		<-time.After(5 * time.Millisecond)
	}
}

// TestProcessesFollowEachOther opens one log in two stores, as two processes do.
func TestProcessesFollowEachOther(t *testing.T) {
	c := someCluster(t)
	a, b := c.open(t, "two"), c.open(t, "two/")
	if err := a.Begin(storetest.Production, logbook.Line{1}); err != nil {
		t.Fatal(err)
	}
	if err := b.Begin(storetest.Production, logbook.Line{2}); err != nil {
		t.Fatal(err)
	}
	t.Run("each takes what the other does not hold, and answers as one store", func(t *testing.T) {
		for n := uint64(1); n <= 20; n++ {
			s := a
			if n%2 == 0 {
				s = b
			}
			r, err := s.Append(storetest.Production, []logbook.Entry{storetest.Entry(1, n, "x"), storetest.Entry(1, n/2+1, "x")})
			if err != nil || r[0].Seq != logbook.Seq(n) || n > 1 && r[1].Outcome != logbook.Repeat {
				t.Fatalf("edit %d: got %+v (%v)", n, r, err)
			}
		}
		within(t, "the other's edits", func() bool {
			head, err := a.Head(storetest.Production)
			return err == nil && head.Seq == 20
		})
		storetest.MustAgree(t, a)
	})
	t.Run("who waits is woken by the other's append", func(t *testing.T) {
		woken, _ := b.Changed(storetest.Production)
		if _, err := a.Append(storetest.Production, []logbook.Entry{storetest.Entry(2, 1, "x")}); err != nil {
			t.Fatal(err)
		}
		select {
		case <-woken:
		case <-time.After(20 * time.Second):
			t.Fatal("nobody was woken")
		}
		within(t, "the edit", func() bool {
			got, err := b.Get(storetest.Production, []logbook.Dot{{Line: logbook.Line{2}, N: 1}})
			return err == nil && len(got) == 1
		})
	})
	t.Run("of two changes that looked at one book the second is refused", func(t *testing.T) {
		seen, err := a.Newest(storetest.Production)
		if err != nil {
			t.Fatal(err)
		}
		if again, err := b.Newest(storetest.Production); err != nil || again != seen {
			t.Fatalf("the other has seen %d changes (%v), want %d", again, err, seen)
		}
		if _, err := a.AppendChange(storetest.Production, seen, []logbook.Entry{storetest.Entry(3, 1, "a")}); err != nil {
			t.Fatal(err)
		}
		if _, err := b.Append(storetest.Production, []logbook.Entry{storetest.Entry(3, 2, "pushed")}); err != nil {
			t.Errorf("a push is no change: %v", err)
		}
		_, err = b.AppendChange(storetest.Production, seen, []logbook.Entry{storetest.Entry(3, 3, "b")})
		if !errors.Is(err, logbook.ErrWentOn) {
			t.Errorf("got %v, want %v", err, logbook.ErrWentOn)
		}
		if seen, err = b.Newest(storetest.Production); err != nil {
			t.Fatal(err)
		}
		if _, err := b.AppendChange(storetest.Production, seen, []logbook.Entry{storetest.Entry(3, 3, "b")}); err != nil {
			t.Errorf("after it looked again: %v", err)
		}
	})
	t.Run("a log that one removes is gone at the other", func(t *testing.T) {
		within(t, "equal heads", func() bool {
			x, err := a.Head(storetest.Production)
			y, other := b.Head(storetest.Production)
			return err == nil && other == nil && x == y
		})
		at, err := a.Head(storetest.Production)
		if err != nil {
			t.Fatal(err)
		}
		if err := a.Remove(storetest.Production, at, []byte("mark")); err != nil {
			t.Fatal(err)
		}
		if _, err := b.Append(storetest.Production, []logbook.Entry{storetest.Entry(4, 1, "late")}); !errors.Is(err, logbook.ErrNoProduction) {
			t.Errorf("an append to it: got %v, want %v", err, logbook.ErrNoProduction)
		}
		left, err := c.client().Get(t.Context(), "two/logs/", prefixCount()...)
		if err != nil || left.Count != 0 {
			t.Errorf("of the log %d keys are left (%v)", left.Count, err)
		}
	})
}

// TestValuesAreShared lets two processes keep values under one prefix.
func TestValuesAreShared(t *testing.T) {
	c := someCluster(t)
	a, b := c.open(t, "values"), c.open(t, "values")
	heard := make(chan logbook.KeptValue, 1000)
	if err := a.Keep("x/before", []byte("1")); err != nil {
		t.Fatal(err)
	}
	if err := b.Follow("x/", func(v logbook.KeptValue) { heard <- v }); err != nil {
		t.Fatal(err)
	}
	awaits := func(name, value string) {
		t.Helper()
		for {
			select {
			case v := <-heard:
				if v.Name == name && string(v.Value) == value && (v.Value == nil) == (value == "") {
					return
				}
			case <-time.After(20 * time.Second):
				t.Fatalf("%s was not told to be %q", name, value)
			}
		}
	}
	awaits("x/before", "1")
	if err := a.Keep("x/after", []byte("2")); err != nil {
		t.Fatal(err)
	}
	awaits("x/after", "2")
	if err := a.Keep("x/after", nil); err != nil {
		t.Fatal(err)
	}
	awaits("x/after", "")
	for i, step := range []struct {
		of        *Store
		old, next string
		done      bool
	}{{a, "", "mine", true}, {b, "", "mine, too", false}, {b, "mine", "yours", true}, {a, "mine", "", false}, {a, "yours", "", true}} {
		is := func(s string) []byte {
			if s == "" {
				return nil
			}
			return []byte(s)
		}
		if done, err := step.of.Swap("x/one", is(step.old), is(step.next)); err != nil || done != step.done {
			t.Errorf("step %d: got %v (%v), want %v", i, done, err, step.done)
		}
	}
	if err := a.KeepFor("x/brief", []byte("3"), time.Second); err != nil {
		t.Fatal(err)
	}
	awaits("x/brief", "3")
	awaits("x/brief", "") // its time is over
	before, err := b.Changes()
	if err != nil {
		t.Fatal(err)
	}
	if err := a.Keep("x/good", []byte("4")); err != nil {
		t.Fatal(err)
	}
	awaits("x/good", "4")
	if after, err := b.Changes(); err != nil || after <= before {
		t.Errorf("changes went from %d to %d (%v)", before, after, err)
	}
	if said := a.Warnings(); len(said) > 0 {
		t.Errorf("where nothing is wrong it warns of %q", said)
	}
}
