package exchange_test

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"sync"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/exchange"
	"evenwhite/logbook/logtest"
)

// pushMany fills a log with edits of one line, each with a value of so many bytes.
func pushMany(t *testing.T, l *exchange.Peer, line int, from, to uint64, size int) {
	t.Helper()
	for n := from; n <= to; {
		var edits []*logbook.Edit
		for ; n <= to && len(edits) < exchange.MaxPush; n++ {
			text := fmt.Sprintf("%d %s", n, strings.Repeat("x", size))
			edits = append(edits, logtest.ClipEdit(line, n, "card", logbook.TextValue(text)))
		}
		if _, err := l.Push(edits, logtest.ID(60), 9); err != nil {
			t.Fatal(err)
		}
	}
}

// inOneExchange is one exchange in rows: the answer as it is read, and its passages.
func inOneExchange(t *testing.T, l *exchange.Peer, req exchange.Request) (exchange.Answer, []*exchange.Passage) {
	t.Helper()
	a, passages, err := l.ExchangeRows(req, logtest.ID(61), 9)
	if err != nil {
		t.Fatal(err)
	}
	read, err := exchange.ReadAnswerRows(joined(a, passages), logtest.Production, l.Records)
	if err != nil {
		t.Fatal(err)
	}
	return read, passages
}

func TestPassagesAreWrittenOnce(t *testing.T) {
	l := openPeer(t, logbook.NewMemory(), 0x10)
	pushMany(t, l, 1, 1, 1300, 20)
	_, first := inOneExchange(t, l, exchange.Request{})
	_, second := inOneExchange(t, l, exchange.Request{})
	if len(first) != 12 || len(second) != 12 {
		t.Fatalf("got %d and %d passages, want that 1300 edits are 2 of 512, 4 of 64, 2 of 8 and 4 of 1", len(first), len(second))
	}
	for i := range first {
		if first[i] != second[i] {
			t.Errorf("passage %d was written twice", i)
		}
	}
	t.Run("packed once by all who come at the same time", func(t *testing.T) {
		packed := 0
		var all sync.WaitGroup
		for range 8 {
			all.Go(func() { first[0].Packed(func(rows []byte) []byte { packed++; return rows[:1] }) })
		}
		all.Wait()
		if packed != 1 {
			t.Errorf("packed %d times, want once", packed)
		}
	})
	t.Run("shared also by who begins elsewhere", func(t *testing.T) {
		page, _ := inOneExchange(t, l, exchange.Request{Limit: 3000})
		_, rest := inOneExchange(t, l, exchange.Request{Cursor: page.Cursor})
		if n := len(rest); n < 11 || !slices.Equal(rest[n-11:], first[1:]) {
			t.Errorf("got %d passages, and not those of who began before", n)
		}
	})
	t.Run("and are others where every record is to be written", func(t *testing.T) {
		whole, passages := inOneExchange(t, l, exchange.Request{Whole: true})
		if passages[0] == first[0] || len(whole.Edits) != 1300 {
			t.Errorf("got %d edits, and the passage of all", len(whole.Edits))
		}
		_, second := inOneExchange(t, l, exchange.Request{Whole: true})
		if second[0] != passages[0] {
			t.Error("it was written twice")
		}
	})
}

func TestPassagesHoldWhatWasNotBroughtByThisCall(t *testing.T) {
	l := openPeer(t, logbook.NewMemory(), 0x10)
	pushMany(t, l, 1, 1, 3, 5)
	start, _ := inOneExchange(t, l, exchange.Request{})
	pushMany(t, l, 1, 4, 5, 5)
	own := []*logbook.Edit{logtest.ClipEdit(2, 1, "card", `"A"`), logtest.ClipEdit(2, 2, "card", `"B"`)}
	if _, err := l.Push(own[:1], logtest.ID(62), 9); err != nil { // an answer that was lost
		t.Fatal(err)
	}
	pushMany(t, l, 1, 6, 6, 5)
	a, _ := inOneExchange(t, l, exchange.Request{Cursor: start.Cursor, Edits: own})
	var got []string
	for _, e := range a.Edits {
		got = append(got, e.Dot.String())
	}
	want := fmt.Sprint([]logbook.Dot{logtest.Dot(1, 4), logtest.Dot(1, 5), logtest.Dot(1, 6)})
	if fmt.Sprint(got) != want || a.Answers[0].Outcome != logbook.AnswerRepeat || a.Answers[1].Outcome != logbook.AnswerTaken {
		t.Errorf("got %v and %v, want %s", got, a.Answers, want)
	}
	if place, err := l.Place(); err != nil || a.Cursor != place || a.More {
		t.Errorf("got the cursor %s and more %v (%v), want the end of the log", a.Cursor, a.More, err)
	}
	t.Run("but what is held under the dot of a clash", func(t *testing.T) {
		other := logtest.ClipEdit(2, 1, "card", `"C"`)
		a, _ := inOneExchange(t, l, exchange.Request{Cursor: start.Cursor, Edits: []*logbook.Edit{other}})
		if len(a.Edits) != 5 || a.Answers[0].Outcome != logbook.AnswerClash {
			t.Errorf("got %d edits and %v, want all five", len(a.Edits), a.Answers)
		}
	})
	t.Run("nor is held, as the device says", func(t *testing.T) {
		a, _ := inOneExchange(t, l, exchange.Request{Have: logbook.Ranges{logtest.Line(1): {{From: 1, To: 5}}}})
		if len(a.Edits) != 3 || a.Edits[1].Dot != (logtest.Dot(1, 6)) {
			t.Errorf("got %d edits, want those of the other line and the sixth", len(a.Edits))
		}
	})
}

func TestARefusedEditThatIsPulledCarriesItsMark(t *testing.T) {
	l := openPeer(t, logbook.NewMemory(), 0x10)
	edits := []*logbook.Edit{logtest.ClipEdit(1, 1, "lens", `"50"`), logtest.ClipEdit(1, 2, "kelvin", "-3"), logtest.ClipEdit(1, 3, "kelvin", "-4")}
	pushed, err := l.Push(edits, logtest.ID(60), 9)
	if err != nil {
		t.Fatal(err)
	}
	want := []exchange.Mark{{Dot: edits[1].Dot, Reason: pushed[1].Reason}, {Dot: edits[2].Dot, Reason: pushed[2].Reason}}
	for name, have := range map[string]logbook.Ranges{"all": nil, "what the device lacks": {logtest.Line(1): {{From: 2, To: 2}}}} {
		want := want[max(0, len(have)):]
		rows, _ := inOneExchange(t, l, exchange.Request{Have: have})
		readable, err := l.Exchange(exchange.Request{Have: have}, logtest.ID(61), 9)
		if err != nil || !slices.Equal(rows.Marks, want) || !slices.Equal(readable.Marks, want) {
			t.Errorf("%s: got %v in rows and %v (%v), want %v", name, rows.Marks, readable.Marks, err, want)
		}
	}
	again, _ := inOneExchange(t, l, exchange.Request{Cursor: func() string { place, _ := l.Place(); return place }()})
	if len(again.Marks) != 0 {
		t.Errorf("got %v with no edits", again.Marks)
	}
}

// TestALongLogIsReadPageByPage: each answer and what is kept at hand are bounded,
// however long the log is.
func TestALongLogIsReadPageByPage(t *testing.T) {
	l := openPeer(t, logbook.NewMemory(), 0x10)
	const edits, size = 6000, 2000
	pushMany(t, l, 1, 1, edits, size)
	next, pages, total := uint64(1), 0, 0
	for cursor, more := "", true; more; pages++ {
		a, passages, err := l.ExchangeRows(exchange.Request{Cursor: cursor}, logtest.ID(61), 9)
		if err != nil {
			t.Fatal(err)
		}
		text := joined(a, passages)
		if len(text) > 1<<20+1<<16 {
			t.Fatalf("page %d has %d bytes, want at most 1 MiB and one edit", pages, len(text))
		}
		read, err := exchange.ReadAnswerRows(text, logtest.Production, l.Records)
		if err != nil {
			t.Fatal(err)
		}
		for _, e := range read.Edits {
			if e.Dot.N != next {
				t.Fatalf("page %d has edit %d, want %d", pages, e.Dot.N, next)
			}
			next++
		}
		if _, _, size := l.AtHand(); size > exchange.PassagesHeld {
			t.Fatalf("after page %d, %d bytes are at hand; allowed are %d", pages, size, exchange.PassagesHeld)
		}
		cursor, more, total = read.Cursor, read.More, total+len(text)
	}
	if next != edits+1 || total < 10<<20 {
		t.Errorf("got %d edits in %d pages of %d bytes, want %d", next-1, pages, total, edits)
	}
	if held, inOrder, _ := l.AtHand(); held != inOrder {
		t.Errorf("%d passages are held and %d are in order", held, inOrder)
	}
}

// Whoever begins to read holds nothing: a record cannot be known by an edit that comes
// later in the log.
func TestNoRecordIsLeftOutForAnEditThatComesLater(t *testing.T) {
	l := openPeer(t, logbook.NewMemory(), 0x10)
	later := logtest.ClipEdit(2, 1, "card", `"A"`)
	if _, err := l.Push([]*logbook.Edit{
		logtest.ClipEdit(1, 1, "card", `"B"`, later.Dot), later, logtest.ClipEdit(1, 2, "card", `"C"`, later.Dot),
	}, logtest.ID(60), 9); err != nil {
		t.Fatal(err)
	}
	for _, req := range []exchange.Request{{}, {Limit: 1}, {Have: logbook.Ranges{}}} {
		a, passages, err := l.ExchangeRows(req, logtest.ID(61), 9)
		if err != nil {
			t.Fatal(err)
		}
		read, err := exchange.ReadAnswerRows(joined(a, passages), logtest.Production, nil)
		if err != nil || len(read.Edits) == 0 || read.Edits[0].Record != later.Record {
			t.Errorf("got %v and %v, want the edits with their record", read.Edits, err)
		}
	}
}

// Who asks for whole rows cannot look a record up.
func TestAWholeRequestIsAnsweredWithEveryRecord(t *testing.T) {
	l := openPeer(t, logbook.NewMemory(), 0x10)
	first := logtest.ClipEdit(1, 1, "card", `"A"`)
	if _, err := l.Push([]*logbook.Edit{first, logtest.ClipEdit(1, 2, "card", `"B"`, first.Dot)}, logtest.ID(60), 9); err != nil {
		t.Fatal(err)
	}
	after, _ := inOneExchange(t, l, exchange.Request{Limit: 1})
	for _, c := range []struct {
		whole bool
		want  error
	}{{false, exchange.ErrRecords}, {true, nil}} {
		a, passages, err := l.ExchangeRows(exchange.Request{Cursor: after.Cursor, Whole: c.whole}, logtest.ID(61), 9)
		if err != nil {
			t.Fatal(err)
		}
		read, err := exchange.ReadAnswerRows(joined(a, passages), logtest.Production, nil)
		if !errors.Is(err, c.want) || c.whole && (len(read.Edits) != 1 || read.Edits[0].Record != first.Record) {
			t.Errorf("whole %v: got %v (%v), want %v", c.whole, read.Edits, err, c.want)
		}
	}
}

func TestANameBeyondAnyLineBlocksNobody(t *testing.T) {
	l := openPeer(t, logbook.NewMemory(), 0x10)
	odd := logtest.ClipEdit(1, 1, "card", `"A"`)
	odd.Set[0].Over, odd.Act = []logbook.Dot{logtest.Dot(3, math.MaxUint64)}, logtest.Dot(4, 1<<63)
	answers, err := l.Push([]*logbook.Edit{odd, logtest.ClipEdit(2, 1, "card", `"B"`)}, logtest.ID(60), 9)
	if err != nil || answers[0].Outcome != logbook.AnswerTaken {
		t.Fatalf("got %v and %v, want that it is taken, as by every version before", answers, err)
	}
	a, _ := inOneExchange(t, l, exchange.Request{})
	if len(a.Edits) != 2 || !sameBytes(bytesOfAll(t, a.Edits[:1]), bytesOfAll(t, []*logbook.Edit{odd})) {
		t.Errorf("got %v, want both edits as they were pushed", a.Edits)
	}
}
