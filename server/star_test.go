package main

import (
	"math/rand/v2"
	"testing"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/bolt"
	"evenwhite/logbook/exchange"
	"evenwhite/logbook/kinds"
)

// A star is devices that hold the same records, are apart for a while, and meet
// again through one hub.
type star struct {
	*hub
	work    starWork
	records []logbook.ID
	devices []*starDevice
}

// How often each device was started while the records were made, and while it was
// apart: a start begins a line.
const (
	startsTogether = 10
	startsApart    = 5
)

// openStar starts a hub whose devices hold the records of a workload.
func openStar(t testing.TB, w starWork, chance *rand.Rand) *star {
	s := &star{hub: openHub(t, len(w.edits)), work: w}
	for i := range w.edits {
		s.devices = append(s.devices, s.newDevice(i, chance))
	}
	for range w.base {
		s.records = append(s.records, recordID(starBegan+logbook.Millis(len(s.records))*1000, chance))
	}
	for i, d := range s.devices {
		for n, record := 0, i; record < len(w.base); n, record = n+1, record+len(s.devices) {
			if n%(len(w.base)/len(s.devices)/startsTogether) == 0 {
				d.restart()
			}
			d.write(s.production, s.records[record], w.base[record], starBegan+logbook.Millis(record)*1000, 0)
		}
	}
	s.round()
	s.round()
	return s
}

func (h *hub) newDevice(i int, chance *rand.Rand) *starDevice {
	d := &starDevice{
		Admission: h.admitted[i].Admission, label: labelOf(i), chance: rand.New(rand.NewPCG(chance.Uint64(), 1)),
		wire: rowsWire{url: h.url + "/v1/productions/" + h.production.String() + "/exchange",
			pass: &pass{token: h.admitted[i].Token, key: h.admitted[i].key}, production: h.production},
	}
	d.replica = exchange.NewReplica(h.production, d.Device, kinds.Rules, func() logbook.Line { return lineFrom(d.chance) })
	return d
}

// part lets each device make its edits.
func (s *star) part() {
	for i, d := range s.devices {
		edits := s.work.edits[i]
		for n, e := range edits {
			if n%(len(edits)/startsApart) == 0 {
				d.restart()
			}
			record := s.records[e.record]
			d.apart = append(d.apart, d.write(s.production, record, d.replace(record, e.field, e.value), e.at, e.offset))
		}
	}
}

// round lets the devices exchange with the hub, one after another.
func (s *star) round() {
	s.t.Helper()
	for _, d := range s.devices {
		if err := d.settleUp(); err != nil {
			s.t.Fatalf("%s: %v", d.label, err)
		}
	}
}

// decide lets each device settle its share of the conflicts.
func (s *star) decide() {
	at := starBegan + 1e9
	for i, c := range s.conflicts(s.devices[0].replica.Book()) {
		d := s.devices[i%len(s.devices)]
		if i < len(s.devices) {
			d.restart()
		}
		d.write(s.production, c.record, d.replace(c.record, c.field, c.value), at, 0)
	}
}

type starConflict struct {
	record logbook.ID
	field  string
	value  logbook.Value // the one that is shown
}

func (s *star) conflicts(b *logbook.Book) (list []starConflict) {
	for _, v := range b.AllRecords(starKind) {
		for _, f := range v.Conflicts() {
			list = append(list, starConflict{v.ID, f.Name, f.Shown.Value})
		}
	}
	return list
}

// counts says what a book shows of the cells that were written apart.
func (s *star) counts(b *logbook.Book) (c starCounts) {
	written := map[string]bool{}
	for _, edits := range s.work.edits {
		for _, e := range edits {
			written[s.records[e.record].String()+e.field] = true
		}
	}
	for _, v := range b.AllRecords(starKind) {
		for _, f := range v.Fields() {
			if !written[v.ID.String()+f.Name] {
				continue
			}
			var values []logbook.Value
			for _, head := range f.Heads {
				values = append(values, head.Value)
			}
			c.cells++
			c.values += distinct(values)
			if f.Conflict {
				c.conflicts++
			}
		}
	}
	return c
}

// agree demands that all devices, and a new one that reads the whole log, show the
// same, and that it comes to what it must. It returns the new one.
func (s *star) agree(want starCounts, chance *rand.Rand) *starDevice {
	s.t.Helper()
	fresh := s.newDevice(0, chance)
	if err := fresh.settleUp(); err != nil {
		s.t.Fatal(err)
	}
	shown := digest(fresh.replica.Book())
	for _, d := range s.devices {
		if got := digest(d.replica.Book()); got != shown {
			s.t.Errorf("%s shows %s, a new device %s", d.label, got, shown)
		}
	}
	if got := s.counts(fresh.replica.Book()); got != want {
		s.t.Errorf("%+v; want %+v", got, want)
	}
	return fresh
}

// compareFile demands that the file of a hub that was stopped shows what the
// devices show.
func (s *star) compareFile() {
	s.t.Helper()
	store, err := bolt.Open(databaseOf(s.folder))
	if err != nil {
		s.t.Fatal(err)
	}
	defer store.Close()
	l, err := logbook.OpenLog(store, s.production, kinds.Rules, drawLine)
	if err != nil {
		s.t.Fatal(err)
	}
	want := digest(s.devices[0].replica.Book())
	l.Read(func(b *logbook.Book) {
		if got := digest(b); got != want {
			s.t.Errorf("the hub's file shows %s, the devices %s", got, want)
		}
	})
}

// TestStar lets four phones hold the same records, part, edit, and meet again over
// HTTP through the real server: all values must be kept and all must show the same,
// then with the conflicts settled.
func TestStar(t *testing.T) {
	seed := rand.Uint64() >> 1
	t.Logf("seed %d", seed)
	chance := rand.New(rand.NewPCG(seed, 1))
	s := openStar(t, drawnWork(4, 80, 50, chance), chance)
	s.part()
	s.round()
	s.round()
	want := s.work.want()
	if want.conflicts == 0 {
		t.Fatalf("the workload has no conflict: %+v", want)
	}
	s.agree(want, chance)
	s.decide()
	s.round()
	s.round()
	s.agree(starCounts{want.cells, want.cells, 0}, chance)
	s.stop()
	s.compareFile()
}

// TestStarLive lets four phones listen: what one saves comes to all others without
// anybody asking.
func TestStarLive(t *testing.T) {
	seed := rand.Uint64() >> 1
	t.Logf("seed %d", seed)
	chance := rand.New(rand.NewPCG(seed, 1))
	s := openStar(t, drawnWork(4, 80, 50, chance), chance)
	l := s.listenAll()
	for i := range 20 {
		d := s.devices[i%4]
		d.restart()
		dot, _, err := l.save(s, d, s.work.edits[i%4][i])
		if err != nil {
			t.Fatal(err)
		}
		if _, err := l.awaitAll(dot, 3, time.Now()); err != nil {
			t.Fatal(err)
		}
	}
	if err := l.stop(); err != nil {
		t.Fatal(err)
	}
	s.alike()
}

// alike demands that all devices show the same.
func (s *star) alike() {
	s.t.Helper()
	want := digest(s.devices[0].replica.Book())
	for _, d := range s.devices[1:] {
		if got := digest(d.replica.Book()); got != want {
			s.t.Errorf("%s shows %s, %s shows %s", d.label, got, s.devices[0].label, want)
		}
	}
}
