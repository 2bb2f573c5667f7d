package main

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"evenwhite/logbook"
)

// BenchmarkSetlogLink measures how a linked server that was off catches up: the workload setlog-1 is
// made at one server, whose 20 devices were apart, while the other, which holds the base, does not run.
func BenchmarkSetlogLink(b *testing.B) {
	w := setlogWork(b)
	m := medians{b: b, of: map[string][]float64{}}
	for b.Loop() {
		chance := rand.New(rand.NewPCG(3, 1))
		s := openStar(b, w, chance)
		there := strings.TrimPrefix(s.url, "http://")
		between := openRoad(b, there, chance)
		other := linkedHub(b, rand.New(rand.NewPCG(rand.Uint64(), 1)), 0)
		other.env = []string{roadsVariable + "=" + there + "=" + between.address()}
		other.start()
		s.options = []string{"--listen", there} // as it is called by join
		other.join(s.hub, "editor")
		other.catchUp(s.hub)
		other.stop()
		s.part()
		s.round()
		s.round()
		edits := 0
		for _, own := range w.edits {
			edits += len(own)
		}
		between.mu.Lock()
		between.carried = 0
		between.mu.Unlock()
		other.start()
		begun := time.Now()
		other.catchUp(s.hub)
		m.add("link.catch_up_ms", time.Since(begun).Seconds()*1e3)
		between.mu.Lock()
		m.add("link.bytes_per_edit", float64(between.carried)/float64(edits))
		between.mu.Unlock()
		s.stop()
		other.stop()
	}
	m.report()
}

// catchUp waits until a server holds as many edits as another.
func (h *hub) catchUp(from *hub) {
	h.t.Helper()
	head := from.edits(from.production)
	again := time.NewTicker(2 * time.Millisecond)
	defer again.Stop()
	for last := time.Now().Add(2 * time.Minute); h.edits(from.production) != head; <-again.C {
		if time.Now().After(last) {
			h.t.Fatalf("it holds %s, the other %s", h.edits(from.production), head)
		}
	}
}

// edits is how many edits a server says that a production has.
func (h *hub) edits(production logbook.ID) string {
	h.t.Helper()
	_, text := h.ask("GET", "/metrics", "")
	_, behind, _ := strings.Cut(text, fmt.Sprintf("evenwhite_log_edits{production=%q} ", production))
	count, _, _ := strings.Cut(behind, "\n")
	return count
}
