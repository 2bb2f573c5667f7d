package logbook

import (
	"encoding/binary"
	"errors"
	"fmt"
	"maps"
)

// sim is a schedule at work: phones and servers.
type sim struct {
	at      step // the one that is played
	phones  []*simPhone
	servers []*simServer
	clock   Millis
	nextID  int
	calls   int         // exchanges so far: every other one is in rows
	drawn   map[int]int // per owner: how many lines and the like it drew
	words   []string
	counts  map[string]int
	fault   error // found within a step
	clashes bool  // a running phone was copied: nodes need not show the same
}

type simPhone struct {
	name  int // of its device
	r     *Replica
	met   map[int]Line // the log last met at each server's address
	saved *simPhone    // the phone as it was, for setting it back
	ahead Millis       // how wrong its clock is
	off   Millis       // the offset that it learnt
	old   bool         // its rules are those of an older version
	must  map[Dot]bool // what it wrote or was given, and no fault took away
	copy  bool         // it is a copy of another
	again bool         // it was set back and has not written since
	seen  compared
}

type simServer struct {
	store  *simStore
	log    *Peer
	old    bool
	backup []Stored
	head   Head
	must   map[Dot]bool    // what it acknowledged, and no fault took away
	aside  map[string]bool // clashes that it told of, and no fault took away
	lost   bool            // a restore took edits of its own
	wrote  map[Dot]bool    // edits by REST
	seen   compared
}

// simStore is a store whose next append may fail: it then writes nothing.
type simStore struct {
	*Memory
	fails error
}

func (s *simStore) Append(production ID, entries []Entry) ([]Receipt, error) {
	if err := s.fails; err != nil {
		s.fails = nil
		return nil, err
	}
	return s.Memory.Append(production, entries)
}

var errKilled = errors.New("the server was killed before the commit")

// olderJudge is the rule book of an invented older version: it knows no sensor
// rates above 100.
func olderJudge(e *Edit) error {
	if c, ok := e.Change("sensorRate"); ok && c.Value == "120" {
		return errors.New("sensorRate is 120; allowed is at most 100")
	}
	return Judge(e)
}

func rules(old bool) Rules {
	if old {
		return Rules{Judge: olderJudge}
	}
	return KindRules
}

func newSim() *sim {
	s := &sim{clock: 1e12, drawn: map[int]int{}, counts: map[string]int{}}
	s.servers = []*simServer{s.openServer(NewMemory(), 0, false)}
	return s
}

// drawer gives an owner its random bytes: none twice, and in no order.
func (s *sim) drawer(owner int) func() Line {
	return func() (l Line) {
		s.drawn[owner]++
		x := uint64(owner)<<32 + uint64(s.drawn[owner])
		x = (x ^ x>>31) * 0x9e3779b97f4a7c15 // odd factors and shifts lose nothing: it stays without repeats
		x = (x ^ x>>29) * 0xbf58476d1ce4e5b9
		binary.BigEndian.PutUint64(l[:], x^x>>32)
		return l
	}
}

func (s *sim) id() ID { s.nextID++; return testID(1000 + s.nextID) }

func (s *sim) phone() *simPhone {
	if len(s.phones) == 0 {
		return nil
	}
	return s.phones[s.at.Phone%len(s.phones)]
}

func (s *sim) server() int { return s.at.Server % len(s.servers) }

func (s *sim) books() (all []*Book) {
	for _, p := range s.phones {
		all = append(all, p.r.book)
	}
	for _, srv := range s.servers {
		all = append(all, srv.log.book) // nothing else runs
	}
	return all
}

func (s *sim) openServer(store *Memory, i int, old bool) *simServer {
	srv := &simServer{store: &simStore{Memory: store}, old: old, must: map[Dot]bool{}, aside: map[string]bool{}, wrote: map[Dot]bool{}}
	var err error
	if srv.log, err = openPeer(srv.store, rules(old), s.drawer(500+i)); err != nil {
		panic(err)
	}
	return srv
}

// copied is a copy of a phone, as it is after a start.
func (s *sim) copied(p *simPhone) *simPhone {
	c := *p
	c.r, c.met, c.must, c.seen = s.rebuilt(p, p.old), maps.Clone(p.met), maps.Clone(p.must), compared{}
	return &c
}

// rebuilt is a phone's replica as a start makes it: the edits and what is known of
// logs, not the line. Storage hands the edits back in another order than they came.
func (s *sim) rebuilt(p *simPhone, old bool) *Replica {
	c := NewReplica(testID(1), p.r.device, rules(old), s.drawer(p.name))
	for _, e := range held(p.r.edits) {
		c.Hold(e)
	}
	for id, k := range p.r.logs {
		own := *k
		own.holds, own.contested = k.holds.Clone(), maps.Clone(k.contested)
		c.logs[id] = &own
	}
	return c
}

func (s *sim) newPhone(d *dice) string {
	if len(s.phones) >= 8 {
		return ""
	}
	s.nextID++
	p := &simPhone{name: s.nextID, met: map[int]Line{}, must: map[Dot]bool{}, old: d.pick(4) == 3}
	p.r = NewReplica(testID(1), testID(1000+s.nextID), rules(p.old), s.drawer(p.name))
	s.phones = append(s.phones, p)
	return fmt.Sprintf("phone %d is new%s", len(s.phones)-1, map[bool]string{true: " and has older rules"}[p.old])
}
