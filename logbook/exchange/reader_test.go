package exchange_test

import (
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/exchange"
	"evenwhite/logbook/logtest"
)

func TestAnExchangeIsAnsweredWhileTheBookIsRead(t *testing.T) {
	l := openPeer(t, logbook.NewMemory(), 1)
	answer := func(n uint64, exchange func(exchange.Request) (exchange.Answer, error), r exchange.Request) {
		t.Helper()
		r.Edits = []*logbook.Edit{logtest.ClipEdit(0, n, "kelvin", "3200")}
		a, err := exchange(r)
		if err != nil || len(a.Answers) != 1 || a.Answers[0].Outcome != logbook.AnswerTaken || a.More {
			t.Errorf("got %v (%v), want the edit taken and nothing more to come", a, err)
		}
	}
	l.Read(func(*logbook.Book) {
		answer(1, func(r exchange.Request) (exchange.Answer, error) { return l.Exchange(r, logtest.ID(60), 1) }, exchange.Request{})
		answer(2, func(r exchange.Request) (exchange.Answer, error) {
			a, _, err := l.ExchangeRows(r, logtest.ID(60), 1)
			return a, err
		}, exchange.Request{})
		place, err := l.Place()
		if head, _ := l.Head(); err != nil || head.Seq != 2 {
			t.Fatal(err)
		}
		if a, err := l.Exchange(exchange.Request{Cursor: place}, logtest.ID(61), 1); err != nil || len(a.Edits) > 0 || a.Cursor != place {
			t.Errorf("got %v (%v), want the place to be the end of the log", a, err)
		}
	})
}
