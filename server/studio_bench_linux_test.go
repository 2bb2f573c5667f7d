//go:build studio

package main

import (
	"math/rand/v2"
	"os/exec"
	"strings"
	"testing"
	"time"
)

// BenchmarkSetlogStudio lets the devices of setlog-1 meet through three processes at an etcd of three
// members, and through one process with its own file in the same pass.
func BenchmarkSetlogStudio(b *testing.B) {
	w := setlogWork(b)
	m := medians{b: b, of: map[string][]float64{}}
	for b.Loop() {
		chance := rand.New(rand.NewPCG(1, 1))
		one := openStar(b, w, chance)
		one.part()
		m.meet(one)
		one.stop()
		chance = rand.New(rand.NewPCG(1, 1))
		s := openStar(b, w, chance) // the base
		s.stop()
		etcd := startEtcd(b)
		awaits(b, "etcd", func() bool {
			return exec.Command(mustProgram(b), "copy", "--from", s.folder, "--to", etcd).Run() == nil
		})
		processes := studioHubs(b, s.hub, etcd)
		path := strings.TrimPrefix(s.devices[0].wire.url, s.url)
		for i, d := range s.devices {
			d.wire.url = processes[i%len(processes)].url + path
		}
		s.url = processes[0].url
		s.round()
		s.part()
		cpu, begun := 0.0, time.Now()
		for _, p := range processes {
			cpu -= cpuOf(b, p.process.Process.Pid).Seconds()
		}
		s.round()
		s.round()
		m.add("studio.converge_s", time.Since(begun).Seconds())
		edits := 0
		for i := range s.devices {
			edits += len(s.work.edits[i])
		}
		for _, p := range processes {
			cpu += cpuOf(b, p.process.Process.Pid).Seconds()
		}
		m.add("studio.hub_cpu_us_per_edit", cpu*1e6/float64(edits))
		fresh := s.agree(w.want(), chance)
		m.add("studio.heads", float64(s.counts(fresh.replica.Book()).values))
	}
	m.report()
}

func mustProgram(b testing.TB) string {
	b.Helper()
	program, err := exec.LookPath("evenwhite") // this test's own binary: see TestMain
	if err != nil {
		b.Fatal(err)
	}
	return program
}

// studioHubs starts three processes that go on with what a hub had.
func studioHubs(b testing.TB, first *hub, etcd string) (all []*hub) {
	b.Helper()
	for range 3 {
		h := &hub{t: b, folder: b.TempDir() + "/data", options: []string{"--store", etcd, "--backup-every", "0"}}
		copyKey(b, first.folder, h.folder)
		h.start()
		all = append(all, h)
	}
	return all
}
