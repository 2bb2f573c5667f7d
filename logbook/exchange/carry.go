package exchange

import (
	"fmt"
	"io"
	"iter"

	"evenwhite/logbook"
)

// A Stretch is the part of a log from a place to where the log ended when it was
// asked for.
type Stretch struct {
	peer *Peer
	from logbook.Seq
	end  cursor
}

// Since returns what came after a place: the cursor of an exchange, the end of
// another stretch, or "" for everything. A place that leads nowhere in this log
// is refused with ErrRequest.
func (p *Peer) Since(place string) (Stretch, error) {
	from, reset, err := p.place(place, false)
	if err != nil {
		return Stretch{}, err
	}
	if reset {
		return Stretch{}, fmt.Errorf("%w: the place %s leads nowhere in this log, which is another one or "+
			"was restored since; without it everything is given", logbook.ErrRequest, logbook.Shorten(place))
	}
	head, err := p.Head()
	return Stretch{p, from.seq, cursor{head.Identity, head.Seq, head.Chain}}, err
}

// End is the place where the stretch ends.
func (s Stretch) End() string { return s.end.String() }

// WriteBundle writes the stretch as a bundle and returns how it ends.
// It reads page by page: a slow receiver keeps nothing open in the store.
func (s Stretch) WriteBundle(to io.Writer) (BundleEnd, error) {
	w := beginBundle(to, s.peer.Production())
	for stored, err := range s.edits() {
		if err != nil {
			return BundleEnd{}, err
		}
		if err := w.add(stored.Bytes, stored.Hash); err != nil {
			return BundleEnd{}, err
		}
	}
	return w.end()
}

// Head is the head at which the stretch ends.
func (s Stretch) Head() logbook.Head {
	return logbook.Head{Identity: s.end.identity, Seq: s.end.seq, Chain: s.end.chain}
}

// edits walks the stretch.
func (s Stretch) edits() iter.Seq2[*logbook.Stored, error] {
	return func(yield func(*logbook.Stored, error) bool) {
		at := s.from
		left := func() int {
			if at >= s.end.seq {
				return 0
			}
			return logbook.PageBytes
		}
		for stored, err := range s.peer.stored(at, left) {
			if err == nil {
				at = stored.Seq
			}
			if at > s.end.seq || !yield(stored, err) {
				return
			}
		}
	}
}

// A Tally counts what became of the edits of a bundle. Later are those for which there
// was no room aside: nothing of them is kept.
type Tally struct{ Taken, Repeat, Refused, Clash, Aside, Later int }

func (t Tally) String() string {
	text := fmt.Sprintf("taken %d, repeat %d, refused %d, clash %d", t.Taken, t.Repeat, t.Refused, t.Clash)
	if t.Aside > 0 {
		text += fmt.Sprintf(", aside %d", t.Aside)
	}
	if t.Later > 0 {
		text += fmt.Sprintf(", later %d", t.Later)
	}
	return text
}

// takenAtOnce is how many edits of a bundle are committed together.
const takenAtOnce = 100

// A Bringer is who brings a bundle: the device, and what it may not put into the log.
type Bringer struct {
	Via   logbook.ID
	Guard logbook.Guard
}

// TakeBundle takes the edits of a bundle in, as brought by a device, and counts
// them. Where it ends with an error, everything before the place that the error
// names is taken, and counted.
func (p *Peer) TakeBundle(from io.Reader, who Bringer, now logbook.Millis) (Tally, error) {
	var total Tally
	var batch []*logbook.Edit
	push := func() error {
		answers, err := p.PushGuarded(batch, who.Guard, who.Via, now)
		batch = batch[:0]
		if err != nil {
			return err
		}
		for _, a := range answers {
			switch a.Outcome {
			case logbook.AnswerTaken:
				total.Taken++
			case logbook.AnswerRepeat:
				total.Repeat++
			case logbook.AnswerRefused:
				total.Refused++
			case logbook.AnswerClash:
				total.Clash++
			case logbook.AnswerAside:
				total.Aside++
			case logbook.AnswerLater:
				if a.Reason != logbook.AsideFull {
					return logbook.ErrFull
				}
				total.Later++
			}
		}
		return nil
	}
	err := ReadBundle(from, p.Production(), func(e *logbook.Edit) error {
		if batch = append(batch, e); len(batch) < takenAtOnce {
			return nil
		}
		return push()
	})
	if len(batch) == 0 {
		return total, err
	}
	if failed := push(); failed != nil {
		return total, failed
	}
	return total, err
}
