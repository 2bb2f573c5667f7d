package logbook

import (
	"errors"
	flags "flag"
	"fmt"
	"math/rand/v2"
	"sort"
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
			t.Fatalf("seed %d: %v", first+uint64(n), err)
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
}

type simPhone struct {
	r     *Replica
	met   map[int]Line // the log last met at each server's address
	saved *Replica     // the phone as it was, for setting it back
	ahead Millis       // how wrong its clock is
	old   bool         // its rules are those of an older version
}

type simServer struct {
	store  *Memory
	log    *Log
	backup []Stored
	head   Head
}

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
	l, err := OpenLog(store, testID(1), s.draw)
	if err != nil {
		panic(err)
	}
	return &simServer{store: store, log: l}
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
		own.holds = k.holds.Clone()
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
	s.phones = append(s.phones, &simPhone{r: NewReplica(testID(1), s.id(), s.draw), met: map[int]Line{}})
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
	case n < 76:
		s.restartServer(s.server())
		return "server restarts"
	case n < 79:
		i := s.server()
		s.exchange(p, i, answerLost)
		s.restartServer(i)
		return "server killed after the commit"
	case n < 82:
		p.r = s.rebuilt(p.r, p.r.device, p.old)
		return "phone restarts"
	case n < 84:
		s.backUp(s.server())
		return "backup"
	case n < 86:
		s.restore(s.server())
		return "backup restored"
	case n < 88:
		i := s.server()
		s.servers[i] = s.openServer(NewMemory())
		return "server emptied"
	case n < 90 && len(s.servers) < 2:
		s.servers = append(s.servers, s.openServer(NewMemory()))
		return "second server"
	case n < 92 && len(s.phones) < 6:
		copied := &simPhone{r: s.rebuilt(p.r, p.r.device, p.old), met: map[int]Line{}, ahead: p.ahead, old: p.old}
		for k, v := range p.met {
			copied.met[k] = v
		}
		s.phones = append(s.phones, copied)
		return "phone copied"
	case n < 94:
		p.saved = s.rebuilt(p.r, p.r.device, p.old)
		return "phone saved"
	case n < 95 && p.saved != nil:
		p.r = s.rebuilt(p.saved, p.r.device, p.old)
		return "phone set back"
	case n < 96 && len(s.phones) > 2:
		s.phones = s.phones[1:]
		return "phone lost"
	case n < 97 && len(s.phones) < 6:
		s.newPhone()
		return "new phone"
	case n < 98:
		p.ahead = Millis(s.chance.IntN(2*86400000)) - 86400000
		return "clock jumps"
	case n < 99:
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
	switch s.chance.IntN(12) {
	case 0:
		return Draft{v.Kind, v.ID, []Change{Strike(v)}}
	case 1:
		return Draft{v.Kind, v.ID, []Change{BringBack(v)}}
	case 2:
		return Draft{v.Kind, v.ID, []Change{Replace(v, "kelvin", "-3")}}
	case 3:
		return Draft{v.Kind, v.ID, []Change{Replace(v, "sensorRate", "120")}}
	}
	field := []string{"lens", "card", "filters"}[s.chance.IntN(3)]
	return Draft{v.Kind, v.ID, []Change{Replace(v, field, TextValue(fmt.Sprint(s.chance.IntN(4))))}}
}

func (s *sim) phoneEdit(p *simPhone) {
	if _, err := p.r.Write(s.draft(p.r.book), "phone", s.clock+p.ahead, 0); err != nil {
		panic(err)
	}
}

func (s *sim) serverEdit(i int) {
	l := s.servers[i].log
	_, err := l.Change(Writer{Device: testID(500 + i), By: "REST", Now: s.clock}, func(b *Book) ([]Draft, error) {
		return []Draft{s.draft(b)}, nil
	})
	if err != nil && !strings.Contains(err.Error(), "kelvin") {
		panic(err) // only the value out of range is refused at the door
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
	if err != nil {
		panic(err)
	}
	if fault == sentTwice {
		if a, err = s.servers[i].log.Exchange(req, p.r.device, s.clock); err != nil {
			panic(err)
		}
	}
	if fault == answerLost {
		return true
	}
	log, more := p.r.Take(a)
	p.met[i] = log
	return more
}

func (s *sim) restartServer(i int) {
	old := s.servers[i]
	s.servers[i] = s.openServer(old.store)
	s.servers[i].backup, s.servers[i].head = old.backup, old.head
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
	if old.head.Identity == (Line{}) {
		return
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
}

// bundle hands some of what one phone holds to another, in any order.
func (s *sim) bundle(from, to *simPhone) {
	for _, e := range from.r.edits {
		if s.chance.IntN(2) == 0 {
			to.r.Hold(e)
		}
	}
}

// check compares every node with the oracle over what it holds.
func (s *sim) check() error {
	for i, p := range s.phones {
		if err := compare(p.r.book, held(p.r.edits)); err != nil {
			return fmt.Errorf("phone %d: %w", i, err)
		}
	}
	for i := range s.servers {
		var edits []*Edit
		for _, st := range s.stored(i) {
			e, err := DecodeEdit(st.Bytes)
			if err != nil {
				return err
			}
			edits = append(edits, e)
		}
		var err error
		s.servers[i].log.Read(func(b *Book) { err = compare(b, edits) })
		if err != nil {
			return fmt.Errorf("server %d: %w", i, err)
		}
	}
	return nil
}

func held(edits map[Dot]*Edit) []*Edit {
	out := make([]*Edit, 0, len(edits))
	for _, e := range edits {
		out = append(out, e)
	}
	sort.Slice(out, func(i, j int) bool { return out[i].Dot.Less(out[j].Dot) })
	return out
}

func compare(b *Book, edits []*Edit) error {
	if got, want := fmt.Sprint(headsOf(b)), fmt.Sprint(oracleBy(b.judge, edits)); got != want {
		return fmt.Errorf("heads are %s, want %s", got, want)
	}
	for d, places := range b.waiting {
		if _, refused := b.refused[d]; b.held.Has(d) && !refused && len(places) > 0 {
			return fmt.Errorf("a name waits for %s, which is here", d)
		}
	}
	for _, v := range b.AllRecords(KindClip) {
		if got, want := fmt.Sprint(unseen(v)), fmt.Sprint(oracleUnseen(b.judge, v.ID, edits)); got != want {
			return fmt.Errorf("record %s: deletion conflicts are %s, want %s", v.ID, got, want)
		}
	}
	return nil
}

func unseen(v View) []string {
	var names []string
	for _, f := range v.DeletionConflicts() {
		names = append(names, f.Name)
	}
	return names
}

// oracleUnseen states the rule of deletions a second time.
func oracleUnseen(judge func(*Edit) error, record ID, edits []*Edit) []string {
	heads := oracleBy(judge, edits)
	key := func(field string) string { return fmt.Sprintf("%s %s %s", KindClip, record, field) }
	named, live := map[Dot]bool{}, false
	for _, e := range edits {
		for _, d := range heads[key(DeletedField)] {
			if c, ok := e.Change(DeletedField); ok && e.Dot == d && c.Value == "true" {
				live = true
				for _, name := range c.Over {
					named[name] = true
				}
			}
		}
	}
	var out []string
	for _, field := range []string{"card", "filters", "kelvin", "lens", "sensorRate"} {
		for _, d := range heads[key(field)] {
			if live && !named[d] {
				out = append(out, field)
				break
			}
		}
	}
	return out
}

// converge lets all exchange until three rounds move nothing, and compares.
func (s *sim) converge() error {
	for _, p := range s.phones {
		p.old = false
		p.r = s.rebuilt(p.r, p.r.device, false)
	}
	living := map[Dot]bool{}
	for _, p := range s.phones {
		for d := range p.r.edits {
			living[d] = true
		}
	}
	for i := range s.servers {
		for _, st := range s.stored(i) {
			living[st.Dot] = true
		}
	}
	for quiet, round := 0, 0; quiet < 3; round++ {
		if round > 60 {
			return errors.New("the nodes do not come to rest")
		}
		moved := false
		for _, p := range s.phones {
			for i := range s.servers {
				before := len(p.r.edits) + len(s.stored(i))
				for n := 0; s.exchange(p, i, exchangeWell); n++ {
					if n > 500 {
						return errors.New("an exchange does not end")
					}
				}
				moved = moved || before != len(p.r.edits)+len(s.stored(i))
			}
		}
		if quiet++; moved {
			quiet = 0
		}
	}
	return s.compareAll(living)
}

func (s *sim) compareAll(living map[Dot]bool) error {
	var want string
	s.servers[0].log.Read(func(b *Book) { want = describe(b) })
	for i, srv := range s.servers {
		var got string
		srv.log.Read(func(b *Book) { got = describe(b) })
		if got != want {
			return fmt.Errorf("server %d shows\n%s\nserver 0 shows\n%s", i, got, want)
		}
		if n := len(s.stored(i)); n != len(living) {
			return fmt.Errorf("server %d holds %d edits, want %d", i, n, len(living))
		}
	}
	for i, p := range s.phones {
		if got := describe(p.r.book); got != want {
			return fmt.Errorf("phone %d shows\n%s\nserver 0 shows\n%s", i, got, want)
		}
		for d := range living {
			if p.r.edits[d] == nil {
				return fmt.Errorf("phone %d lacks %s", i, d)
			}
		}
	}
	return s.check()
}
