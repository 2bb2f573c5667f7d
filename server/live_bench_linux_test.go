package main

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"regexp"
	"strconv"
	"sync"
	"testing"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/exchange"
	"evenwhite/testdata/yardstick"
)

// BenchmarkSetlogLive measures what it takes until an edit that one of 20 devices
// saves is on each of the others, which are woken and fetch it; then pushes while
// each device saves an edit a second.
func BenchmarkSetlogLive(b *testing.B) {
	w := setlogWork(b)
	m := medians{b: b, of: map[string][]float64{}}
	for b.Loop() {
		s := openStar(b, w, rand.New(rand.NewPCG(2, 1)))
		y := openYardstick(b)
		l := s.listenAll()
		for _, d := range s.devices {
			d.restart()
		}
		m.live(s, l, y)
		m.paced(s, l)
		if err := l.stop(); err != nil {
			b.Fatal(err)
		}
		s.round()
		s.alike()
		y.Close()
		s.stop()
	}
	m.report()
}

// liveEdits is how many edits are saved one after another.
const liveEdits = 200

// live lets one device after another save one edit; a bare commit of it follows.
func (m *medians) live(s *star, l *live, y *yardstick.File) {
	var took, commits []float64
	bodies := 0
	for i := range liveEdits {
		d := s.devices[i%len(s.devices)]
		begun := time.Now()
		dot, body, err := l.save(s, d, s.work.edits[i%len(s.devices)][i])
		if err != nil {
			m.b.Fatal(err)
		}
		bodies += body
		all, err := l.awaitAll(dot, len(s.devices)-1, begun)
		if err != nil {
			m.b.Fatal(err)
		}
		for _, t := range all {
			took = append(took, t.Seconds()*1e3)
		}
		begun = time.Now()
		if err := y.Put(make([]byte, 120)); err != nil {
			m.b.Fatal(err)
		}
		commits = append(commits, time.Since(begun).Seconds()*1e3)
	}
	m.add("setlog1.live_bytes", float64(bodies)/liveEdits)
	m.add("setlog1.live_median_ms", quantile(took, 0.5))
	m.add("setlog1.live_p99_ms", quantile(took, 0.99))
	m.add("setlog1.live_p99_ratio", quantile(took, 0.99)/quantile(commits, 0.99))
	m.add("setlog1.commit_median_ms", quantile(commits, 0.5))
	m.add("setlog1.commit_p99_ms", quantile(commits, 0.99))
}

// pacedFor is how long every device saves an edit a second.
const pacedFor = 8 * time.Second

// paced measures pushes from the moment at which each was due: a hub that lags
// behind does not make the devices wait.
func (m *medians) paced(s *star, l *live) {
	var mu sync.Mutex
	var took []float64
	go func() {
		for {
			select {
			case <-l.arrivals:
			case <-l.ctx.Done():
				return
			}
		}
	}()
	before, begun := cpuOf(m.b, s.process.Process.Pid), time.Now()
	var running sync.WaitGroup
	for i, d := range s.devices {
		running.Go(func() {
			due := begun.Add(time.Duration(i) * time.Second / time.Duration(len(s.devices)))
			for n := 0; due.Sub(begun) < pacedFor; n, due = n+1, due.Add(time.Second) {
				time.Sleep(time.Until(due))
				if _, _, err := l.save(s, d, s.work.edits[i][liveEdits+n]); err != nil {
					m.b.Error(err)
					return
				}
				mu.Lock()
				took = append(took, time.Since(due).Seconds()*1e3)
				mu.Unlock()
			}
		})
	}
	running.Wait()
	cpu := cpuOf(m.b, s.process.Process.Pid) - before
	m.add("server.push_median_ms", quantile(took, 0.5))
	m.add("server.push_p99_ms", quantile(took, 0.99))
	m.add("server.live_cpu_us_per_edit", cpu.Seconds()*1e6/float64(len(took)))
}

// How many edits each of 64 devices pushes in a round, and how many rounds there are.
const (
	pushesARound = 12
	pushRounds   = 5
)

// BenchmarkPushOverHTTP counts the edits that 64 devices push in a second, one a
// call, over HTTP to the real server, which checks each token, answers after the
// commit and sends the edits of the others. It takes turns with bare bbolt
// transactions of one edit, so that what else the machine does meets both.
func BenchmarkPushOverHTTP(b *testing.B) {
	m := medians{b: b, of: map[string][]float64{}}
	for b.Loop() {
		h := openHub(b, 64)
		y := openYardstick(b)
		var devices []*pusher
		for i := range h.admitted {
			devices = append(devices, h.newPusher(i))
		}
		before := cpuOf(b, h.process.Process.Pid)
		for range pushRounds {
			bare := bareRate(b, y, 200)
			rate := h.pushRate(devices)
			m.add("server.push_per_s_64", rate)
			m.add("server.push_per_s_64_ratio", rate/bare)
		}
		cpu := cpuOf(b, h.process.Process.Pid) - before
		pushed := len(devices) * pushesARound * pushRounds
		m.add("server.push_cpu_us", cpu.Seconds()*1e6/float64(pushed))
		others := 0
		for _, p := range devices {
			others += p.others
		}
		m.add("server.push_told_others", float64(others)/float64(pushed))
		h.holdsAll(devices)
		y.Close()
		h.stop()
	}
	m.report()
}

// holdsAll demands that a new device is sent every edit that was pushed.
func (h *hub) holdsAll(devices []*pusher) {
	h.t.Helper()
	fresh := h.newDevice(0, rand.New(rand.NewPCG(1, 4)))
	if err := fresh.settleUp(); err != nil {
		h.t.Fatal(err)
	}
	for _, p := range devices {
		for _, e := range p.pushed {
			if !fresh.replica.Book().Held(e.Dot) {
				h.t.Fatalf("edit %s was taken and is not sent", e.Dot)
			}
		}
	}
}

func bareRate(b *testing.B, y *yardstick.File, count int) float64 {
	begun := time.Now()
	for range count {
		if err := y.Put(make([]byte, 120)); err != nil {
			b.Fatal(err)
		}
	}
	return float64(count) / time.Since(begun).Seconds()
}

// A pusher is a device that has edits to push, one a call.
type pusher struct {
	wire   rowsWire
	place  exchange.Request // of its next call, with no edits
	edits  []*logbook.Edit  // still to be pushed
	pushed []*logbook.Edit
	others int // edits of others that it was sent
}

func (h *hub) newPusher(device int) *pusher {
	chance := rand.New(rand.NewPCG(uint64(device), 3))
	d := h.newDevice(device, chance)
	if err := d.settleUp(); err != nil { // it learns the run, and where the log ends
		h.t.Fatal(err)
	}
	p := &pusher{wire: d.wire, place: d.replica.Request(d.log)}
	d.restart()
	for range pushesARound * pushRounds {
		set := []logbook.Change{{Field: "note", Value: logbook.TextValue("window bounce")}}
		p.edits = append(p.edits, d.write(h.production, recordID(starBegan, chance), set, starBegan, 0))
	}
	return p
}

// pushRate is how many calls a second are answered in a round, while all devices
// call.
func (h *hub) pushRate(devices []*pusher) float64 {
	begun := time.Now()
	var running sync.WaitGroup
	for _, p := range devices {
		running.Go(func() {
			for _, e := range p.edits[:pushesARound] {
				if err := p.push(e); err != nil {
					h.t.Error(err)
					return
				}
			}
			p.pushed, p.edits = append(p.pushed, p.edits[:pushesARound]...), p.edits[pushesARound:]
		})
	}
	running.Wait()
	return float64(len(devices)*pushesARound) / time.Since(begun).Seconds()
}

// endRow is the last row of an answer.
var endRow = regexp.MustCompile(`\n\["end",(\d+),"([^"]+)",(?:true|false)\]\n$`)

// push brings an edit and goes on where the answer ends. The edits of others are
// counted and not looked at, which leaves more of the processors to the hub.
func (p *pusher) push(e *logbook.Edit) error {
	request := p.place
	request.Edits = []*logbook.Edit{e}
	text, err := request.Rows(nil)
	if err != nil {
		return err
	}
	status, said, err := p.wire.send(text)
	if err != nil {
		return err
	}
	end := endRow.FindSubmatch(said)
	if end == nil || !bytes.Contains(said, []byte("\n[\"taken\",")) {
		return fmt.Errorf("status %d: %s", status, said)
	}
	sent, err := strconv.Atoi(string(end[1]))
	p.others += sent
	p.place.Cursor = string(end[2])
	return err
}
