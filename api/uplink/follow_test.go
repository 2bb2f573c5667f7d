package uplink

import (
	"log/slog"
	"testing"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/exchange"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/logtest"
)

// TestALinkThatFailsGoesOnBeforeItsTime has a production wait after a failure, for so long that only another
// reason can end it.
func TestALinkThatFailsGoesOnBeforeItsTime(t *testing.T) {
	production := logbook.ID{1, 6: 0x70, 8: 0x80}
	log, err := logbook.OpenLog(logbook.NewMemory(), production, kinds.Rules, logtest.Lines(1))
	if err != nil {
		t.Fatal(err)
	}
	peer := exchange.NewPeer(log)
	l := &linked{again: make(chan struct{}, 1), follows: map[logbook.ID]*following{}}
	f := &following{link: &l.Link, peer: peer, relay: exchange.NewRelay(peer, false), wake: make(chan struct{}, 1),
		again: make(chan struct{}, 1),
		back:  l.retry, log: slog.New(slog.DiscardHandler), now: time.Now}
	l.follows[production] = f
	for reason, give := range map[string]func(){
		"an edit here": func() {
			_, err := log.Change(logbook.Writer{Device: logbook.ID{3, 14: 7}, By: "DIT", Now: 1.9e12}, func(*logbook.Book) ([]logbook.Draft, error) {
				return []logbook.Draft{{Kind: kinds.Clip, Record: logbook.ID{2, 6: 0x70, 8: 0x80},
					Set: []logbook.Change{{Field: "lens", Value: logbook.TextValue("50 mm")}}}}, nil
			})
			if err != nil {
				t.Error(err)
			}
		},
		"another production of the link is exchanged": func() {
			other := &following{link: &l.Link, peer: peer, relay: f.relay, back: l.retry, log: f.log, now: time.Now}
			other.state.Trouble = "it was away"
			other.tell(nil)
		},
		"another network": func() { (&Uplinks{links: map[logbook.ID]*linked{{1}: l}}).Retry() },
	} {
		f.tell(ErrOther)
		changed := peer.Changed()
		rouse(f.wake) // an event of the other is no reason
		done := make(chan bool)
		go func() { done <- f.rest(t.Context(), time.Hour, changed, true) }()
		select {
		case <-done:
			t.Fatalf("before %s it went on", reason)
		default:
		}
		give()
		select {
		case goesOn := <-done:
			if !goesOn {
				t.Errorf("%s ended it", reason)
			}
		case <-time.After(time.Minute): // which only a fault takes
			t.Fatalf("%s is no reason to go on", reason)
		}
	}
	b := backOff{usual: time.Minute}
	for range 20 {
		if pause := b.after(ErrOther); pause > longestPause*9/8 {
			t.Errorf("it is asked again after %s", pause)
		}
	}
}
