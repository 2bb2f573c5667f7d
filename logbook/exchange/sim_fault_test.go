package exchange_test

import (
	"fmt"
	"maps"
	"slices"

	"evenwhite/logbook"
	"evenwhite/logbook/logtest"
)

// phoneFault lets something happen to the step's phone, if there is one.
func (s *sim) phoneFault(what string, f func(p *simPhone) bool) string {
	p := s.phone()
	n := len(s.phones)
	if p == nil || !f(p) {
		return ""
	}
	return fmt.Sprintf("phone %d %s", s.at.Phone%n, what)
}

func (s *sim) restartPhone(*dice) string {
	return s.phoneFault("starts again", func(p *simPhone) bool {
		p.r = s.rebuilt(p, p.old)
		return true
	})
}

func (s *sim) copyPhone(*dice) string {
	return s.phoneFault("is copied", func(p *simPhone) bool {
		if len(s.phones) >= 8 {
			return false
		}
		if p.copy {
			s.counts[copyOfCopy]++
		}
		c := s.copied(p)
		c.copy = true
		s.phones = append(s.phones, c)
		return true
	})
}

func (s *sim) savePhone(*dice) string {
	return s.phoneFault("is saved", func(p *simPhone) bool {
		p.saved = s.copied(p)
		return true
	})
}

func (s *sim) setPhoneBack(*dice) string {
	return s.phoneFault("is set back", func(p *simPhone) bool {
		if p.saved == nil {
			return false
		}
		*p = *s.copied(p.saved)
		p.again = true
		return true
	})
}

// copyRunning copies a phone's memory while its program runs: both go on in one
// line.
func (s *sim) copyRunning(*dice) string {
	return s.phoneFault("is copied while it runs", func(p *simPhone) bool {
		if len(s.phones) >= 8 || p.r.Running().IsZero() {
			return false
		}
		s.clashes = true
		c := s.copied(p)
		c.r.RunAs(p.r)
		s.phones = append(s.phones, c)
		return true
	})
}

func (s *sim) losePhone(*dice) string {
	return s.phoneFault("is lost", func(*simPhone) bool {
		if len(s.phones) < 2 {
			return false
		}
		at := s.at.Phone % len(s.phones)
		s.phones = slices.Delete(slices.Clone(s.phones), at, at+1)
		return true
	})
}

func (s *sim) jumpClock(d *dice) string {
	return s.phoneFault("has another clock", func(p *simPhone) bool {
		p.ahead = logbook.Millis(d.pick(2*86400000)) - 86400000
		return true
	})
}

// changePhoneRules also takes an update back: what is held must then be judged by
// the older rules.
func (s *sim) changePhoneRules(*dice) string {
	return s.phoneFault("has other rules", func(p *simPhone) bool {
		refused := len(p.r.Book().Refused())
		p.old = !p.old
		p.r = s.rebuilt(p, p.old)
		s.updated(refused, len(p.r.Book().Refused()))
		return true
	})
}

func (s *sim) updated(before, now int) {
	if now < before {
		s.counts[acceptedLater]++
	}
}

func (s *sim) changeServerRules(*dice) string {
	i := s.server()
	refused := len(s.servers[i].book().Refused())
	s.startServer(i, !s.servers[i].old)
	s.updated(refused, len(s.servers[i].book().Refused()))
	return fmt.Sprintf("server %d has other rules", i)
}

// startServer ends a server's program and starts it on the same store.
func (s *sim) startServer(i int, old bool) {
	was := s.servers[i]
	now := s.openServer(was.store.Memory, i, old)
	now.backup, now.head, now.must, now.aside, now.lost, now.wrote = was.backup, was.head, was.must, was.aside, was.lost, was.wrote
	now.waits, now.asides, now.told, now.toldThen = was.waits, was.asides, was.told, was.toldThen
	s.servers[i] = now
}

func (s *sim) restartServer(*dice) string {
	s.startServer(s.server(), s.servers[s.server()].old)
	return fmt.Sprintf("server %d starts again", s.server())
}

// killBefore kills a server while it commits what a phone brought or a caller of
// REST wrote: nothing of it is stored.
func (s *sim) killBefore(*dice) string {
	i := s.server()
	s.servers[i].store.fails = errKilled
	words, _ := s.phoneTo(exchanging{})
	if words == "" {
		s.servers[i].store.fails = nil
		return ""
	}
	s.startServer(i, s.servers[i].old)
	return words + "; the server was killed"
}

func (s *sim) killAfter(*dice) string {
	words, _ := s.phoneTo(exchanging{lost: true})
	if words == "" {
		return ""
	}
	s.startServer(s.server(), s.servers[s.server()].old)
	return words + ", for the server was killed"
}

func (s *sim) fillDisk(d *dice) string {
	i := s.server()
	s.servers[i].store.fails = logbook.ErrFull
	words := ""
	if d.pick(3) == 2 {
		words = s.writeByREST(i, "edit", d)
	} else {
		words, _ = s.phoneTo(exchanging{})
	}
	s.servers[i].store.fails = nil
	if words == "" {
		return ""
	}
	return "with a full disk " + words
}

func storedIn(srv *simServer) []logbook.Stored {
	all, err := srv.store.Read(logtest.Production, 0, 1<<30)
	if err != nil {
		panic(err)
	}
	return all
}

func (s *sim) backUp(*dice) string {
	i := s.server()
	head, err := s.servers[i].log.Head()
	if err != nil {
		panic(err)
	}
	s.servers[i].backup, s.servers[i].head, s.servers[i].asides = storedIn(s.servers[i]), head, asidesOf(s.servers[i])
	s.servers[i].toldThen = maps.Clone(s.servers[i].told)
	return fmt.Sprintf("server %d is backed up at %d", i, head.Seq)
}

// restore puts a server back to its backup: same identity, fewer edits.
func (s *sim) restore(*dice) string {
	i := s.server()
	was := s.servers[i]
	if was.head.Identity == (logbook.Line{}) {
		return ""
	}
	store := logbook.NewMemory()
	if err := store.Begin(logtest.Production, was.head.Identity); err != nil {
		panic(err)
	}
	entries := make([]logbook.Entry, len(was.backup))
	for n, e := range was.backup {
		entries[n] = e.Entry
	}
	if len(entries) > 0 {
		if _, err := store.Append(logtest.Production, entries); err != nil {
			panic(err)
		}
	}
	if err := store.SetAside(logtest.Production, was.asides); err != nil {
		panic(err)
	}
	now := s.openServer(store, i, was.old)
	now.backup, now.head, now.asides = was.backup, was.head, was.asides
	now.toldThen, now.told = was.toldThen, maps.Clone(was.toldThen)
	for _, row := range was.asides {
		now.waits[string(row.Bytes)] = true
	}
	for _, e := range was.backup {
		now.must[e.Dot] = true
	}
	for dot := range was.wrote {
		if now.wrote[dot] = now.must[dot]; !now.must[dot] {
			now.lost = true
		}
	}
	s.servers[i] = now
	return fmt.Sprintf("server %d is set back to %d of %d edits", i, len(entries), len(storedIn(was)))
}

func (s *sim) emptyServer(*dice) string {
	i := s.server()
	s.servers[i] = s.openServer(logbook.NewMemory(), i, s.servers[i].old)
	return fmt.Sprintf("server %d is emptied", i)
}

func (s *sim) secondServer(*dice) string {
	if len(s.servers) > 1 {
		return ""
	}
	s.servers = append(s.servers, s.openServer(logbook.NewMemory(), 1, false))
	return "there is a second server"
}
