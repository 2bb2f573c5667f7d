package logbook_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/logtest"
)

// guarded are the edits of lines from 0x80 on.
func guarded(e *logbook.Edit) bool { return e.Dot.Line[0] >= 0x80 }

func outcomes(t *testing.T, answers []logbook.Answer, err error) string {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
	var words []string
	for _, a := range answers {
		words = append(words, a.Outcome)
	}
	return strings.Join(words, " ")
}

func keysOf(t *testing.T, l *logbook.Log) (keys []logbook.AsideKey) {
	t.Helper()
	rows, err := l.Asides()
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range rows {
		keys = append(keys, row.Key())
	}
	return keys
}

func fromLine(first byte, n uint64, lens string) *logbook.Edit {
	e := logtest.ClipEdit(1, n, "lens", logbook.TextValue(lens))
	e.Dot.Line = logbook.Line{first, 7: 1}
	return e
}

func TestEditsThatADeviceMayNotBringAreKeptAside(t *testing.T) {
	store := logbook.NewMemory()
	l := logtest.Open(t, store, rules, 0x10)
	editor, owner := logtest.ID(60), logtest.ID(61)
	mine, theirs, other := fromLine(0x01, 1, "35"), fromLine(0x80, 1, "50"), fromLine(0x80, 1, "85")
	push := func(guard logbook.Guard, via logbook.ID, edits ...*logbook.Edit) string {
		t.Helper()
		answers, err := l.PushGuarded(edits, guard, via, 9)
		return outcomes(t, answers, err)
	}
	woken := l.Changed()
	if got, want := push(guarded, editor, theirs, mine, other, theirs), "aside taken aside aside"; got != want {
		t.Fatalf("got %s, want %s", got, want)
	}
	select {
	case <-woken:
	default:
		t.Error("nobody is woken")
	}
	if keys := keysOf(t, l); len(keys) != 2 || l.Waiting() != 2 {
		t.Fatalf("%d are kept aside and %d wait, want both versions", len(keys), l.Waiting())
	}
	if head, err := l.Head(); err != nil || head.Seq != 1 {
		t.Errorf("the log has %d edits (%v), want 1", head.Seq, err)
	}
	l.Read(func(b *logbook.Book) {
		if b.Held(theirs.Dot) {
			t.Error("the book holds what is kept aside")
		}
	})

	l = logtest.Open(t, store, rules, 0x20) // after a start they wait all the same
	keys := keysOf(t, l)
	if l.Waiting() != 2 || len(keys) != 2 {
		t.Fatalf("after a start %d wait, want 2", l.Waiting())
	}
	if err := l.LeaveAside(keys[:1]); err != nil || l.Waiting() != 1 {
		t.Errorf("%d wait (%v), want 1", l.Waiting(), err)
	}
	answers, err := l.PushGuarded([]*logbook.Edit{theirs, other}, guarded, editor, 9)
	if got := outcomes(t, answers, err); got != "aside aside" || answers[0].Reason == answers[1].Reason {
		t.Errorf("got %s and the reasons %q and %q, want that one was left", got, answers[0].Reason, answers[1].Reason)
	}
	if l.Waiting() != 1 {
		t.Errorf("bringing it again makes %d wait, want 1", l.Waiting())
	}
	if got := push(nil, owner, theirs); got != "taken" {
		t.Errorf("of an owner the same bytes are %s, want taken", got)
	}
	left := keysOf(t, l)
	if len(left) != 1 || left[0].Hash == hashOf(t, theirs) {
		t.Fatalf("what came in is still kept aside: %v", left)
	}
	if got := push(guarded, editor, theirs, other); got != "repeat clash" {
		t.Errorf("once the dot is held, got %s, want repeat clash", got)
	}
	answers, err = l.TakeAside(left, 12)
	if got := outcomes(t, answers, err); got != "clash" || len(keysOf(t, l)) != 0 {
		t.Errorf("the other version is %s with %d left, want a clash and none", got, len(keysOf(t, l)))
	}
	if clashes, err := l.Clashes(); err != nil || len(clashes) != 1 {
		t.Errorf("%d clashes are kept (%v), want 1", len(clashes), err)
	}
	_, err = l.TakeAside(left, 12)
	if !errors.Is(err, logbook.ErrNoAside) || !errors.Is(l.LeaveAside(left), logbook.ErrNoAside) {
		t.Errorf("got %v for what is kept no more, want %v", err, logbook.ErrNoAside)
	}
}

// What an owner takes in and is not kept as a clash stays where it is.
func TestAClashThatIsCrowdedOutStaysAside(t *testing.T) {
	l := logtest.Open(t, logbook.NewMemory(), rules, 0x10)
	editor := logtest.ID(60)
	push := func(guard logbook.Guard, edits ...*logbook.Edit) []logbook.Answer {
		t.Helper()
		answers, err := l.PushGuarded(edits, guard, editor, 9)
		if err != nil {
			t.Fatal(err)
		}
		return answers
	}
	push(guarded, fromLine(0x80, 1, "85"))
	push(nil, fromLine(0x80, 1, "50"))
	var many []*logbook.Edit
	for n := range logbook.MostClashes + 1 {
		many = append(many, fromLine(0x80, 1, fmt.Sprint("lens ", n)))
	}
	answers := push(nil, many...)
	first, last := answers[0], answers[logbook.MostClashes]
	if first.Outcome != logbook.AnswerClash || last.Outcome != logbook.AnswerClash ||
		!strings.HasPrefix(last.Reason, first.Reason+". ") {
		t.Errorf("the first is %+v and the last %+v, want two clashes of which the last says that it is not kept", first, last)
	}
	keys := keysOf(t, l)
	answers, err := l.TakeAside(keys, 12)
	if got := outcomes(t, answers, err); got != "clash" || len(keysOf(t, l)) != 1 {
		t.Errorf("taken in, what waited is %s, and %d are left, want a clash and one", got, len(keysOf(t, l)))
	}
}

func hashOf(t *testing.T, e *logbook.Edit) logbook.Hash {
	t.Helper()
	b, err := logbook.EncodeEdit(e)
	if err != nil {
		t.Fatal(err)
	}
	return logbook.HashOf(b)
}

func TestWhatIsTakenInAtAnOwnersWordIsAnEditLikeAnyOther(t *testing.T) {
	store := logbook.NewMemory()
	l := logtest.Open(t, store, rules, 0x10)
	e, refused := fromLine(0x80, 1, "50"), fromLine(0x80, 2, "x")
	refused.Set[0] = logbook.Change{Field: "kelvin", Value: "-3"}
	if _, err := l.PushGuarded([]*logbook.Edit{e, refused}, guarded, logtest.ID(60), 9); err != nil {
		t.Fatal(err)
	}
	answers, err := l.TakeAside(keysOf(t, l), 12)
	if got := outcomes(t, answers, err); got != "taken refused" {
		t.Errorf("got %s, want taken refused", got)
	}
	stored, err := l.Get([]logbook.Dot{e.Dot})
	if err != nil || len(stored) != 1 || stored[0].Via != logtest.ID(60) || stored[0].Received != 12 || stored[0].Hash != hashOf(t, e) {
		t.Errorf("got %+v (%v), want the editor's bytes and device, received when it was taken in", stored, err)
	}
	if l.Waiting() != 0 || len(keysOf(t, l)) != 0 {
		t.Errorf("%d wait, want none", l.Waiting())
	}

	// A process that was killed after the append had it in both places.
	if err := store.SetAside(logtest.Production, []logbook.Aside{{Entry: stored[0].Entry}}); err != nil {
		t.Fatal(err)
	}
	if l = logtest.Open(t, store, rules, 0x20); l.Waiting() != 0 || len(keysOf(t, l)) != 0 {
		t.Errorf("after a start %d wait that are in the log", l.Waiting())
	}
}

func TestOneDeviceCannotFillTheRoomAside(t *testing.T) {
	l := logtest.Open(t, logbook.NewMemory(), rules, 0x10)
	push := func(device int, lens string, from, to uint64) (aside, later int) {
		t.Helper()
		var edits []*logbook.Edit
		for n := from; n <= to; n++ {
			edits = append(edits, fromLine(byte(0x80+device), n, lens))
		}
		answers, err := l.PushGuarded(edits, guarded, logtest.ID(60+device), 9)
		if err != nil {
			t.Fatal(err)
		}
		for _, a := range answers {
			switch {
			case a.Outcome == logbook.AnswerAside:
				aside++
			case a.Outcome == logbook.AnswerLater && a.Reason == logbook.AsideFull:
				later++
			default:
				t.Fatalf("got %+v, want aside or later", a)
			}
		}
		return aside, later
	}
	for from := uint64(1); from <= 1000; from += 250 {
		if aside, later := push(0, "35", from, from+249); aside != 250 || later != 0 {
			t.Fatalf("from %d on: %d are aside and %d later, want 250 and 0", from, aside, later)
		}
	}
	if aside, later := push(0, "35", 999, 1002); aside != 2 || later != 2 {
		t.Errorf("%d are aside and %d later, want 2 that were there and 2 too many", aside, later)
	}
	large := strings.Repeat("x", 60_000)
	if aside, later := push(1, large, 1, 20); aside != 17 || later != 3 {
		t.Errorf("of 20 edits of 60 kB %d are aside and %d later, want 17 and 3", aside, later)
	}
	if aside, later := push(2, "35", 1, 1); aside != 1 || later != 0 {
		t.Errorf("another device has no room: %d aside, %d later", aside, later)
	}
}

func TestKeysOfEditsKeptAside(t *testing.T) {
	k := logbook.AsideKey{Dot: logbook.Dot{Line: logtest.Line(5), N: 12}, Hash: logbook.Hash{1, 2, 0xff}}
	if got, err := logbook.ParseAsideKey(k.String()); err != nil || got != k {
		t.Errorf("%s: got %v (%v)", k, got, err)
	}
	text := k.String()
	for _, bad := range []string{"", ".", "..", "x", text[1:], text[:len(text)-1], text + "0", text + ".", strings.ToUpper(text),
		k.Dot.String(), fmt.Sprint(k.Dot, ".", strings.Repeat("0", 64)), "." + text} {
		if got, err := logbook.ParseAsideKey(bad); !errors.Is(err, logbook.ErrRequest) {
			t.Errorf("%q is read as %v (%v)", bad, got, err)
		}
	}
}
