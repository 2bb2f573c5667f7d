package exchange_test

import (
	"bytes"
	"errors"
	"fmt"

	"evenwhite/logbook"
	"evenwhite/logbook/exchange"
	"evenwhite/logbook/logtest"
)

// An exchanging is how one exchange goes.
type exchanging struct {
	half    int   // 1: push the first half, 2: the second
	order   *dice // nil: by dot
	limit   int   // bytes of an answer; 0: as many as there are
	twice   bool
	lost    bool
	cut     bool
	cutDice *dice
}

// phoneTo runs one exchange of the step's phone with the step's server.
func (s *sim) phoneTo(how exchanging) (words string, more bool) {
	p, i := s.phone(), s.server()
	if p == nil {
		return "", false
	}
	words, more = s.exchange(p, i, how)
	return fmt.Sprintf("phone %d with server %d: %s", s.at.Phone%len(s.phones), i, words), more
}

func (s *sim) exchangeOnce(*dice) string { return first(s.phoneTo(exchanging{})) }

func first(words string, _ bool) string { return words }

func (s *sim) exchangeAll(*dice) string {
	words, more := s.phoneTo(exchanging{})
	for n := 0; more && words != ""; n++ {
		if n > 500 {
			panic("an exchange does not end")
		}
		_, more = s.phoneTo(exchanging{})
	}
	return words + ", until there is no more"
}

func (s *sim) pushHalf(d *dice) string {
	return first(s.phoneTo(exchanging{half: 1 + d.pick(2)}))
}

func (s *sim) pullHalf(d *dice) string {
	return first(s.phoneTo(exchanging{limit: 1 + d.pick(600)}))
}

func (s *sim) pushShuffled(d *dice) string { return first(s.phoneTo(exchanging{order: d})) }
func (s *sim) sendTwice(*dice) string      { return first(s.phoneTo(exchanging{twice: true})) }
func (s *sim) loseAnswer(*dice) string     { return first(s.phoneTo(exchanging{lost: true})) }

func (s *sim) cutAnswer(d *dice) string {
	return first(s.phoneTo(exchanging{cut: true, cutDice: d}))
}

// exchange is one request and its answer, and whether there is more.
func (s *sim) exchange(p *simPhone, i int, how exchanging) (words string, more bool) {
	srv := s.servers[i]
	req := p.asks(i)
	req.Limit, req.Guard = how.limit, p.guard()
	switch half := len(req.Edits) / 2; how.half {
	case 1:
		req.Edits = req.Edits[:half]
	case 2:
		req.Edits = req.Edits[half:]
	}
	if how.order != nil {
		how.order.shuffle(len(req.Edits), func(a, b int) { req.Edits[a], req.Edits[b] = req.Edits[b], req.Edits[a] })
	}
	meet := srv.log.Exchange
	if s.calls++; s.calls%2 == 0 {
		meet = inRows(srv.log, p.r, p.met[i], func() { s.counts[recordWanted]++ })
	}
	a, err := meet(req, p.device(), s.clock)
	if errors.Is(err, errKilled) {
		return fmt.Sprintf("%d edits, killed before the commit", len(req.Edits)), true
	}
	if err == nil && how.twice {
		a, err = meet(req, p.device(), s.clock)
	}
	if err != nil {
		panic(err)
	}
	s.answered(srv, req, a)
	words = fmt.Sprintf("brings %d, gets %d", len(req.Edits), len(a.Edits))
	if a.Reset {
		s.counts[foundReset]++
		words += ", reset"
		if !req.Parts {
			s.counts[olderProgram]++
		}
	}
	if a.ListTo != (logbook.Dot{}) {
		s.counts[listInParts]++
		words += ", a part of the list"
	}
	if len(req.Want) > 0 {
		s.counts[editsWanted]++
	}
	switch {
	case how.lost:
		return words + ", which is lost", true
	case how.cut:
		n := how.cutDice.pick(len(a.Edits) + 1)
		for _, e := range a.Edits[:n] {
			s.hand(p, e)
		}
		return fmt.Sprintf("%s, cut off after %d", words, n), true
	}
	p.met[i], more = p.r.Take(a)
	p.tells[i] = a.Reset || p.tells[i] && a.More
	p.off = -p.ahead
	for _, e := range a.Edits {
		p.must[e.Dot] = true
	}
	for _, answer := range a.Answers {
		if answer.Outcome == logbook.AnswerClash && p.r.Running().Line == answer.Dot.Line {
			s.notice(fmt.Errorf("the phone goes on in line %s, in which %s clashed", answer.Dot.Line, answer.Dot))
		}
	}
	return words, more
}

// asks is what a phone says to a server. Every fourth phone runs an older program: it takes no
// parts, and says what it holds from a reset until nothing more comes.
func (p *simPhone) asks(i int) exchange.Request {
	req := p.r.Request(p.met[i])
	if p.name%4 != 0 {
		return req
	}
	req.Parts, req.ListBehind, req.Want = false, logbook.Dot{}, nil
	if p.tells[i] {
		req.Have = p.r.Book().Holds()
	}
	return req
}

// answered notes what a server said that it holds.
func (s *sim) answered(srv *simServer, req exchange.Request, a exchange.Answer) {
	for n, answer := range a.Answers {
		switch answer.Outcome {
		case logbook.AnswerLater:
		case logbook.AnswerAside:
			s.waiting(srv, req.Edits[n])
		default:
			srv.must[answer.Dot] = true
		}
		if answer.Outcome == logbook.AnswerClash {
			b, _ := logbook.EncodeEdit(req.Edits[n])
			srv.aside[string(b)] = true
			s.counts[clashKeptAside]++
		}
	}
}

// waiting notes that a server keeps an edit for an owner.
func (s *sim) waiting(srv *simServer, e *logbook.Edit) {
	b, _ := logbook.EncodeEdit(e)
	srv.waits[string(b)] = true
	s.counts[keptForOwner]++
}

// hand gives a phone an edit outside of a whole answer.
func (s *sim) hand(p *simPhone, e *logbook.Edit) {
	p.r.Hold(e)
	p.must[e.Dot] = true
}

// some are some of what a phone holds, in some order.
func some(p *simPhone, d *dice) (edits []*logbook.Edit) {
	all := held(p.r.AllEdits())
	keep := 1 + d.pick(3) // 1: all
	for i, e := range all {
		if i%keep == 0 {
			edits = append(edits, e)
		}
	}
	d.shuffle(len(edits), func(i, j int) { edits[i], edits[j] = edits[j], edits[i] })
	return edits
}

// bundleToPhone carries some of what a phone holds to the one after it as a file,
// which may be cut off.
func (s *sim) bundleToPhone(d *dice) string {
	from := s.phone()
	if from == nil || len(s.phones) < 2 {
		return ""
	}
	to := s.phones[(s.at.Phone+1)%len(s.phones)]
	cut := d.pick(4) == 3
	edits := some(from, d)
	file, whole := bundled(edits, cut)
	n := 0
	err := exchange.ReadBundle(file, logtest.Production, func(e *logbook.Edit) error { n++; s.hand(to, e); return nil })
	if cut && !errors.Is(err, logbook.ErrDamaged) || !cut && (err != nil || n != len(edits)) {
		panic(fmt.Sprintf("%d of %d edits of a bundle came over: %v", n, len(edits), err))
	}
	return fmt.Sprintf("phone %d hands %d of %d edits%s to the next", s.at.Phone%len(s.phones), n, from.r.CountEdits(), whole)
}

// bundled writes a bundle and, where it is to be cut, loses its second half.
func bundled(edits []*logbook.Edit, cut bool) (file *bytes.Buffer, words string) {
	file = &bytes.Buffer{}
	if err := exchange.WriteBundle(file, logtest.Production, edits); err != nil {
		panic(err)
	}
	if cut {
		const head = len("evenwhite bundle 1\n") + len(logbook.ID{})
		file.Truncate(head + (file.Len()-head)/2)
		words = ", cut off,"
	}
	return file, words
}

func (s *sim) bundleToServer(d *dice) string {
	p, srv := s.phone(), s.servers[s.server()]
	if p == nil {
		return ""
	}
	cut := d.pick(4) == 3
	edits := some(p, d)
	file, whole := bundled(edits, cut)
	before, err := srv.log.Ranges()
	if err != nil {
		panic(err)
	}
	tally, err := srv.log.TakeBundle(file, exchange.Bringer{Via: p.device(), Guard: p.guard()}, s.clock)
	if err != nil && !(cut && errors.Is(err, logbook.ErrDamaged)) {
		panic(err)
	}
	for _, e := range edits[:tally.Taken+tally.Repeat+tally.Refused+tally.Clash+tally.Aside] {
		if before.Has(e.Dot) || p.guard() == nil || !p.guard()(e) {
			srv.must[e.Dot] = true
		} else {
			s.waiting(srv, e)
		}
	}
	return fmt.Sprintf("phone %d carries %d edits%s to server %d: %s", s.at.Phone%len(s.phones), len(edits), whole, s.server(), tally)
}

func (s *sim) bundleFromServer(*dice) string {
	p := s.phone()
	if p == nil {
		return ""
	}
	stretch, err := s.servers[s.server()].log.Since("")
	if err != nil {
		panic(err)
	}
	var file bytes.Buffer
	n, err := stretch.WriteBundle(&file)
	if err != nil {
		panic(err)
	}
	if err := exchange.ReadBundle(&file, logtest.Production, func(e *logbook.Edit) error { s.hand(p, e); return nil }); err != nil {
		panic(err)
	}
	return fmt.Sprintf("server %d hands %d edits to phone %d", s.server(), n, s.at.Phone%len(s.phones))
}
