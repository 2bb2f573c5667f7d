package main

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"net/http"
	"sync"
	"testing"
	"time"

	"evenwhite/logbook"
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

// pushesEach is how many edits each of 64 devices pushes.
const pushesEach = 60

// BenchmarkPushOverHTTP counts the edits that 64 devices push in a second, one a
// call, over HTTP to the real server, which checks each token and answers after the
// commit, beside bare bbolt transactions of one edit. The devices ask for no more
// than one edit of others in an answer.
func BenchmarkPushOverHTTP(b *testing.B) {
	m := medians{b: b, of: map[string][]float64{}}
	for b.Loop() {
		h := openHub(b, 64)
		y := openYardstick(b)
		var bodies [][][]byte
		for i := range h.admitted {
			bodies = append(bodies, h.pushBodies(i))
		}
		bare := bareRate(b, y, 400)
		before := cpuOf(b, h.process.Process.Pid)
		rate := h.pushRate(bodies)
		cpu := cpuOf(b, h.process.Process.Pid) - before
		bare = (bare + bareRate(b, y, 400)) / 2
		m.add("server.push_per_s_64", rate)
		m.add("server.push_per_s_64_ratio", rate/bare)
		m.add("server.push_cpu_us", cpu.Seconds()*1e6/float64(64*pushesEach))
		y.Close()
		h.stop()
	}
	m.report()
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

// pushBodies are the calls of one device, made before the time is taken.
func (h *hub) pushBodies(device int) (bodies [][]byte) {
	chance := rand.New(rand.NewPCG(uint64(device), 3))
	d := h.newDevice(device, chance)
	if err := d.settleUp(); err != nil { // it learns the run, and where the log ends
		h.t.Fatal(err)
	}
	place := d.replica.Request(d.log)
	d.restart()
	for range pushesEach {
		set := []logbook.Change{{Field: "note", Value: logbook.TextValue("window bounce")}}
		e := d.write(h.production, recordID(starBegan, chance), set, starBegan, 0)
		request := logbook.ExchangeRequest{Run: place.Run, Cursor: place.Cursor, Edits: []*logbook.Edit{e}, Limit: 1}
		text, err := request.Rows(nil)
		if err != nil {
			h.t.Fatal(err)
		}
		bodies = append(bodies, packed(text))
	}
	return bodies
}

// pushRate is how many calls a second are answered while all devices call.
func (h *hub) pushRate(bodies [][][]byte) float64 {
	begun := time.Now()
	var running sync.WaitGroup
	for i, own := range bodies {
		running.Go(func() {
			for _, body := range own {
				if err := h.push(i, body); err != nil {
					h.t.Error(err)
					return
				}
			}
		})
	}
	running.Wait()
	return float64(len(bodies)*pushesEach) / time.Since(begun).Seconds()
}

func (h *hub) push(device int, body []byte) error {
	status, answer, err := postRows(h.url+"/v1/productions/"+h.production.String()+"/exchange", h.admitted[device].Token, body)
	if err == nil && status == http.StatusOK {
		answer, err = unpacked(answer)
	}
	if err == nil && !bytes.Contains(answer, []byte("\n[\"taken\",")) {
		err = fmt.Errorf("status %d: %s", status, answer)
	}
	return err
}
