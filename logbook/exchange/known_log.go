package exchange

import (
	"sort"

	"evenwhite/logbook"
)

// knownLog is what one who asks knows of one log: a device, or a server that is a device of
// another. Its methods are handed the book of whoever asks.
type knownLog struct {
	run      logbook.Line
	cursor   string
	holds    *logbook.Held  // as listed in this run, and pushed or pulled since
	listed   logbook.Dot    // up to where the list of this run was told; zero: all of it
	catching bool           // after a reset: ask for what the list tells and is not here
	asked    logbook.Ranges // what was asked for last
	// contested are dots under which the log gave another edit than the one held
	// here: the one here is offered once, so that the log keeps it aside.
	contested map[logbook.Dot]bool
	// aside are dots that the log keeps outside in this run, until an owner takes them
	// in: they are held here, and not offered again.
	aside map[logbook.Dot]bool
}

func newKnownLog() *knownLog {
	return &knownLog{holds: &logbook.Held{}, contested: map[logbook.Dot]bool{}, aside: map[logbook.Dot]bool{}}
}

// request says what to send to the log, but for the edits.
func (k *knownLog) request(b *logbook.Book) Request {
	req := Request{Run: k.run, Cursor: k.cursor, Parts: true, ListBehind: k.listed}
	if k.catching {
		req.Want = k.wants(b, mostWanted)
	}
	k.asked = req.Want
	return req
}

// wants lists the first edits that a log is known to hold and that are not here.
func (k *knownLog) wants(b *logbook.Book, most uint64) logbook.Ranges {
	var want logbook.Ranges
	for line, s := range b.Holding().Lacks(k.holds, logbook.Dot{}) {
		if most == 0 {
			break
		}
		s.To = min(s.To, s.From+most-1)
		if want == nil {
			want = logbook.Ranges{}
		}
		want[line] = append(want[line], s)
		most -= s.To - s.From + 1
	}
	return want
}

// lacks lists the first dots of edits that a log is to be offered, in order: of what its list was not
// told about yet, none.
func (k *knownLog) lacks(b *logbook.Book, most int) (dots []logbook.Dot) {
	for line, s := range k.holds.Lacks(b.Holding(), logbook.Dot{}) {
		if !k.tells(logbook.Dot{Line: line, N: s.From}) || len(dots) >= most {
			break
		}
		for n := s.From; n <= s.To && len(dots) < most; n++ {
			if d := (logbook.Dot{Line: line, N: n}); k.tells(d) && !k.aside[d] {
				dots = append(dots, d)
			}
		}
	}
	for dot := range k.contested {
		if k.holds.Has(dot) || k.aside[dot] {
			dots = append(dots, dot)
		}
	}
	sort.Slice(dots, func(i, j int) bool { return dots[i].Less(dots[j]) })
	return dots
}

// tells reports whether a dot is in the part of the list that was told.
func (k *knownLog) tells(d logbook.Dot) bool { return k.listed == (logbook.Dot{}) || !k.listed.Less(d) }

// list takes in a list or the next part of it.
func (k *knownLog) list(a *Answer) {
	switch {
	case a.List == nil:
		return
	case a.ListBehind == (logbook.Dot{}):
		k.run, k.holds, k.asked = a.Run, logbook.HeldOf(a.List), nil
		clear(k.aside)
	case a.Run != k.run || a.ListBehind != k.listed:
		return // of another list
	default:
		for line, spans := range a.List {
			for _, s := range spans {
				k.holds.AddSpan(line, s)
			}
		}
	}
	k.listed = a.ListTo
}

// shared returns what a request may leave out: the records of edits that are held here and,
// as far as is known, there.
func (k *knownLog) shared(b *logbook.Book) func(logbook.Dot) (logbook.RecordRef, bool) {
	return func(d logbook.Dot) (logbook.RecordRef, bool) {
		if !k.holds.Has(d) {
			return logbook.RecordRef{}, false
		}
		return b.RecordAt(d)
	}
}

// pushBytes bounds the canonical bytes in one exchange, so that they fit a body of
// 1 MiB also where they are written for people.
const pushBytes = 128 << 10

// pushable counts how many edits fit one exchange: at least one.
func pushable(edits []*logbook.Edit) int {
	size := 0
	for i, e := range edits {
		b, _ := logbook.EncodeEdit(e) // what cannot be written is refused by whoever is offered it
		if size += len(b); i == MaxPush || i > 0 && size > pushBytes {
			return i
		}
	}
	return len(edits)
}

// answered takes in what became of the edits that were brought, and returns those under whose
// dots the log holds others.
func (k *knownLog) answered(answers []logbook.Answer) (clashes []logbook.Dot) {
	for _, answer := range answers {
		if answer.Outcome == logbook.AnswerLater {
			continue
		}
		delete(k.contested, answer.Dot)
		if answer.Outcome == logbook.AnswerAside {
			k.aside[answer.Dot] = true
			continue
		}
		k.holds.Add(answer.Dot) // at a clash: another edit
		if answer.Outcome == logbook.AnswerClash {
			clashes = append(clashes, answer.Dot)
		}
	}
	return clashes
}

// moved goes on to the place of an answer, and reports whether there is more to be had.
func (k *knownLog) moved(b *logbook.Book, a *Answer) (more bool) {
	k.cursor = a.Cursor
	catching := a.Reset || k.catching
	k.catching = catching && (k.listed != (logbook.Dot{}) || k.wants(b, 1) != nil)
	return a.More || catching || k.listed != (logbook.Dot{})
}

// giveUp takes out of what a log is known to hold the edits that were asked for and passed
// over: their rows were damaged since the list was made. Else they were asked for without end.
func (k *knownLog) giveUp(b *logbook.Book, a *Answer) {
	if k.asked == nil {
		return
	}
	asked := logbook.HeldOf(k.asked)
	k.asked = nil
	var last logbook.Dot
	for _, e := range a.Edits {
		if asked.Has(e.Dot) && last.Less(e.Dot) {
			last = e.Dot
		}
	}
	lost := &logbook.Held{}
	for line, s := range b.Holding().Lacks(asked, logbook.Dot{}) {
		if last != (logbook.Dot{}) && last.Less(logbook.Dot{Line: line, N: s.From}) {
			break // the log has not come to it
		}
		lost.AddSpan(line, s)
	}
	k.holds = k.holds.Without(lost)
}

// sameEdit compares edits by their bytes. One that has none is like no other.
func sameEdit(a, b *logbook.Edit) bool {
	x, errX := logbook.EncodeEdit(a)
	y, errY := logbook.EncodeEdit(b)
	return errX == nil && errY == nil && string(x) == string(y)
}
