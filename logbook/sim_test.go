package logbook

import (
	"errors"
	flags "flag"
	"fmt"
	"maps"
	"math/rand/v2"
	"strings"
	"testing"
	"time"
)

var (
	simSeed = flags.Uint64("sim.seed", 0, "run this one schedule of faults")
	simRuns = flags.Int("sim.runs", 300, "how many schedules of faults to run")
	simTime = flags.Duration("sim.time", 0, "run schedules of faults for so long instead")
)

// TestSchedulesOfFaults runs random schedules of what can happen to phones and
// servers, and compares every node after every step with the oracle.
func TestSchedulesOfFaults(t *testing.T) {
	if *simSeed != 0 {
		if err := runSchedule(*simSeed); err != nil {
			t.Fatalf("seed %d: %v", *simSeed, err)
		}
		return
	}
	first := rand.Uint64() >> 1
	t.Logf("schedules from seed %d on; run one with -sim.seed", first)
	begin := time.Now()
	n := 0
	for ; n < *simRuns || time.Since(begin) < *simTime; n++ {
		if err := runSchedule(first + uint64(n)); err != nil {
			t.Fatalf("schedule %d, seed %d: %v", n+1, first+uint64(n), err)
		}
	}
	t.Logf("%d schedules", n)
}

// sim is one schedule: a few phones, one or two servers, and chance.
type sim struct {
	chance  *rand.Rand
	phones  []*simPhone
	servers []*simServer
	clock   Millis
	nextID  int
	steps   []string
	fault   error // found within a step
}

type simPhone struct {
	r     *Replica
	met   map[int]Line // the log last met at each server's address
	saved *simPhone    // the phone as it was, for setting it back
	ahead Millis       // how wrong its clock is
	off   Millis       // the offset that it learnt
	old   bool         // its rules are those of an older version
	must  map[Dot]bool // what it wrote or was given, and no fault took away
}

type simServer struct {
	store  *simStore
	log    *Log
	backup []Stored
	head   Head
	must   map[Dot]bool // what it acknowledged, and no fault took away
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

func (s *sim) draw() Line {
	var l Line
	for i := range l {
		l[i] = byte(s.chance.Uint32())
	}
	return l
}

func (s *sim) id() ID { s.nextID++; return testID(1000 + s.nextID) }

func (s *sim) openServer(store *Memory) *simServer {
	srv := &simServer{store: &simStore{Memory: store}, must: map[Dot]bool{}}
	var err error
	if srv.log, err = OpenLog(srv.store, testID(1), s.draw); err != nil {
		panic(err)
	}
	return srv
}

// copied is a copy of a phone, as it is after a start.
func (s *sim) copied(p *simPhone) *simPhone {
	c := *p
	c.r, c.met, c.must = s.rebuilt(p.r, p.r.device, p.old), maps.Clone(p.met), maps.Clone(p.must)
	return &c
}

// rebuilt copies a replica as a copied phone or a restart does: the edits and
// what is known of logs, not the line.
func (s *sim) rebuilt(r *Replica, device ID, old bool) *Replica {
	c := NewReplica(testID(1), device, s.draw)
	if old {
		c.book.judge = olderJudge
	}
	for _, e := range r.edits {
		c.Hold(e)
	}
	for id, k := range r.logs {
		own := *k
		own.holds, own.contested = k.holds.Clone(), maps.Clone(k.contested)
		c.logs[id] = &own
	}
	return c
}

func runSchedule(seed uint64) error {
	s := &sim{chance: rand.New(rand.NewPCG(seed, 7)), clock: 1e12}
	s.servers = []*simServer{s.openServer(NewMemory())}
	for i := 0; i < 2+s.chance.IntN(3); i++ {
		s.newPhone()
	}
	for step := 0; step < 20+s.chance.IntN(60); step++ {
		s.clock += Millis(s.chance.IntN(60000))
		what := s.step()
		s.steps = append(s.steps, what)
		if err := s.check(); err != nil {
			return fmt.Errorf("after step %d (%s): %w\nsteps: %v", step, what, err, s.steps)
		}
	}
	if err := s.converge(); err != nil {
		return fmt.Errorf("%w\nsteps: %v", err, s.steps)
	}
	return nil
}

func (s *sim) newPhone() {
	s.phones = append(s.phones, &simPhone{r: NewReplica(testID(1), s.id(), s.draw), met: map[int]Line{}, must: map[Dot]bool{}})
}

func (s *sim) phone() *simPhone { return s.phones[s.chance.IntN(len(s.phones))] }

func (s *sim) server() int { return s.chance.IntN(len(s.servers)) }

// step does one thing by chance and says what.
func (s *sim) step() string {
	p := s.phone()
	switch n := s.chance.IntN(100); {
	case n < 35:
		s.phoneEdit(p)
		return "edit"
	case n < 40:
		s.serverEdit(s.server())
		return "edit by REST"
	case n < 65:
		s.exchange(p, s.server(), exchangeWell)
		return "exchange"
	case n < 70:
		s.exchange(p, s.server(), answerLost)
		return "answer lost"
	case n < 73:
		s.exchange(p, s.server(), sentTwice)
		return "sent twice"
	case n < 84:
		return s.serverFault(n-73, p, s.server())
	}
	return s.phoneFault(p)
}

// serverFault is what may happen to a server; n is 0 to 10.
func (s *sim) serverFault(n int, p *simPhone, i int) string {
	switch {
	case n < 2:
		s.restartServer(i)
		return "server restarts"
	case n < 4:
		s.exchange(p, i, answerLost)
		s.restartServer(i)
		return "server killed after the commit"
	case n < 5:
		s.servers[i].store.fails = errKilled
		s.exchange(p, i, exchangeWell)
		s.restartServer(i)
		return "server killed before the commit"
	case n < 6:
		s.servers[i].store.fails = ErrFull
		if s.chance.IntN(4) == 0 {
			s.serverEdit(i)
		}
		s.exchange(p, i, exchangeWell)
		s.servers[i].store.fails = nil
		return "disk full"
	case n < 7:
		s.backUp(i)
		return "backup"
	case n < 9:
		s.restore(i)
		if s.chance.IntN(3) == 0 {
			s.serverEdit(i) // in another line than before
		}
		return "backup restored"
	case n < 10:
		s.servers[i] = s.openServer(NewMemory())
		return "server emptied"
	case len(s.servers) < 2:
		s.servers = append(s.servers, s.openServer(NewMemory()))
		return "second server"
	}
	return "nothing"
}

// phoneFault is what may happen to a phone.
func (s *sim) phoneFault(p *simPhone) string {
	switch n := s.chance.IntN(16); {
	case n < 3:
		p.r = s.rebuilt(p.r, p.r.device, p.old)
		return "phone restarts"
	case n < 5 && len(s.phones) < 6:
		s.phones = append(s.phones, s.copied(p))
		return "phone copied"
	case n < 7:
		p.saved = s.copied(p)
		return "phone saved"
	case n < 9 && p.saved != nil:
		*p = *s.copied(p.saved)
		return "phone set back"
	case n < 10 && len(s.phones) > 2:
		s.phones = s.phones[1:]
		return "phone lost"
	case n < 11 && len(s.phones) < 6:
		s.newPhone()
		return "new phone"
	case n < 12:
		p.ahead = Millis(s.chance.IntN(2*86400000)) - 86400000
		return "clock jumps"
	case n < 14:
		p.old = !p.old
		p.r = s.rebuilt(p.r, p.r.device, p.old)
		return "rules change"
	}
	s.bundle(p, s.phone())
	return "bundle"
}

// draft makes a change as a person would who looks at a book.
func (s *sim) draft(b *Book) Draft {
	records := b.AllRecords(KindClip)
	if len(records) == 0 || s.chance.IntN(8) == 0 && len(records) < 4 {
		return Draft{KindClip, s.id(), []Change{{"lens", `"35 mm"`, nil}}}
	}
	v := records[s.chance.IntN(len(records))]
	switch s.chance.IntN(14) {
	case 0:
		return Draft{v.Kind, v.ID, []Change{Strike(v)}}
	case 1:
		return Draft{v.Kind, v.ID, []Change{BringBack(v)}}
	case 2:
		return Draft{v.Kind, v.ID, []Change{Replace(v, "kelvin", "-3")}}
	case 3:
		return Draft{v.Kind, v.ID, []Change{Replace(v, "sensorRate", "120")}}
	case 4:
		return Draft{v.Kind, v.ID, []Change{Replace(v, "kelvin", []Value{"5600", "5600.0", "3200"}[s.chance.IntN(3)])}}
	case 5: // a reference to a record that may be anywhere or nowhere
		return Draft{v.Kind, v.ID, []Change{Replace(v, "setUp", IDValue(testID(1000+s.chance.IntN(12))))}}
	}
	field := []string{"lens", "card", "filters"}[s.chance.IntN(3)]
	return Draft{v.Kind, v.ID, []Change{Replace(v, field, TextValue(fmt.Sprint(s.chance.IntN(4))))}}
}

func (s *sim) phoneEdit(p *simPhone) {
	e, err := p.r.Write(s.draft(p.r.book), "phone", s.clock+p.ahead, p.off)
	if err != nil {
		panic(err)
	}
	p.must[e.Dot] = true
	s.notice(asWritten(p.r.book, e))
}

func (s *sim) serverEdit(i int) {
	srv := s.servers[i]
	edits, err := srv.log.Change(Writer{Device: testID(500 + i), By: "REST", Now: s.clock}, func(b *Book) ([]Draft, error) {
		return []Draft{s.draft(b)}, nil
	})
	if err != nil && !strings.Contains(err.Error(), "kelvin") && !errors.Is(err, ErrFull) {
		panic(err) // only the value out of range is refused at the door
	}
	for _, e := range edits {
		srv.must[e.Dot] = true
		srv.log.Read(func(b *Book) { s.notice(asWritten(b, e)) })
	}
}

// notice keeps the first fault of a step.
func (s *sim) notice(err error) {
	if s.fault == nil {
		s.fault = err
	}
}

type exchangeFault int

const (
	exchangeWell exchangeFault = iota
	answerLost
	sentTwice
)

// exchange is one request, with a chance of a short page.
func (s *sim) exchange(p *simPhone, i int, fault exchangeFault) bool {
	req := p.r.Request(p.met[i])
	if req.Limit = 1 << 20; s.chance.IntN(3) == 0 {
		req.Limit = 200
	}
	if len(req.Edits) > 1 && s.chance.IntN(4) == 0 {
		req.Edits = req.Edits[len(req.Edits)/2:] // half, and not the first half
	}
	if s.chance.IntN(2) == 0 {
		s.chance.Shuffle(len(req.Edits), func(a, b int) { req.Edits[a], req.Edits[b] = req.Edits[b], req.Edits[a] })
	}
	a, err := s.servers[i].log.Exchange(req, p.r.device, s.clock)
	if errors.Is(err, errKilled) {
		return true
	}
	if err != nil {
		panic(err)
	}
	if fault == sentTwice {
		if a, err = s.servers[i].log.Exchange(req, p.r.device, s.clock); err != nil {
			panic(err)
		}
	}
	for _, answer := range a.Answers {
		if answer.Outcome != AnswerLater {
			s.servers[i].must[answer.Dot] = true
		}
	}
	if fault == answerLost {
		return true
	}
	log, more := p.r.Take(a)
	p.met[i], p.off = log, -p.ahead
	for _, e := range a.Edits {
		p.must[e.Dot] = true
	}
	return more
}

func (s *sim) restartServer(i int) {
	old := s.servers[i]
	s.servers[i] = s.openServer(old.store.Memory)
	s.servers[i].backup, s.servers[i].head, s.servers[i].must = old.backup, old.head, old.must
}

func (s *sim) stored(i int) []Stored {
	all, err := s.servers[i].store.Read(testID(1), 0, 1<<30)
	if err != nil {
		panic(err)
	}
	return all
}

func (s *sim) backUp(i int) {
	head, err := s.servers[i].log.Head()
	if err != nil {
		panic(err)
	}
	s.servers[i].backup, s.servers[i].head = s.stored(i), head
}

// restore puts a server back to its backup: same identity, fewer edits.
func (s *sim) restore(i int) {
	old := s.servers[i]
	if old.head.Identity == (Line{}) { // there is none: one is made before what follows
		s.backUp(i)
		for range 1 + s.chance.IntN(3) {
			s.serverEdit(i)
			s.exchange(s.phone(), i, exchangeWell)
		}
	}
	store := NewMemory()
	if err := store.Begin(testID(1), old.head.Identity); err != nil {
		panic(err)
	}
	entries := make([]Entry, len(old.backup))
	for n, e := range old.backup {
		entries[n] = e.Entry
	}
	if len(entries) > 0 {
		if _, err := store.Append(testID(1), entries); err != nil {
			panic(err)
		}
	}
	s.servers[i] = s.openServer(store)
	s.servers[i].backup, s.servers[i].head = old.backup, old.head
	for _, e := range old.backup {
		s.servers[i].must[e.Dot] = true
	}
}

// bundle hands some of what one phone holds to another, in any order.
func (s *sim) bundle(from, to *simPhone) {
	for _, e := range from.r.edits {
		if s.chance.IntN(2) == 0 {
			to.r.Hold(e)
			to.must[e.Dot] = true
		}
	}
}
