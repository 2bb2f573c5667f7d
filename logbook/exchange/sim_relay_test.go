package exchange_test

import (
	"errors"
	"fmt"

	"evenwhite/logbook"
	"evenwhite/logbook/exchange"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/logtest"
)

// server0Device is the device that server 0 is at another; the next server has the next id.
const server0Device = 3000

// linkGuard stands at the door where one server brings edits to another: a link from an even
// server is an owner's, others are editors'.
func linkGuard(from int) logbook.Guard {
	if from%2 == 0 {
		return nil
	}
	return func(e *logbook.Edit) bool { return e.Kind == kinds.Reading }
}

// link is the relay by which one server asks another, as the last start made it.
func (s *sim) link(from, to int) *exchange.Relay {
	srv := s.servers[from]
	if r, ok := srv.links[to]; ok {
		return r
	}
	r := exchange.NewRelay(srv.log, false)
	if text, ok := srv.told[to]; ok {
		if err := r.Recall(text); err != nil {
			panic(err)
		}
	}
	srv.links[to] = r
	return r
}

// A linking is how one exchange of two servers goes.
type linking struct {
	lost bool // the answer
	full bool // the disk of who asks
	kept bool // what is known of the other is stored behind it
}

func (s *sim) linkOnce(d *dice) string {
	return s.linked(linking{lost: d.pick(6) == 5, full: d.pick(6) == 5, kept: d.pick(2) == 0})
}

// linked lets the step's server ask the one behind it.
func (s *sim) linked(how linking) string {
	if len(s.servers) < 2 {
		return ""
	}
	from := s.server()
	to := (from + 1) % len(s.servers)
	if s.at.Phone%2 == 1 {
		to = (from + len(s.servers) - 1) % len(s.servers)
	}
	words, _ := s.relay(from, to, how)
	return fmt.Sprintf("server %d asks server %d: %s", from, to, words)
}

func (s *sim) relay(from, to int, how linking) (words string, more bool) {
	r, asks, asked := s.link(from, to), s.servers[from], s.servers[to]
	q, err := r.Request()
	if err != nil {
		panic(err)
	}
	via := logtest.ID(server0Device + from)
	a, err := s.overRows(r, asked, &q, via, linkGuard(from))
	if err != nil {
		panic(err)
	}
	s.answered(asked, q, *a)
	words = fmt.Sprintf("brings %d, gets %d", len(q.Edits), len(a.Edits))
	if how.lost {
		return words + ", which is lost", true
	}
	if how.full {
		asks.store.fails = logbook.ErrFull
	}
	round, err := r.Take(a, exchange.Bringer{Via: via, Guard: linkGuard(from + 1)}, s.clock)
	asks.store.fails = nil
	switch {
	case errors.Is(err, exchange.ErrNoRoom) && how.full:
		return words + ", with a full disk", true
	case err != nil:
		panic(err)
	}
	s.landed(asks, a.Edits)
	if how.kept {
		asks.told[to] = r.Knowledge()
	}
	return words, round.More
}

// overRows sends a request and its answer in rows.
func (s *sim) overRows(
	r *exchange.Relay, asked *simServer, q *exchange.Request, via logbook.ID, guard logbook.Guard,
) (*exchange.Answer, error) {
	for spelled := false; ; spelled = true {
		text, err := r.Rows(q, spelled)
		if err != nil {
			return nil, err
		}
		read, err := exchange.ReadRequestRows(text, logtest.Production, asked.log.Records)
		if errors.Is(err, exchange.ErrRecords) && !spelled {
			s.counts[recordWanted]++
			continue
		}
		if err != nil {
			return nil, err
		}
		read.Guard = guard
		a, passages, err := asked.log.ExchangeRows(read, via, s.clock)
		if err != nil {
			return nil, err
		}
		a, err = exchange.ReadAnswerRows(joined(a, passages), logtest.Production, r.Records)
		if !errors.Is(err, exchange.ErrRecords) || q.Whole {
			return &a, err
		}
		s.counts[recordWanted]++
		q.Whole = true
	}
}

// landed notes what a server took in that asked for it.
func (s *sim) landed(srv *simServer, edits []*logbook.Edit) {
	waits := map[logbook.AsideKey]bool{}
	for _, row := range asidesOf(srv) {
		waits[row.Key()] = true
	}
	for _, e := range edits {
		b, err := logbook.EncodeEdit(e)
		if err != nil {
			panic(err)
		}
		held, err := srv.store.Get(logtest.Production, []logbook.Dot{e.Dot})
		if err != nil {
			panic(err)
		}
		switch {
		case waits[logbook.AsideKey{Dot: e.Dot, Hash: logbook.HashOf(b)}]:
			s.waiting(srv, e)
		case len(held) == 0:
			s.notice(fmt.Errorf("%s came from another server, and is neither held nor kept for an owner", e.Dot))
		case string(held[0].Bytes) == string(b):
			srv.must[e.Dot] = true
		default:
			srv.must[e.Dot] = true
			srv.aside[string(b)] = true
			s.counts[clashKeptAside]++
		}
	}
}

// linkAll lets all servers ask each other until there is no more.
func (s *sim) linkAll() error {
	for from := range s.servers {
		for to := range s.servers {
			if from == to {
				continue
			}
			for n, more := 0, true; more; n++ {
				if _, more = s.relay(from, to, linking{kept: true}); n > 500 {
					return errors.New("an exchange of servers does not end")
				}
			}
			if n := s.link(from, to).Waiting(); n != 0 {
				return fmt.Errorf("%d edits of server %d are said to wait for server %d, and nothing is left to exchange", n, from, to)
			}
		}
	}
	return nil
}

func (s *sim) thirdServer(*dice) string {
	if len(s.servers) != 2 {
		return ""
	}
	s.servers = append(s.servers, s.openServer(logbook.NewMemory(), 2, false))
	return "there is a third server"
}
