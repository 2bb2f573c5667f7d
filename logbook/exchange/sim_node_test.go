package exchange_test

import (
	"encoding/binary"
	"errors"
	"fmt"
	"maps"

	"evenwhite/logbook"
	"evenwhite/logbook/exchange"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/logtest"
)

// sim is a schedule at work: phones and servers.
type sim struct {
	at      step // the one that is played
	phones  []*simPhone
	servers []*simServer
	clock   logbook.Millis
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
	r     *exchange.Replica
	met   map[int]logbook.Line // the log last met at each server's address
	tells map[int]bool         // of an older program: to which servers it says what it holds
	saved *simPhone            // the phone as it was, for setting it back
	ahead logbook.Millis       // how wrong its clock is
	off   logbook.Millis       // the offset that it learnt
	old   bool                 // its rules are those of an older version
	must  map[logbook.Dot]bool // what it wrote or was given, and no fault took away
	copy  bool                 // it is a copy of another
	again bool                 // it was set back and has not written since
	seen  compared
}

func (p *simPhone) device() logbook.ID { return logtest.ID(1000 + p.name) }

// guard stands at the door of every server: readings are an owner's, and every other
// phone is one. Which kind it is does not matter to the merge.
func (p *simPhone) guard() logbook.Guard {
	if p.name%2 == 0 {
		return nil
	}
	return func(e *logbook.Edit) bool { return e.Kind == kinds.Reading }
}

type simServer struct {
	store  *simStore
	log    *exchange.Peer
	old    bool
	backup []logbook.Stored
	head   logbook.Head
	must   map[logbook.Dot]bool // what it acknowledged, and no fault took away
	aside  map[string]bool      // clashes that it reported, and no fault took away
	waits  map[string]bool      // edits that it keeps for an owner, and no fault took away
	asides []logbook.Aside      // of the backup
	lost   bool                 // a restore took edits of its own
	wrote  map[logbook.Dot]bool // edits by REST
	seen   compared
	links  map[int]*exchange.Relay // to others, of this start
	told   map[int][]byte          // what is stored of what it knows of others
	// toldThen is that of the backup.
	toldThen map[int][]byte
}

// book is what the server reads: nothing else runs.
func (srv *simServer) book() (book *logbook.Book) {
	srv.log.Read(func(b *logbook.Book) { book = b })
	return book
}

// simStore is a store whose next append may fail: it then writes nothing.
type simStore struct {
	*logbook.Memory
	fails error
}

func (s *simStore) Append(production logbook.ID, entries []logbook.Entry) ([]logbook.Receipt, error) {
	if err := s.fails; err != nil {
		s.fails = nil
		return nil, err
	}
	return s.Memory.Append(production, entries)
}

func (s *simStore) SetAside(production logbook.ID, rows []logbook.Aside) error {
	if err := s.fails; err != nil {
		s.fails = nil
		return err
	}
	return s.Memory.SetAside(production, rows)
}

var errKilled = errors.New("the server was killed before the commit")

// olderJudge is the rule book of an invented older version: it knows no sensor
// rates above 100.
func olderJudge(e *logbook.Edit) error {
	if c, ok := e.Change("sensorRate"); ok && c.Value == "120" {
		return errors.New("sensorRate is 120; allowed is at most 100")
	}
	return kinds.Judge(e)
}

func rulesOf(old bool) logbook.Rules {
	if old {
		return logbook.Rules{Judge: olderJudge}
	}
	return kinds.Rules
}

func newSim() *sim {
	s := &sim{clock: 1e12, drawn: map[int]int{}, counts: map[string]int{}}
	s.servers = []*simServer{s.openServer(logbook.NewMemory(), 0, false)}
	return s
}

// drawer gives an owner its random bytes: none twice, and in no order.
func (s *sim) drawer(owner int) func() logbook.Line {
	return func() (l logbook.Line) {
		s.drawn[owner]++
		x := uint64(owner)<<32 + uint64(s.drawn[owner])
		x = (x ^ x>>31) * 0x9e3779b97f4a7c15 // odd factors and shifts lose nothing: it stays without repeats
		x = (x ^ x>>29) * 0xbf58476d1ce4e5b9
		binary.BigEndian.PutUint64(l[:], x^x>>32)
		return l
	}
}

func (s *sim) id() logbook.ID { s.nextID++; return logtest.ID(1000 + s.nextID) }

func (s *sim) phone() *simPhone {
	if len(s.phones) == 0 {
		return nil
	}
	return s.phones[s.at.Phone%len(s.phones)]
}

func (s *sim) server() int { return s.at.Server % len(s.servers) }

func (s *sim) books() (all []*logbook.Book) {
	for _, p := range s.phones {
		all = append(all, p.r.Book())
	}
	for _, srv := range s.servers {
		all = append(all, srv.book())
	}
	return all
}

func (s *sim) openServer(store *logbook.Memory, i int, old bool) *simServer {
	srv := &simServer{
		store: &simStore{Memory: store}, old: old,
		must: map[logbook.Dot]bool{}, aside: map[string]bool{}, waits: map[string]bool{}, wrote: map[logbook.Dot]bool{},
		links: map[int]*exchange.Relay{}, told: map[int][]byte{},
	}
	l, err := logbook.OpenLog(srv.store, logtest.Production, rulesOf(old), s.drawer(500+i))
	if err != nil {
		panic(err)
	}
	srv.log = exchange.NewPeer(l)
	return srv
}

// copied is a copy of a phone, as it is after a start.
func (s *sim) copied(p *simPhone) *simPhone {
	c := *p
	c.r, c.met, c.must, c.seen = s.rebuilt(p, p.old), maps.Clone(p.met), maps.Clone(p.must), compared{}
	c.tells = maps.Clone(p.tells)
	return &c
}

// rebuilt is a phone's replica as a start makes it: the edits and what is known of
// logs, not the line. Storage hands the edits back in another order than they came.
func (s *sim) rebuilt(p *simPhone, old bool) *exchange.Replica {
	c := exchange.NewReplica(logtest.Production, p.device(), rulesOf(old), s.drawer(p.name))
	for _, e := range held(p.r.AllEdits()) {
		c.Hold(e)
	}
	c.TakeOver(p.r)
	return c
}

func (s *sim) newPhone(d *dice) string {
	if len(s.phones) >= 8 {
		return ""
	}
	s.nextID++
	p := &simPhone{name: s.nextID, met: map[int]logbook.Line{}, tells: map[int]bool{}, must: map[logbook.Dot]bool{}, old: d.pick(4) == 3}
	p.r = exchange.NewReplica(logtest.Production, p.device(), rulesOf(p.old), s.drawer(p.name))
	s.phones = append(s.phones, p)
	return fmt.Sprintf("phone %d is new%s", len(s.phones)-1, map[bool]string{true: " and has older rules"}[p.old])
}
