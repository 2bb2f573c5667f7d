package main

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"evenwhite/testdata/yardstick"
)

// BenchmarkSetlogHub runs the workload setlog-1 through the real server: 20 devices
// that were apart meet through it, settle their conflicts, and a new device reads
// everything. All must agree in every run.
func BenchmarkSetlogHub(b *testing.B) {
	w := setlogWork(b)
	want := w.want()
	if known := (starCounts{7606, 9671, 1680}); want != known {
		b.Fatalf("the workload comes to %+v; it is known to come to %+v", want, known)
	}
	m := medians{b: b, of: map[string][]float64{}}
	for b.Loop() {
		chance := rand.New(rand.NewPCG(1, 1))
		s := openStar(b, w, chance)
		s.part()
		m.meet(s)
		fresh := s.agree(want, chance)
		m.add("setlog1.fresh_bytes", float64(fresh.wire.down))
		m.idle(s)
		s.decide()
		s.round()
		s.round()
		s.agree(starCounts{want.cells, want.cells, 0}, chance)
		got := s.counts(s.devices[0].replica.Book())
		m.add("setlog1.settled_values", float64(got.values))
		m.add("setlog1.settled_conflicts", float64(got.conflicts))
		s.stop()
		s.compareFile()
	}
	m.report()
}

// medians collects what several passes of a benchmark measure.
type medians struct {
	b  *testing.B
	of map[string][]float64
}

func (m *medians) add(name string, value float64) { m.of[name] = append(m.of[name], value) }

func (m *medians) report() {
	for name, values := range m.of {
		m.b.ReportMetric(quantile(values, 0.5), name)
	}
}

// quantile is the value below which a part of the values lies.
func quantile(values []float64, part float64) float64 {
	sorted := slices.Sorted(slices.Values(values))
	return sorted[min(int(part*float64(len(sorted))), len(sorted)-1)]
}

// meet measures the two rounds in which the devices send each other everything,
// beside what bare bbolt needs to store the same edits.
func (m *medians) meet(s *star) {
	edits, delivered := 0, 0
	for i, d := range s.devices {
		edits += len(s.work.edits[i])
		d.wire.up, d.wire.down = 0, 0
	}
	delivered = edits * (len(s.devices) - 1)
	before, begun := cpuOf(m.b, s.process.Process.Pid), time.Now()
	s.round()
	s.round()
	took, cpu := time.Since(begun), cpuOf(m.b, s.process.Process.Pid)-before
	up, down := 0, 0
	for _, d := range s.devices {
		up, down = up+d.wire.up, down+d.wire.down
	}
	perEdit := cpu.Seconds() * 1e6 / float64(edits)
	m.add("setlog1.converge_s", took.Seconds())
	m.add("setlog1.hub_cpu_us_per_edit", perEdit)
	m.add("setlog1.hub_cpu_ratio", perEdit/m.bareCPU(s))
	m.add("setlog1.up_bytes_per_edit", float64(up)/float64(edits))
	m.add("setlog1.down_bytes_per_edit", float64(down)/float64(delivered))
}

// bareCPU is what bare bbolt needs for the edits of a workload, in microseconds an
// edit: one transaction for those of each device.
func (m *medians) bareCPU(s *star) float64 {
	y := openYardstick(m.b)
	defer y.Close()
	n := 0
	var values [][][]byte
	for _, d := range s.devices {
		var own [][]byte
		for _, e := range d.apart {
			own = append(own, []byte(bytesOf(e)))
		}
		values = append(values, own)
		n += len(own)
	}
	const passes = 5
	before := ownCPU(m.b)
	for range passes {
		for _, own := range values {
			if err := y.Put(own...); err != nil {
				m.b.Fatal(err)
			}
		}
	}
	return (ownCPU(m.b) - before).Seconds() * 1e6 / float64(n*passes)
}

// ownCPU is the processor time that this process has used so far.
func ownCPU(b *testing.B) time.Duration {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		b.Fatal(err)
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

func openYardstick(b *testing.B) *yardstick.File {
	y, err := yardstick.Open(filepath.Join(b.TempDir(), "bare.db"))
	if err != nil {
		b.Fatal(err)
	}
	return y
}

// idle measures an exchange with nothing to say, both bodies.
func (m *medians) idle(s *star) {
	d := s.devices[0]
	d.wire.up, d.wire.down, d.wire.calls = 0, 0, 0
	if err := d.settleUp(); err != nil {
		m.b.Fatal(err)
	}
	if d.wire.calls != 1 {
		m.b.Fatalf("an exchange with nothing to say took %d calls", d.wire.calls)
	}
	m.add("setlog1.idle_bytes", float64(d.wire.up+d.wire.down))
}

// cpuOf is the processor time that a process has used so far, its own and the
// system's for it. The system counts in hundredths of a second (proc(5)).
func cpuOf(b *testing.B, pid int) time.Duration {
	text, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", pid))
	if err != nil {
		b.Fatal(err)
	}
	words := strings.Fields(string(text[bytes.LastIndexByte(text, ')')+1:]))
	ticks := 0
	for _, word := range words[11:13] { // utime and stime: fields 14 and 15
		n, err := strconv.Atoi(word)
		if err != nil {
			b.Fatal(err)
		}
		ticks += n
	}
	return time.Duration(ticks) * (time.Second / 100)
}
