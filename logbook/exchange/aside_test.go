package exchange_test

import (
	"bytes"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/exchange"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/logtest"
)

func guardClips(e *logbook.Edit) bool { return e.Kind == kinds.Clip }

// meet exchanges once and returns the log and whether there is more.
func meet(
	t *testing.T, r *exchange.Replica, l *exchange.Peer, log logbook.Line, guard logbook.Guard,
) (exchange.Answer, logbook.Line, bool) {
	t.Helper()
	req := r.Request(log)
	req.Guard = guard
	a, err := l.Exchange(req, logtest.ID(61), 9)
	if err != nil {
		t.Fatal(err)
	}
	log, more := r.Take(a)
	return a, log, more
}

func TestADeviceKeepsWhatWaitsForAnOwnerAndDoesNotOfferItForEver(t *testing.T) {
	store := logbook.NewMemory()
	l := openPeer(t, store, 0x40)
	r := exchange.NewReplica(logtest.Production, logtest.ID(61), kinds.Rules, logtest.Lines(0x50))
	_, log, _ := meet(t, r, l, logbook.Line{}, guardClips)
	e := writeClip(t, r)
	a, log, more := meet(t, r, l, log, guardClips)
	if len(a.Answers) != 1 || a.Answers[0].Outcome != logbook.AnswerAside || more {
		t.Fatalf("got %+v and more %v, want aside and no more", a.Answers, more)
	}
	if _, known := r.Shared(log)(e.Dot); known {
		t.Error("it takes the log to hold the edit")
	}
	if a, _, more = meet(t, r, l, log, guardClips); len(a.Answers) != 0 || more {
		t.Errorf("in the same run it is offered again: %+v", a.Answers)
	}
	if !r.HoldsCopy(e) {
		t.Error("the device lost the edit")
	}

	l = openPeer(t, store, 0x60) // a new run lists anew, and is asked again
	if _, log, more = meet(t, r, l, log, guardClips); !more {
		t.Fatal("a new run is not asked again")
	}
	if a, _, _ = meet(t, r, l, log, guardClips); len(a.Answers) != 1 || a.Answers[0].Outcome != logbook.AnswerAside || l.Waiting() != 1 {
		t.Errorf("got %+v and %d waiting, want aside and 1", a.Answers, l.Waiting())
	}

	rows, err := l.Asides()
	if err != nil {
		t.Fatal(err)
	}
	if _, err := l.TakeAside([]logbook.AsideKey{rows[0].Key()}, 10); err != nil {
		t.Fatal(err)
	}
	if a, _, more = meet(t, r, l, log, guardClips); len(a.Answers) != 0 || more {
		t.Errorf("after the owner's word it is offered: %+v, more %v", a.Answers, more)
	}
	if _, known := r.Shared(log)(e.Dot); !known {
		t.Error("the device does not know that the log holds the edit")
	}
}

func TestAnEmptyServerThatOtherPhonesRefillWaitsForOneWord(t *testing.T) {
	full := openPeer(t, logbook.NewMemory(), 0x40)
	pushMany(t, full, 1, 1, 20, 5)
	r := exchange.NewReplica(logtest.Production, logtest.ID(61), kinds.Rules, logtest.Lines(0x50))
	for log, more := (logbook.Line{}), true; more; {
		_, log, more = meet(t, r, full, log, nil)
	}
	empty := openPeer(t, logbook.NewMemory(), 0x60)
	for log, more := (logbook.Line{}), true; more; {
		_, log, more = meet(t, r, empty, log, guardClips)
	}
	rows, err := empty.Asides()
	if err != nil || len(rows) != r.CountEdits() || len(rows) == 0 {
		t.Fatalf("%d wait (%v), want all %d", len(rows), err, r.CountEdits())
	}
	var keys []logbook.AsideKey
	for _, row := range rows {
		keys = append(keys, row.Key())
	}
	if _, err := empty.TakeAside(keys, 10); err != nil {
		t.Fatal(err)
	}
	var want, got string
	full.Read(func(b *logbook.Book) { want = everything(b) })
	empty.Read(func(b *logbook.Book) { got = everything(b) })
	if got != want {
		t.Errorf("after the owner's word the refilled server shows\n%s\nwant\n%s", got, want)
	}
}

func TestABundleOfAnEditorsWaitsInPart(t *testing.T) {
	l := openPeer(t, logbook.NewMemory(), 0x40)
	clip, take := logtest.ClipEdit(1, 1, "lens", `"35"`), logtest.ClipEdit(1, 2, "number", "1")
	take.Kind, take.Record = kinds.Take, logtest.ID(3)
	var file bytes.Buffer
	if err := exchange.WriteBundle(&file, logtest.Production, []*logbook.Edit{clip, take}); err != nil {
		t.Fatal(err)
	}
	got, err := l.TakeBundle(&file, exchange.Bringer{Via: logtest.ID(61), Guard: guardClips}, 9)
	if want := (exchange.Tally{Taken: 1, Aside: 1}); err != nil || got != want || l.Waiting() != 1 {
		t.Errorf("got %v (%v) with %d waiting, want %v", got, err, l.Waiting(), want)
	}
}

func TestRowsSayThatAnEditWaits(t *testing.T) {
	a := exchange.Answer{Run: logtest.Line(1), Identity: logtest.Line(2), Answers: []logbook.Answer{
		{Dot: logbook.Dot{Line: logtest.Line(3), N: 4}, Outcome: logbook.AnswerAside, Reason: "an owner's"},
		{Dot: logbook.Dot{Line: logtest.Line(3), N: 5}, Outcome: logbook.AnswerAside, Reason: "an owner's"},
	}}
	text := append(a.RowsBefore(), a.RowsAfter(0)...)
	read, err := exchange.ReadAnswerRows(text, logtest.Production, nil)
	if err != nil || len(read.Answers) != 2 || read.Answers[1] != a.Answers[1] {
		t.Errorf("got %+v (%v) of\n%s", read.Answers, err, text)
	}
}

func writeClip(t *testing.T, r *exchange.Replica) *logbook.Edit {
	t.Helper()
	d := logbook.Draft{Kind: kinds.Clip, Record: logtest.ID(2), Set: []logbook.Change{{Field: "lens", Value: `"35 mm"`}}}
	e, err := r.Write(d, "2nd AC", 9, 0)
	if err != nil {
		t.Fatal(err)
	}
	return e
}
