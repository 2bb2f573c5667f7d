package colorimetry

import (
	"errors"
	"math"
	"testing"
	"time"
)

// FuzzNumbers gives every function of the core that takes numbers from outside
// any three of them: it must answer with numbers or with ErrDomain.
func FuzzNumbers(f *testing.F) {
	for _, s := range [][3]float64{{0.3127, 0.329, 1}, {5600, 0.003, 3200}, {math.NaN(), math.Inf(1), -1}, {1e-320, 1e308, 0}, {1000, -0.05, 100000}, {4500, 2, 1}} {
		f.Add(s[0], s[1], s[2])
	}
	f.Fuzz(func(t *testing.T, a, b, c float64) {
		check := func(name string, err error, values ...float64) {
			t.Helper()
			switch {
			case err != nil && !errors.Is(err, ErrDomain):
				t.Fatalf("%s of %v, %v, %v: got %v, want ErrDomain", name, a, b, c, err)
			case err == nil && !finite(values...):
				t.Fatalf("%s of %v, %v, %v: got %v", name, a, b, c, values)
			}
		}
		xy, err := XYZ{a, b, c}.XY()
		check("XYZ.XY", err, xy.X, xy.Y)
		xy, err = UV{a, b}.XY()
		check("UV.XY", err, xy.X, xy.Y)
		xy, err = UVPrime{a, b}.XY()
		check("UVPrime.XY", err, xy.X, xy.Y)
		m, err := Kelvin(a).Mired()
		check("Kelvin.Mired", err, float64(m))
		k, err := Mired(a).Kelvin()
		check("Mired.Kelvin", err, float64(k))
		for _, l := range []Locus{BlackBody, Daylight, Blend} {
			xy, err = Nominal(Kelvin(a), l)
			check("Nominal", err, xy.X, xy.Y)
		}
		xy, err = CCTDuv{Kelvin(a), Duv(b)}.XY()
		check("CCTDuv.XY", err, xy.X, xy.Y)
		aim, err := Aim(CCTDuv{Kelvin(a), Duv(b)}, Cast{Mired(c), Duv(b)})
		check("Aim", err, float64(aim.CCT), float64(aim.Duv))
		for _, r := range []CCReadout{LightIs, FilterNeeded} {
			duv, err := r.Duv(b, Kelvin(a))
			check("CCReadout.Duv", err, float64(duv))
		}
		readings := make([]Observation, 5)
		for i := range readings {
			readings[i] = Observation{At: time.Duration(float64(i)*math.Mod(c, 1e6)) * time.Millisecond, Light: CCTDuv{Kelvin(a + float64(i)), Duv(b)}, Lux: Lux(c)}
		}
		d, err := DriftOf(readings)
		check("DriftOf", err, d.Mired.PerHour, d.Mired.Low, d.Mired.High, d.Duv.PerHour)
	})
}
