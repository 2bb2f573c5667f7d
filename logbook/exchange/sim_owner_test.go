package exchange_test

import (
	"errors"
	"fmt"

	"evenwhite/logbook"
	"evenwhite/logbook/logtest"
)

func asidesOf(srv *simServer) []logbook.Aside {
	rows, err := srv.log.Asides()
	if err != nil {
		panic(err)
	}
	return rows
}

// answerSome answers some of what a server keeps for an owner.
func (s *sim) answerSome(what string, d *dice, do func(srv *simServer, keys []logbook.AsideKey)) string {
	i := s.server()
	var keys []logbook.AsideKey
	every := 1 + d.pick(2) // 1: all
	for n, row := range asidesOf(s.servers[i]) {
		if n%every == 0 {
			keys = append(keys, row.Key())
		}
	}
	if len(keys) == 0 {
		return ""
	}
	do(s.servers[i], keys)
	return fmt.Sprintf("server %d: the owner %s %d edits", i, what, len(keys))
}

func (s *sim) ownerTakesIn(d *dice) string { return s.answerSome("takes in", d, s.takeIn) }

// ownerLeaves is no end: an owner may change their mind.
func (s *sim) ownerLeaves(d *dice) string {
	return s.answerSome("leaves", d, func(srv *simServer, keys []logbook.AsideKey) {
		if err := srv.log.LeaveAside(keys); err != nil {
			panic(err)
		}
	})
}

func (s *sim) takeIn(srv *simServer, keys []logbook.AsideKey) {
	rows := map[logbook.AsideKey]logbook.Aside{}
	for _, row := range asidesOf(srv) {
		rows[row.Key()] = row
	}
	answers, err := srv.log.TakeAside(keys, s.clock)
	if err != nil {
		panic(err)
	}
	for n, answer := range answers {
		if answer.Outcome == logbook.AnswerLater || answer.Outcome == logbook.AnswerAside {
			panic("an owner's yes is answered " + answer.Outcome)
		}
		srv.must[answer.Dot] = true
		bytes := string(rows[keys[n]].Bytes)
		delete(srv.waits, bytes)
		if answer.Outcome == logbook.AnswerClash {
			srv.aside[bytes] = true
			s.counts[clashKeptAside]++
		}
	}
}

// ownerTakesAll is the one word for which a refill by other phones waits.
func (s *sim) ownerTakesAll() (moved bool) {
	for _, srv := range s.servers {
		var keys []logbook.AsideKey
		for _, row := range asidesOf(srv) {
			keys = append(keys, row.Key())
		}
		if len(keys) > 0 {
			moved = true
			s.takeIn(srv, keys)
		}
	}
	return moved
}

// keeps is an error unless a server keeps every edit that it said waits for an owner,
// beside its log or in it.
func (srv *simServer) keeps() error {
	kept := map[string]bool{}
	for _, row := range asidesOf(srv) {
		kept[string(row.Bytes)] = true
		if held, err := srv.log.Get([]logbook.Dot{row.Dot}); err != nil || len(held) == 1 && held[0].Hash == row.Hash {
			return fmt.Errorf("%s is in the log and kept aside (%v)", row.Dot, err)
		}
	}
	for bytes := range srv.waits {
		if kept[bytes] {
			continue
		}
		dot, err := logbook.DotOf([]byte(bytes))
		if err != nil {
			return err
		}
		held, err := srv.store.Get(logtest.Production, []logbook.Dot{dot})
		if err != nil {
			return err
		}
		if len(held) != 1 || string(held[0].Bytes) != bytes {
			return errors.New("an edit that it said waits for an owner is gone")
		}
	}
	return nil
}
