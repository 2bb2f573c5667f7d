//go:build !js

package colorimetry

import (
	"math/rand/v2"
	"syscall"
	"testing"
	"time"
)

// cpuTime is what this process has used of the processors so far: other work on
// the machine does not count.
func cpuTime() time.Duration {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		panic(err)
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

func BenchmarkCCT(b *testing.B) {
	worst := worstErrors(b, 100, 1)
	r := rand.New(rand.NewPCG(2, 0))
	var lights []XY
	for len(lights) < 1024 {
		c := CCTDuv{Kelvin(1e6 / (40 + 500*r.Float64())), Duv(0.04*r.Float64() - 0.02)}
		if xy, err := c.XY(); err == nil {
			lights = append(lights, xy)
		}
	}
	i, begun := 0, cpuTime()
	for b.Loop() {
		if _, err := lights[i&1023].CCTDuv(); err != nil {
			b.Fatal(err)
		}
		i++
	}
	b.ReportMetric(float64(b.N)/(cpuTime()-begun).Seconds(), "colour.cct_per_s")
	b.ReportMetric(worst.kelvin, "colour.cct_error_kelvin")
	b.ReportMetric(worst.duv*1e12, "colour.cct_error_duv*1e-12")
}

func BenchmarkSpectra(b *testing.B) {
	_, spectra := checkSpectra(b)
	light, reference := spectra["F7"], spectra["D65"]
	begun := cpuTime()
	for b.Loop() {
		xy, err := light.XY()
		if err != nil {
			b.Fatal(err)
		}
		if _, err := xy.CCTDuv(); err != nil {
			b.Fatal(err)
		}
		if _, err := SSI(light, reference); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(b.N)/(cpuTime()-begun).Seconds(), "colour.spectra_per_s")
}

func BenchmarkPlan(b *testing.B) {
	tasks, stock := bench()
	benchPlan(b, tasks, stock, 1, "colour.plan_ms")
}

func BenchmarkPlanScarce(b *testing.B) {
	tasks, stock := scarceBench()
	benchPlan(b, tasks, stock, 3, "colour.plan_scarce_ms")
}

func benchPlan(b *testing.B, tasks []Task, stock []StockedGel, most int, name string) {
	begun := cpuTime()
	for b.Loop() {
		if _, err := Plans(tasks, stock, most); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64((cpuTime()-begun).Microseconds())/1e3/float64(b.N), name)
}
