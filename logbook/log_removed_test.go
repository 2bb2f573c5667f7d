package logbook_test

import (
	"errors"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/logtest"
)

func TestALogThatIsRemovedTakesNothingAndWakesWhoWaits(t *testing.T) {
	store := logbook.NewMemory()
	l := logtest.Open(t, store, rules, 0x10)
	via := logtest.ID(60)
	aside := fromLine(0x80, 1, "50")
	if _, err := l.PushGuarded([]*logbook.Edit{fromLine(0x01, 1, "35"), aside}, guarded, via, 9); err != nil {
		t.Fatal(err)
	}
	waiting := keysOf(t, l)
	head, err := l.Head()
	if err != nil {
		t.Fatal(err)
	}
	woken := l.Changed()
	if err := l.Remove(head, func() error { return nil }, []byte("a mark")); err != nil {
		t.Fatal(err)
	}
	select {
	case <-woken:
	default:
		t.Error("nobody was woken")
	}
	push := func(edit *logbook.Edit) error {
		_, err := l.PushGuarded([]*logbook.Edit{edit}, guarded, via, 9)
		return err
	}
	change := func() error {
		_, err := l.Change(logbook.Writer{Device: via, By: "DIT", Now: 9, Via: via}, func(*logbook.Book) ([]logbook.Draft, error) {
			t.Error("somebody was asked for a draft")
			return nil, nil
		})
		return err
	}
	take := func() error { _, err := l.TakeAside(waiting, 9); return err }
	for name, err := range map[string]error{
		"an edit": push(fromLine(0x01, 2, "50")), "an edit that it held": push(fromLine(0x01, 1, "35")), "an edit to keep aside": push(aside),
		"a change": change(), "an answer that takes": take(), "an answer that leaves": l.LeaveAside(waiting),
		"a removal": l.Remove(head, func() error { return nil }, nil),
	} {
		if !errors.Is(err, logbook.ErrRemoved) {
			t.Errorf("%s: got %v, want %v", name, err, logbook.ErrRemoved)
		}
	}
	if _, err := logbook.OpenLog(store, logtest.Production, rules, logtest.Lines(0x20)); !errors.Is(err, logbook.ErrRemoved) {
		t.Errorf("opened again: got %v, want %v", err, logbook.ErrRemoved)
	}
}

func TestALogStaysWhereItIsNotAsItWasSeen(t *testing.T) {
	store := logbook.NewMemory()
	l := logtest.Open(t, store, rules, 0x10)
	head, err := l.Head()
	if err != nil {
		t.Fatal(err)
	}
	other := errors.New("somebody kept an edit aside")
	if err := l.Remove(head, func() error { return other }, nil); err != other {
		t.Errorf("got %v, want %v", err, other)
	}
	if _, err := l.Push([]*logbook.Edit{fromLine(0x01, 1, "35")}, logtest.ID(60), 9); err != nil {
		t.Fatal(err)
	}
	if err := l.Remove(head, func() error { return nil }, nil); !errors.Is(err, logbook.ErrWentOn) {
		t.Errorf("got %v, want %v", err, logbook.ErrWentOn)
	}
	if head, err = l.Head(); err != nil || head.Seq != 1 {
		t.Errorf("the log ends at %+v (%v), want its edit", head, err)
	}
	if _, err := l.Push([]*logbook.Edit{fromLine(0x01, 2, "50")}, logtest.ID(60), 9); err != nil {
		t.Errorf("it takes nothing more: %v", err)
	}
}
