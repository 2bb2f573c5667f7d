package logbook

import (
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
	"sync"
	"testing"

	"pgregory.net/rapid"
)

// pushMany fills a log with edits of one line, each with a value of so many bytes.
func pushMany(t *testing.T, l *Peer, line int, from, to uint64, size int) {
	t.Helper()
	for n := from; n <= to; {
		var edits []*Edit
		for ; n <= to && len(edits) < MaxPush; n++ {
			text := fmt.Sprintf("%d %s", n, strings.Repeat("x", size))
			edits = append(edits, clipEdit(line, n, "card", TextValue(text)))
		}
		if _, err := l.Push(edits, testID(60), 9); err != nil {
			t.Fatal(err)
		}
	}
}

// told is one exchange in rows of somebody who brings some edits.
func toldBy(t *testing.T, l *Peer, req ExchangeRequest) (ExchangeAnswer, []*Passage) {
	t.Helper()
	a, passages, err := l.ExchangeRows(req, testID(61), 9)
	if err != nil {
		t.Fatal(err)
	}
	read, err := ReadAnswerRows(joined(a, passages), testID(1), l.Records)
	if err != nil {
		t.Fatal(err)
	}
	return read, passages
}

func TestPassagesAreWrittenOnce(t *testing.T) {
	l := openTestLog(t, NewMemory())
	pushMany(t, l, 1, 1, 1300, 20)
	_, first := toldBy(t, l, ExchangeRequest{})
	_, second := toldBy(t, l, ExchangeRequest{})
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
		page, _ := toldBy(t, l, ExchangeRequest{Limit: 3000})
		_, rest := toldBy(t, l, ExchangeRequest{Cursor: page.Cursor})
		if n := len(rest); n < 11 || !slices.Equal(rest[n-11:], first[1:]) {
			t.Errorf("got %d passages, and not those of who began before", n)
		}
	})
	t.Run("and are others where every record is to be written", func(t *testing.T) {
		whole, passages := toldBy(t, l, ExchangeRequest{Whole: true})
		if passages[0] == first[0] || len(whole.Edits) != 1300 {
			t.Errorf("got %d edits, and the passage of all", len(whole.Edits))
		}
		_, second := toldBy(t, l, ExchangeRequest{Whole: true})
		if second[0] != passages[0] {
			t.Error("it was written twice")
		}
	})
}

func TestPassagesTellWhatWasNotBroughtByThisCall(t *testing.T) {
	l := openTestLog(t, NewMemory())
	pushMany(t, l, 1, 1, 3, 5)
	start, _ := toldBy(t, l, ExchangeRequest{})
	pushMany(t, l, 1, 4, 5, 5)
	own := []*Edit{clipEdit(2, 1, "card", `"A"`), clipEdit(2, 2, "card", `"B"`)}
	if _, err := l.Push(own[:1], testID(62), 9); err != nil { // an answer that was lost
		t.Fatal(err)
	}
	pushMany(t, l, 1, 6, 6, 5)
	a, _ := toldBy(t, l, ExchangeRequest{Cursor: start.Cursor, Edits: own})
	var got []string
	for _, e := range a.Edits {
		got = append(got, e.Dot.String())
	}
	want := fmt.Sprint([]Dot{{testLine(1), 4}, {testLine(1), 5}, {testLine(1), 6}})
	if fmt.Sprint(got) != want || a.Answers[0].Outcome != AnswerRepeat || a.Answers[1].Outcome != AnswerTaken {
		t.Errorf("got %v and %v, want %s", got, a.Answers, want)
	}
	if place, err := l.Place(); err != nil || a.Cursor != place || a.More {
		t.Errorf("got the cursor %s and more %v (%v), want the end of the log", a.Cursor, a.More, err)
	}
	t.Run("but what is held under the dot of a clash", func(t *testing.T) {
		other := clipEdit(2, 1, "card", `"C"`)
		a, _ := toldBy(t, l, ExchangeRequest{Cursor: start.Cursor, Edits: []*Edit{other}})
		if len(a.Edits) != 5 || a.Answers[0].Outcome != AnswerClash {
			t.Errorf("got %d edits and %v, want all five", len(a.Edits), a.Answers)
		}
	})
	t.Run("nor is held, as the device says", func(t *testing.T) {
		a, _ := toldBy(t, l, ExchangeRequest{Have: Ranges{testLine(1): {{1, 5}}}})
		if len(a.Edits) != 3 || a.Edits[1].Dot != (Dot{testLine(1), 6}) {
			t.Errorf("got %d edits, want those of the other line and the sixth", len(a.Edits))
		}
	})
}

// TestALongLogIsReadPageByPage: each answer and what is kept at hand are bounded,
// however long the log is.
func TestALongLogIsReadPageByPage(t *testing.T) {
	l := openTestLog(t, NewMemory())
	const edits, size = 6000, 2000
	pushMany(t, l, 1, 1, edits, size)
	next, pages, total := uint64(1), 0, 0
	for cursor, more := "", true; more; pages++ {
		a, told, err := l.ExchangeRows(ExchangeRequest{Cursor: cursor}, testID(61), 9)
		if err != nil {
			t.Fatal(err)
		}
		text := joined(a, told)
		if len(text) > 1<<20+1<<16 {
			t.Fatalf("page %d has %d bytes, want at most 1 MiB and one edit", pages, len(text))
		}
		read, err := ReadAnswerRows(text, testID(1), l.Records)
		if err != nil {
			t.Fatal(err)
		}
		for _, e := range read.Edits {
			if e.Dot.N != next {
				t.Fatalf("page %d tells edit %d, want %d", pages, e.Dot.N, next)
			}
			next++
		}
		if l.passages.size > passagesHeld {
			t.Fatalf("after page %d, %d bytes are at hand; allowed are %d", pages, l.passages.size, passagesHeld)
		}
		cursor, more, total = read.Cursor, read.More, total+len(text)
	}
	if next != edits+1 || total < 10<<20 {
		t.Errorf("got %d edits in %d pages of %d bytes, want %d", next-1, pages, total, edits)
	}
	if len(l.passages.held) != len(l.passages.order) {
		t.Errorf("%d passages are held and %d are in order", len(l.passages.held), len(l.passages.order))
	}
}

func TestAPassageThatCannotBeReadIsTriedAgain(t *testing.T) {
	var held passages
	key, fault := passageKey{to: 1}, errors.New("the disk does not answer")
	if _, err := held.get(key, func() (*Passage, error) { return nil, fault }); !errors.Is(err, fault) {
		t.Errorf("got %v, want %v", err, fault)
	}
	want := &Passage{}
	if got, err := held.get(key, func() (*Passage, error) { return want, nil }); got != want || err != nil {
		t.Errorf("got %v and %v, want the second try", got, err)
	}
}

func TestAPassageWhoseWritingPanicsIsTriedAgain(t *testing.T) {
	var held passages
	key, want := passageKey{to: 1}, &Passage{}
	func() {
		defer func() {
			if recover() == nil {
				t.Error("the panic was kept from whoever answers it")
			}
		}()
		_, _ = held.get(key, func() (*Passage, error) { panic("a page too many") })
	}()
	if got, err := held.get(key, func() (*Passage, error) { return want, nil }); got != want || err != nil {
		t.Errorf("got %v and %v, want the second try", got, err)
	}
}

// Whoever begins to read holds nothing: a record cannot be told by an edit that comes
// later in the log.
func TestNoRecordIsLeftOutForAnEditThatComesLater(t *testing.T) {
	l := openTestLog(t, NewMemory())
	later := clipEdit(2, 1, "card", `"A"`)
	if _, err := l.Push([]*Edit{clipEdit(1, 1, "card", `"B"`, later.Dot), later, clipEdit(1, 2, "card", `"C"`, later.Dot)}, testID(60), 9); err != nil {
		t.Fatal(err)
	}
	for _, req := range []ExchangeRequest{{}, {Limit: 1}, {Have: Ranges{}}} {
		a, told, err := l.ExchangeRows(req, testID(61), 9)
		if err != nil {
			t.Fatal(err)
		}
		if read, err := ReadAnswerRows(joined(a, told), testID(1), nil); err != nil || len(read.Edits) == 0 || read.Edits[0].Record != later.Record {
			t.Errorf("got %v and %v, want the edits with their record", read.Edits, err)
		}
	}
}

func TestPassagesCoverTheLogWithoutWhatWasBrought(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		head := Seq(rapid.IntRange(0, 5000).Draw(t, "head"))
		from := Seq(rapid.IntRange(0, int(head)).Draw(t, "from"))
		set := map[Seq]bool{}
		for _, n := range rapid.SliceOfN(rapid.IntRange(1, 5000), 0, 20).Draw(t, "brought") {
			set[Seq(n)] = true
		}
		brought := slices.Sorted(maps.Keys(set))
		passages := 0
		for at := from; at < head; {
			end := passageEnd(at, head, brought)
			if end == at {
				if at++; !set[at] {
					t.Fatalf("%d is left out, and was not brought", at)
				}
				continue
			}
			for seq := at + 1; seq <= end; seq++ {
				if set[seq] || seq > head {
					t.Fatalf("the passage from %d to %d holds %d", at, end, seq)
				}
			}
			at = end
			passages++
		}
		if most := 50 * (len(brought) + 1); passages > most {
			t.Errorf("%d passages; want at most %d", passages, most)
		}
	})
}

func TestANameBeyondAnyLineBlocksNobody(t *testing.T) {
	l := openTestLog(t, NewMemory())
	odd := clipEdit(1, 1, "card", `"A"`)
	odd.Set[0].Over, odd.Act = []Dot{{testLine(3), math.MaxUint64}}, Dot{testLine(4), 1 << 63}
	if answers, err := l.Push([]*Edit{odd, clipEdit(2, 1, "card", `"B"`)}, testID(60), 9); err != nil || answers[0].Outcome != AnswerTaken {
		t.Fatalf("got %v and %v, want that it is taken, as by every version before", answers, err)
	}
	a, _ := toldBy(t, l, ExchangeRequest{})
	if len(a.Edits) != 2 || !sameEdit(a.Edits[0], odd) {
		t.Errorf("got %v, want both edits as they were pushed", a.Edits)
	}
}
