package logbook

import (
	"errors"
	"fmt"
	"strings"
	"testing"
)

func TestACorrectedTimeStaysWithinTheYearsThatCanBeWritten(t *testing.T) {
	for _, c := range []struct {
		name             string
		at, offset, want Millis
	}{
		{"an offset of ten years", 1e12, 315e9, 1e12 + 315e9},
		{"before 1970", 5, -10, 0},
		{"after the year 9999", yearTenThousand - 1, yearTenThousand - 1, yearTenThousand - 1},
	} {
		e := clipEdit(1, 1, "lens", `"35"`)
		e.At, e.Offset = c.at, c.offset
		if _, err := EncodeEdit(e); err != nil {
			t.Fatalf("%s: %v", c.name, err)
		}
		if got := e.Corrected(); got != c.want {
			t.Errorf("%s: got %d, want %d", c.name, got, c.want)
		}
		if _, err := e.Corrected().Time().MarshalJSON(); err != nil {
			t.Errorf("%s: %v", c.name, err)
		}
	}
}

func TestTwinsOfTwoKindsUnderTheSameIdsReadTheSameInEveryOrder(t *testing.T) {
	one := func(line int, kind Kind, record int, field string, value Value) *Edit {
		e := clipEdit(line, 1, field, value)
		e.Kind, e.Record = kind, testID(record)
		return e
	}
	joins := SamePrefix + testID(3).String()
	edits := []*Edit{
		one(1, KindClip, 2, joins, `"one"`), one(2, KindClip, 3, "lens", `"35"`),
		one(3, KindTake, 2, joins, `"one"`), one(4, KindTake, 3, "suffix", `"B"`),
	}
	for turn := range edits {
		for range 8 { // a map's order is drawn anew each time
			b := NewBook(testID(1), KindRules)
			for i := range edits {
				if err := b.Apply(edits[(i+turn)%len(edits)]); err != nil {
					t.Fatal(err)
				}
			}
			for _, kind := range []Kind{KindClip, KindTake} {
				if all := b.Records(kind); len(all) != 1 || len(all[0].Members()) != 2 {
					t.Fatalf("from edit %d on: got %d records of kind %s, want one that reads as two", turn, len(all), kind)
				}
			}
		}
	}
}

// A machine whose memory is set back goes on in a line that others know further.
func TestAChangeGoesOnInANewLineWhereItsDotsAreTaken(t *testing.T) {
	store := NewMemory()
	l := openTestLog(t, store)
	writer := Writer{Device: testID(70), By: "DIT", Now: 5}
	draft := func(record int) Draft { return Draft{KindClip, testID(record), []Change{{"lens", `"35"`, nil}}} }
	first, err := l.Change(writer, func(*Book) ([]Draft, error) { return []Draft{draft(2)}, nil })
	if err != nil {
		t.Fatal(err)
	}
	foreign := clipEdit(1, 1, "filters", `"none"`)
	foreign.Dot = Dot{first[0].Dot.Line, 3}
	if _, err := l.Push([]*Edit{foreign}, testID(61), 9); err != nil {
		t.Fatal(err)
	}
	edits, err := l.Change(writer, func(*Book) ([]Draft, error) { return []Draft{draft(4), draft(5), draft(6)}, nil })
	if err != nil {
		t.Fatalf("the change failed: %v", err)
	}
	for i, e := range edits {
		if e.Dot.Line == first[0].Dot.Line || e.Act != edits[0].Dot || !edits[0].Dot.Less(e.Dot) && i > 0 {
			t.Errorf("edit %d has dot %s in the act %s, want all in one act of a new line", i, e.Dot, e.Act)
		}
	}
	again, err := openPeer(store, KindRules, drawn(0x40))
	if err != nil {
		t.Fatal(err)
	}
	var now, stored string
	l.Read(func(b *Book) { now = describe(b) })
	again.Read(func(b *Book) { stored = describe(b) })
	if now != stored {
		t.Errorf("the book says\n%swhat is stored\n%s", now, stored)
	}
}

func TestAnEditIsAsDeepAsABodyCanCarry(t *testing.T) {
	deep := func(n int) Value { return Value(strings.Repeat("[", n) + strings.Repeat("]", n)) }
	carried := 0
	for n := 1; n <= 40; n++ {
		e := clipEdit(1, 1, "someday", deep(n))
		b, err := EncodeEdit(e)
		if err != nil {
			continue
		}
		carried = n
		if _, err := DecodeEdit(b); err != nil {
			t.Fatalf("depth %d: written and not read: %v", n, err)
		}
		text, err := e.MarshalJSON()
		if err != nil {
			t.Fatal(err)
		}
		if _, err := ParseValue(`{"edits":[` + string(text) + `]}`); err != nil {
			t.Errorf("an edit with a value of depth %d can be stored and not be sent: %v", n, err)
		}
	}
	if carried < 16 {
		t.Errorf("got depth %d at the most, want at least 16", carried)
	}
}

func TestAReplicaWritesNothingThatCannotBeSent(t *testing.T) {
	r := NewReplica(testID(1), testID(61), KindRules, drawn(0x50))
	long := TextValue(strings.Repeat("x", MaxEdit))
	if e, err := r.Write(Draft{KindClip, testID(2), []Change{{"someday", long, nil}}}, "2nd AC", 5, 0); err == nil {
		_, sent := EncodeEdit(e)
		t.Errorf("an edit was written that nobody takes: %v", sent)
	}
	if e, err := r.Write(Draft{KindClip, testID(2), []Change{{"lens", `"35"`, nil}}}, "2nd AC", 5, 0); err != nil || e.Dot.N != 1 {
		t.Errorf("got %v (%v), want the first of the line", e, err)
	}
}

func TestAReplicaOffersNoMoreThanABodyHolds(t *testing.T) {
	l := openTestLog(t, NewMemory())
	r := NewReplica(testID(1), testID(61), KindRules, drawn(0x60))
	for i := range 60 {
		text := TextValue(strings.Repeat("\"", 15000+i))
		if _, err := r.Write(Draft{KindClip, testID(2), []Change{{"someday", text, nil}}}, "2nd AC", 5, 0); err != nil {
			t.Fatal(err)
		}
	}
	log := Line{}
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
		a, err := l.Exchange(req, testID(61), 9)
		if err != nil {
			t.Fatal(err)
		}
		log, more = r.Take(a)
	}
	if head, err := l.Head(); err != nil || head.Seq != 60 {
		t.Errorf("got %d edits in the log (%v), want 60", head.Seq, err)
	}
}

func TestAnObjectFullOfFaultsIsAnsweredInBoundedRoom(t *testing.T) {
	var object strings.Builder
	object.WriteString(`{"name":"x"`)
	for i := range 20000 {
		fmt.Fprintf(&object, `,"a%d":%d`, i, i)
	}
	v, err := ParseValue(object.String() + "}")
	if err != nil {
		t.Fatal(err)
	}
	d := newDesk(t)
	_, made := ChangesOf(KindMeter, v)
	_, patched := PatchOf(d.body(""), v)
	for _, err := range []error{made, patched} {
		var all Errors
		if !errors.As(err, &all) || len(all) == 0 || len(all) > mostErrors || len(err.Error()) > 100000 {
			t.Errorf("got %d faults in %d bytes, want the first hundred of 20000", len(all), len(err.Error()))
		}
	}
}
