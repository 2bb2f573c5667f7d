package main

import (
	"bytes"
	"encoding/json"
	"flag"
	"fmt"
	"maps"
	"math/rand/v2"
	"os/exec"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"evenwhite/api/uplink"
	"evenwhite/logbook"
	"evenwhite/logbook/bolt"
	"evenwhite/logbook/exchange"
	"evenwhite/logbook/kinds"
)

var (
	ringSeed = flag.Uint64("ring.seed", 0, "what the ring of servers draws by chance; 0: another at each run")
	ringTime = flag.Duration("ring.time", 0, "how long the servers of a ring go on beyond the usual rounds")
)

// A ring is servers of which each is linked with the one before it, over a road; and devices
// that know one of them each.
type ring struct {
	t       *testing.T
	chance  *rand.Rand
	hubs    []*hub
	roads   []*road // to each
	devices []*starDevice
	of      []*hub // whose each device is
	work    starWork
	records []logbook.ID
	written []*logbook.Edit
	clock   logbook.Millis
	kills   int
}

// linkedHub starts a server at an address that it keeps: over loopback's own network, at a port that is
// given to nobody by chance.
func linkedHub(t testing.TB, chance *rand.Rand, devices int) *hub {
	at := fmt.Sprintf("127.%d.%d.%d:20443", 1+chance.IntN(250), chance.IntN(250), 1+chance.IntN(250))
	h := &hub{t: t, folder: filepath.Join(t.TempDir(), "data"), options: []string{"--listen", at}}
	h.admit(devices)
	return h
}

// address is where a hub is called, without the scheme.
func (h *hub) address() string { return h.options[1] }

// join links a hub with another as editor, by a code of that one.
func (h *hub) join(other *hub, role ...string) {
	h.t.Helper()
	invited := machine(h.t, append([]string{"pair", "--data", other.folder, "--role"}, role...)...)
	for line := range strings.Lines(invited) {
		if found := codePrinted.FindStringSubmatch(strings.TrimRight(line, "\n")); found != nil {
			machine(h.t, "link", "--data", h.folder, "http://"+other.address(), found[1])
			return
		}
	}
	h.t.Fatalf("no code was printed: %s", invited)
}

// links are those of a hub as it tells them.
func (h *hub) links() (all []uplink.State) {
	h.t.Helper()
	var said bytes.Buffer
	command := exec.Command("evenwhite", "links", "--json", "--data", h.folder) // its status says only whether one is in trouble
	command.Stdout = &said
	_ = command.Run()
	if err := json.Unmarshal(said.Bytes(), &all); err != nil {
		h.t.Fatalf("%v: %s", err, &said)
	}
	return all
}

// wait asks again and again until something is so.
func wait(t testing.TB, what string, is func() bool) {
	t.Helper()
	again := time.NewTicker(50 * time.Millisecond)
	defer again.Stop()
	for last := time.Now().Add(2 * time.Minute); !is(); <-again.C {
		if time.Now().After(last) {
			t.Fatalf("after two minutes: %s", what)
		}
	}
}

// openRing starts three servers in a ring and devices at each, which hold the records of a workload.
func openRing(t *testing.T, chance *rand.Rand, devices int) *ring {
	r := &ring{t: t, chance: chance, clock: starBegan, work: drawnWork(devices, 60, 1, chance)}
	var ways []string
	for i := range 3 {
		h := linkedHub(t, chance, (devices+2-i)/3)
		r.hubs = append(r.hubs, h)
		r.roads = append(r.roads, openRoad(t, h.address(), rand.New(rand.NewPCG(chance.Uint64(), 1))))
		ways = append(ways, h.address()+"="+r.roads[i].address())
	}
	for _, h := range r.hubs {
		h.env = []string{roadsVariable + "=" + strings.Join(ways, ","), pauseVariable + "=3s"} // a minute is too long for a test
		h.start()
	}
	made, err := (&pass{token: r.hubs[0].owner}).post(r.hubs[0].url+"/v1/productions",
		[]byte(`{"title":"Gauge Row","timeZone":"Europe/Berlin","frameRate":"25","gelFamily":"based5500"}`))
	var said struct{ ID string }
	if err == nil {
		err = json.Unmarshal(made, &said)
	}
	if err == nil {
		r.hubs[0].production, err = logbook.ParseID(said.ID)
	}
	if err != nil {
		t.Fatal(err)
	}
	for i := range r.hubs {
		from, to := r.hubs[(i+1)%len(r.hubs)], r.hubs[i]
		from.join(to, "editor")
		from.production = to.production
		wait(t, "the production did not come by the link", func() bool {
			status, _ := from.ask("GET", "/v1/productions/"+said.ID, "")
			return status == 200
		})
	}
	for i := range devices {
		h := r.hubs[i%3]
		d := h.newDevice(i/3, chance)
		d.label = labelOf(i)
		d.restart()
		r.devices, r.of = append(r.devices, d), append(r.of, h)
	}
	for i, set := range r.work.base {
		id := recordID(starBegan+logbook.Millis(i)*1000, chance)
		r.records = append(r.records, id)
		r.clock += 1000
		r.written = append(r.written, r.devices[0].write(r.hubs[0].production, id, set, r.clock, 0))
	}
	r.meet()
	return r
}

// meet lets all devices exchange until each holds all that was written.
func (r *ring) meet() {
	r.t.Helper()
	wait(r.t, "not all hold everything", func() bool {
		for i, d := range r.devices {
			d.wire.url = r.of[i].url + "/v1/productions/" + r.of[i].production.String() + "/exchange"
			if err := d.settleUp(); err != nil {
				r.t.Fatalf("%s: %v", d.label, err)
			}
		}
		return !slices.ContainsFunc(r.devices, func(d *starDevice) bool {
			return slices.ContainsFunc(r.written, func(e *logbook.Edit) bool { return !d.replica.Book().Held(e.Dot) })
		})
	})
}

// weathers are how a road may be.
var weathers = []weather{{}, {closed: true}, {closed: true}, {buffers: true}, {bits: 64000, lossy: 5}, {lossy: 30}}

// round may change the weather of each road, may kill a server, and lets most devices write and exchange.
func (r *ring) round() {
	for _, road := range r.roads {
		if r.chance.IntN(2) == 0 {
			road.turn(weathers[r.chance.IntN(len(weathers))])
		}
	}
	killed := r.chance.IntN(2 * len(r.hubs))
	for i, d := range r.devices {
		if i == len(r.devices)/2 && killed < len(r.hubs) { // what it was told meanwhile it may be passing on
			r.hubs[killed].kill()
			r.hubs[killed].start()
			r.kills++
		}
		if r.chance.IntN(4) == 0 {
			continue // it is out of reach
		}
		if r.chance.IntN(5) == 0 {
			d.restart()
		}
		for range 1 + r.chance.IntN(6) {
			r.clock += 1000
			field := []string{"cct", "duv", "lux", "note"}[r.chance.IntN(4)]
			value := []logbook.Value{"3200", "3200.0", "5600", `"open"`, "null"}[r.chance.IntN(5)]
			record := r.records[r.chance.IntN(len(r.records))]
			r.written = append(r.written, d.write(r.of[i].production, record, d.replace(record, field, value), r.clock, 0))
		}
		if err := d.settleUp(); err != nil {
			r.t.Fatalf("%s: %v", d.label, err)
		}
	}
}

// TestARingOfServers lets 20 devices write at three real servers in a ring, whose roads are closed, slow,
// lossy or held up, and which are killed. At the end all hold the same, and it is what was written.
func TestARingOfServers(t *testing.T) {
	seed := *ringSeed
	if seed == 0 {
		seed = rand.Uint64() >> 1
	}
	t.Logf("-ring.seed=%d", seed)
	chance := rand.New(rand.NewPCG(seed, 1))
	begun := time.Now()
	r := openRing(t, chance, 20)
	opened := time.Since(begun)
	rounds, carried, lost, held := 0, 0, 0, 0
	pace := time.NewTicker(700 * time.Millisecond) // shorter, hardly anything happens on the roads
	defer pace.Stop()
	for begun = time.Now(); rounds < 6 || time.Since(begun) < *ringTime || rounds < 60 && (lost == 0 || held == 0 || r.kills == 0); rounds++ {
		r.round()
		<-pace.C
		carried, lost, held = r.roadsTell()
	}
	apart := time.Since(begun)
	begun = time.Now()
	for i, road := range r.roads {
		road.turn(weather{})
		r.hubs[i].kill() // a link that failed often waits long, a start does not
		r.hubs[i].start()
	}
	r.meet()
	for _, h := range r.hubs {
		wait(t, "a link says that edits wait", func() bool {
			for _, l := range h.links() {
				for _, p := range l.Productions {
					if p.Waiting > 0 || p.Trouble != "" || p.Last.IsZero() {
						return false
					}
				}
			}
			return true
		})
	}
	for _, h := range r.hubs {
		h.kill()
	}
	r.compare()
	t.Logf("%d rounds, %d edits, %d kills; the roads carried %d bytes, cut off %d calls and kept %d event streams; "+
		"opening took %.1f s, the rounds %.1f s, until all held the same %.1f s",
		rounds, len(r.written), r.kills+len(r.hubs), carried, lost, held, opened.Seconds(), apart.Seconds(), time.Since(begun).Seconds())
	if lost == 0 || held == 0 || r.kills == 0 {
		t.Error("nothing was lost, kept or killed: the ring was not tried")
	}
}

// roadsTell says how many bytes the roads carried, how many calls they cut off, and how many event
// streams they kept.
func (r *ring) roadsTell() (carried, lost, held int) {
	for _, road := range r.roads {
		road.mu.Lock()
		carried, lost, held = carried+road.carried, lost+road.lost, held+road.held
		road.mu.Unlock()
	}
	return carried, lost, held
}

// compare demands that each file and each device shows what all that was written comes to.
func (r *ring) compare() {
	r.t.Helper()
	all := exchange.NewReplica(r.hubs[0].production, r.devices[0].Device, kinds.Rules, drawLine)
	for _, e := range r.written {
		all.Hold(e)
	}
	want := digest(all.Book())
	for _, d := range r.devices {
		if got := digest(d.replica.Book()); got != want {
			r.t.Errorf("%s shows %s, what was written comes to %s", d.label, got, want)
		}
	}
	var first logbook.Ranges
	for i, h := range r.hubs {
		if report, err := bolt.Check(databaseOf(h.folder)); err != nil || len(report.Problems)+len(report.Damaged) > 0 {
			r.t.Errorf("server %d: %v, %+v", i, err, report)
		}
		store, err := bolt.Open(databaseOf(h.folder))
		if err != nil {
			r.t.Fatal(err)
		}
		l, err := logbook.OpenLog(store, h.production, kinds.Rules, drawLine)
		if err != nil {
			r.t.Fatal(err)
		}
		var shown string
		var holds logbook.Ranges
		l.Read(func(b *logbook.Book) { shown, holds = digest(b)+shownBy(b), b.Holding().Ranges() })
		if i == 0 {
			first = holds
		}
		if digest, _ := strings.CutPrefix(shown, want); digest == shown {
			r.t.Errorf("the file of server %d shows %s, what was written comes to %s", i, shown, want)
		}
		if !reflect.DeepEqual(holds, first) {
			r.t.Errorf("server %d holds edits of %d lines, server 0 of %d, and not the same", i, len(slices.Collect(maps.Keys(holds))), len(first))
		}
		for _, e := range r.written {
			held, err := l.Get([]logbook.Dot{e.Dot})
			if err != nil || len(held) != 1 || string(held[0].Bytes) != bytesOf(e) {
				r.t.Fatalf("server %d does not hold %s as it was written: %v", i, e.Dot, err)
			}
		}
		if err := store.Close(); err != nil {
			r.t.Error(err)
		}
	}
}
