package exchange_test

import (
	"strings"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/exchange"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/logtest"
)

func TestReplica(t *testing.T) {
	draft := logbook.Draft{Kind: kinds.Clip, Record: logtest.ID(2), Set: []logbook.Change{{Field: "lens", Value: `"50 mm"`}}}
	write := func(r *exchange.Replica) *logbook.Edit {
		t.Helper()
		e, err := r.Write(draft, "2nd AC", 5, 0)
		if err != nil {
			t.Fatal(err)
		}
		return e
	}
	t.Run("begins a new line where its dot is held with other bytes", func(t *testing.T) {
		l := openPeer(t, logbook.NewMemory(), 0x10)
		line := logtest.Line(7)
		r := exchange.NewReplica(logtest.Production, logtest.ID(61), kinds.Rules, func() logbook.Line { line[7]++; return line })
		first := write(r)
		other := *first
		other.By = "the phone before its memory was set back"
		if _, err := l.Push([]*logbook.Edit{&other}, logtest.ID(61), 9); err != nil {
			t.Fatal(err)
		}
		log := logbook.Line{}
		for more := true; more; {
			a, err := l.Exchange(r.Request(log), logtest.ID(61), 9)
			if err != nil {
				t.Fatal(err)
			}
			log, more = r.Take(a)
		}
		if clashes, err := l.Clashes(); err != nil || len(clashes) != 1 {
			t.Errorf("got %d clashes (%v), want the one kept aside", len(clashes), err)
		}
		if next := write(r); next.Dot.Line == first.Dot.Line || next.Dot.N != 1 {
			t.Errorf("got dot %s after the clash, want the first of another line than %s", next.Dot, first.Dot.Line)
		}
	})
	for how, give := range map[string]func(*exchange.Replica, *logbook.Edit){
		"by a log": func(r *exchange.Replica, e *logbook.Edit) {
			r.Take(exchange.Answer{Edits: []*logbook.Edit{e}, List: logbook.Ranges{}})
		},
		"by a bundle": func(r *exchange.Replica, e *logbook.Edit) { r.Hold(e) },
	} {
		t.Run("begins a new line where it learns "+how+" that its next dot is taken", func(t *testing.T) {
			line := logtest.Line(7)
			r := exchange.NewReplica(logtest.Production, logtest.ID(61), kinds.Rules, func() logbook.Line { line[7]++; return line })
			taken := *write(r)
			taken.Dot.N++ // as the phone wrote before its memory was set back
			give(r, &taken)
			if next := write(r); next.Dot.Line == taken.Dot.Line || !r.HoldsCopy(next) || !r.HoldsCopy(&taken) {
				t.Errorf("got dot %s, want one of another line than %s, and both edits held", next.Dot, taken.Dot)
			}
		})
	}
	t.Run("begins a new line where somebody named its next dot", func(t *testing.T) {
		line := logtest.Line(7)
		r := exchange.NewReplica(logtest.Production, logtest.ID(61), kinds.Rules, func() logbook.Line { line[7]++; return line })
		first := write(r)
		next := logbook.Dot{Line: first.Dot.Line, N: 2} // as the phone wrote before its memory was set back
		r.Hold(logtest.ClipEdit(3, 1, "lens", `"85 mm"`, next))
		e := write(r)
		clip, _ := r.Book().Alone(kinds.Clip, logtest.ID(2))
		if heads := clip.Field("lens").Heads; e.Dot == next || len(heads) != 3 {
			t.Errorf("got dot %s and heads %v, want another line, and three heads", e.Dot, heads)
		}
	})
	t.Run("offers again what the log had no room for", func(t *testing.T) {
		store := &simStore{Memory: logbook.NewMemory()}
		l := openPeer(t, store, 0x40)
		r := exchange.NewReplica(logtest.Production, logtest.ID(61), kinds.Rules, logtest.Lines(0x50))
		a, err := l.Exchange(r.Request(logbook.Line{}), logtest.ID(61), 9)
		if err != nil {
			t.Fatal(err)
		}
		log, _ := r.Take(a)
		e := write(r)
		for _, step := range []struct {
			fails error
			want  string
			more  bool
		}{{logbook.ErrFull, logbook.AnswerLater, true}, {nil, logbook.AnswerTaken, false}} {
			store.fails = step.fails
			req := r.Request(log)
			if len(req.Edits) != 1 || req.Edits[0].Dot != e.Dot || !r.HoldsCopy(req.Edits[0]) {
				t.Fatalf("got %d edits offered, want %s", len(req.Edits), e.Dot)
			}
			if a, err = l.Exchange(req, logtest.ID(61), 9); err != nil {
				t.Fatal(err)
			}
			if _, more := r.Take(a); a.Answers[0].Outcome != step.want || more != step.more {
				t.Errorf("got %s and more %v, want %s and %v", a.Answers[0].Outcome, more, step.want, step.more)
			}
		}
	})
}

func TestAReplicaWritesNothingThatCannotBeSent(t *testing.T) {
	r := exchange.NewReplica(logtest.Production, logtest.ID(61), kinds.Rules, logtest.Lines(0x50))
	long := logbook.TextValue(strings.Repeat("x", logbook.MaxEdit))
	if e, err := r.Write(logbook.Draft{
		Kind: kinds.Clip, Record: logtest.ID(2), Set: []logbook.Change{{Field: "someday", Value: long}},
	}, "2nd AC", 5, 0); err == nil {
		_, sent := logbook.EncodeEdit(e)
		t.Errorf("an edit was written that nobody takes: %v", sent)
	}
	if e, err := r.Write(logbook.Draft{
		Kind: kinds.Clip, Record: logtest.ID(2), Set: []logbook.Change{{Field: "lens", Value: `"35"`}},
	}, "2nd AC", 5, 0); err != nil || e.Dot.N != 1 {
		t.Errorf("got %v (%v), want the first of the line", e, err)
	}
}

func TestAReplicaOffersNoMoreThanABodyHolds(t *testing.T) {
	l := openPeer(t, logbook.NewMemory(), 0x10)
	r := exchange.NewReplica(logtest.Production, logtest.ID(61), kinds.Rules, logtest.Lines(0x60))
	for i := range 60 {
		text := logbook.TextValue(strings.Repeat("\"", 15000+i))
		if _, err := r.Write(logbook.Draft{
			Kind: kinds.Clip, Record: logtest.ID(2), Set: []logbook.Change{{Field: "someday", Value: text}},
		}, "2nd AC", 5, 0); err != nil {
			t.Fatal(err)
		}
	}
	log := logbook.Line{}
	for more, calls := true, 0; more; calls++ {
		req := r.Request(log)
		size := 0
		for _, e := range req.Edits {
			text, err := e.MarshalJSON()
			if err != nil {
				t.Fatal(err)
			}
			size += len(text) + 1
		}
		if size > 1<<20-1024 || calls > 60 {
			t.Fatalf("call %d offers %d edits of %d bytes, want less than a body of 1 MiB", calls, len(req.Edits), size)
		}
		a, err := l.Exchange(req, logtest.ID(61), 9)
		if err != nil {
			t.Fatal(err)
		}
		log, more = r.Take(a)
	}
	if head, err := l.Head(); err != nil || head.Seq != 60 {
		t.Errorf("got %d edits in the log (%v), want 60", head.Seq, err)
	}
}
