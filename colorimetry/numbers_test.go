package colorimetry

import (
	"encoding/binary"
	"errors"
	"math"
	"testing"
	"time"
)

// fuzzed checks that what came out are numbers or ErrDomain.
type fuzzed struct {
	*testing.T
	in []float64
}

func (f fuzzed) check(name string, err error, values ...float64) {
	f.Helper()
	switch {
	case err != nil && !errors.Is(err, ErrDomain):
		f.Fatalf("%s of %v: got %v, want ErrDomain", name, f.in, err)
	case err == nil && !finite(values...):
		f.Fatalf("%s of %v: got %v", name, f.in, values)
	}
}

func (f fuzzed) xy(name string, c XY, err error) { f.check(name, err, c.X, c.Y) }
func (f fuzzed) light(name string, c CCTDuv, err error) {
	f.check(name, err, float64(c.CCT), float64(c.Duv))
	if err == nil && c.Check() != nil {
		f.Fatalf("%s of %v: got %v, which is outside the domain", name, f.in, c)
	}
}

// FuzzNumbers gives the functions of the core that take numbers from outside any
// three of them: they must answer with numbers or with ErrDomain.
func FuzzNumbers(f *testing.F) {
	for _, s := range [][3]float64{
		{0.3127, 0.329, 1}, {5600, 0.003, 3200}, {math.NaN(), math.Inf(1), -1},
		{1e-320, 1e308, 0}, {1000, -0.05, 100000}, {4500, 2, 1},
	} {
		f.Add(s[0], s[1], s[2])
	}
	f.Fuzz(func(t *testing.T, a, b, c float64) {
		z := fuzzed{t, []float64{a, b, c}}
		xy, err := XYZ{a, b, c}.XY()
		z.xy("XYZ.XY", xy, err)
		xy, err = UV{a, b}.XY()
		z.xy("UV.XY", xy, err)
		xy, err = UVPrime{a, b}.XY()
		z.xy("UVPrime.XY", xy, err)
		m, err := Kelvin(a).Mired()
		z.check("Kelvin.Mired", err, float64(m))
		k, err := Mired(a).Kelvin()
		z.check("Mired.Kelvin", err, float64(k))
		for _, l := range []Locus{BlackBody, Daylight, Blend} {
			xy, err = Nominal(Kelvin(a), l)
			z.xy("Nominal", xy, err)
		}
		for name, of := range map[string]func(Kelvin) (Spectrum, error){
			"PlanckianSpectrum": PlanckianSpectrum, "DaylightSpectrum": DaylightSpectrum,
		} {
			s, err := of(Kelvin(a))
			z.check(name, err, s.Values()...)
			if _, refused := s.XY(); err == nil && refused != nil {
				t.Fatalf("%s of %v has no colour: %v", name, a, refused)
			}
		}
		uv, err := Planckian(Kelvin(a))
		z.check("Planckian", err, uv.U, uv.V)
		xy, err = DaylightXY(Kelvin(a))
		z.xy("DaylightXY", xy, err)
		for _, spectrum := range []func(Kelvin) (Spectrum, error){PlanckianSpectrum, DaylightSpectrum} {
			s, err := spectrum(Kelvin(c))
			z.check("a spectrum by temperature", err, s.Values()...)
		}
		xy, err = CCTDuv{Kelvin(a), Duv(b)}.XY()
		z.xy("CCTDuv.XY", xy, err)
		aim, err := Aim(CCTDuv{Kelvin(a), Duv(b)}, Cast{Mired(c), Duv(b)})
		z.light("Aim", aim, err)
		for _, r := range []CCReadout{LightIs, FilterNeeded} {
			duv, err := r.Duv(b, Kelvin(a))
			z.check("CCReadout.Duv", err, float64(duv))
		}
		duv, err := CCToDuv(c, CCTDuv{Kelvin(a), Duv(b)})
		z.check("CCToDuv", err, float64(duv))
		cc, err := DuvToCC(Duv(b), CCTDuv{CCT: Kelvin(a)})
		z.check("DuvToCC", err, cc)
		readings := make([]Observation, 5)
		for i := range readings {
			readings[i] = Observation{At: time.Duration(float64(i)*math.Mod(c, 1e6)) * time.Millisecond,
				Light: CCTDuv{Kelvin(a + float64(i)), Duv(b)}, Lux: Lux(c)}
		}
		d, err := DriftOf(readings)
		z.check("DriftOf", err, d.Mired.PerHour, d.Mired.Low, d.Mired.High, d.Duv.PerHour)
		if err == nil {
			value, low, high, err := d.Mired.At(time.Duration(math.Mod(a, 1e6)) * time.Second)
			z.check("Trend.At", err, value, low, high)
		}
	})
}

// FuzzMoreNumbers is FuzzNumbers for functions that take more of them.
func FuzzMoreNumbers(f *testing.F) {
	for _, s := range [][6]float64{
		{0.3127, 0.329, 0.4476, 0.4075, 0.25, 0.26}, {3200, 0.001, 5600, -0.002, 900, 400}, {math.NaN(), 0.3, 0.3, math.Inf(1), -1, 0},
		{1e-320, 1e308, 5e-324, 1, 1e300, -1e300}, {1000, 0.05, 100000, -0.05, 1e-9, 1e-9}, {4300, 0.01, 4310, 0, -3, 3},
	} {
		f.Add(s[0], s[1], s[2], s[3], s[4], s[5], 0, 10)
	}
	f.Fuzz(func(t *testing.T, a, b, c, d, e, g float64, kind, n int) {
		z := fuzzed{t, []float64{a, b, c, d, e, g, float64(kind), float64(n)}}
		one, other, third := XY{a, b}, XY{c, d}, XY{e, g}
		for _, method := range []Adaptation{CAT16, CAT02, Bradford, Adaptation(kind)} {
			p, err := method.Adapt(XYZ{a, b, e}, other, third)
			z.check("Adapt", err, p.X, p.Y, p.Z)
			xy, err := EffectiveWhite(one, other, third, method)
			z.xy("EffectiveWhite", xy, err)
			xy, err = LightFrom(one, other, third, method)
			z.xy("LightFrom", xy, err)
		}
		mixed, err := Mix([]Lit{{one, Lux(e)}, {other, Lux(g)}})
		z.check("Mix", err, mixed.Light.X, mixed.Light.Y, float64(mixed.Lux))
		first, second := CCTDuv{Kelvin(a), Duv(b)}, CCTDuv{Kelvin(c), Duv(d)}
		gel, err := MeasuredGel(first, second, Lux(e), Lux(g))
		z.check("MeasuredGel", err, float64(gel.Shift), gel.CC, float64(gel.Loss))
		unit, _, err := TintUnit(first, e, second, g)
		z.check("TintUnit", err, float64(unit))
		spread, err := PatchSpread(a, n, CodeRange{kind, n%2 == 0})
		z.check("PatchSpread", err, spread)
		gels, err := NominalGels(GelFamily(kind))
		z.check("NominalGels", err, float64(len(gels)))
		code := CodeRange{kind, n%2 == 0}
		signal, err := code.Signal(a)
		z.check("CodeRange.Signal", err, signal)
		value, err := code.Code(b)
		z.check("CodeRange.Code", err, value)
		encoding := Encoding{Transfer(kind), e, Primaries{one, other, third, D65}}
		rgb, err := encoding.Linear([3]float64{a, c, e})
		z.check("Encoding.Linear", err, rgb[0], rgb[1], rgb[2])
		xy, err := encoding.Chromaticity([3]float64{a, c, e})
		z.xy("Encoding.Chromaticity", xy, err)
		encoded, err := encoding.Encode(g)
		z.check("Encoding.Encode", err, encoded)
		points, err := DialPoints([]DialPoint{{Kelvin(e), first}, {Kelvin(g), second}})
		z.check("DialPoints", err)
		l := Lamp{Reading: first, At: Kelvin(e), Dial: KelvinDial{Ranges: []KelvinRange{{2700, 6500, 100}}}, Shown: points}
		on, err := l.on(Kelvin(2700+100*float64(n%40)), 0)
		z.light("a lamp on its dial", on, err)
	})
}

// FuzzSpectrum makes a spectrum of any numbers: its colour and its likeness to
// another are numbers or ErrDomain.
func FuzzSpectrum(f *testing.F) {
	f.Add([]byte("a lamp of twenty-one values, from dark to bright"), 380.0, 20.0, 1.0)
	f.Add(make([]byte, 90), 360.0, 5.0, 1e290)
	f.Add([]byte{0, 0, 255, 255, 0, 1}, 200.0, 100.0, 5e-324)
	f.Add([]byte("falling"), 780.0, -20.0, math.NaN())
	f.Fuzz(func(t *testing.T, data []byte, from, step, scale float64) {
		z := fuzzed{t, []float64{from, step, scale}}
		var nm, values []float64
		for i := 0; i+1 < len(data); i += 2 {
			nm = append(nm, from+step*float64(i/2))
			values = append(values, scale*float64(binary.LittleEndian.Uint16(data[i:])))
		}
		s, err := NewSpectrum(nm, values)
		z.check("NewSpectrum", err)
		if err != nil {
			return
		}
		for _, o := range []Observer{Observer1931, Observer1964, 2} {
			c, err := s.XYZ(o)
			z.check("Spectrum.XYZ", err, c.X, c.Y, c.Z)
		}
		xy, err := s.XY()
		z.xy("Spectrum.XY", xy, err)
		z.check("Spectrum.At", nil, s.At(from), s.At(from+step/2), s.At(scale), s.At(math.Inf(1)))
		day, err := DaylightSpectrum(6500)
		if err != nil {
			t.Fatal(err)
		}
		if ssi, err := SSI(s, day); err == nil && ssi > 100 || err != nil && !errors.Is(err, ErrDomain) {
			t.Fatalf("SSI of %v: got %v, %v", z.in, ssi, err)
		}
		sharp, err := SSIUnrounded(s, day)
		z.check("SSIUnrounded", err, sharp)
	})
}

// FuzzPatch adds pixels of any codes.
func FuzzPatch(f *testing.F) {
	f.Add([]byte("any picture of a card, in codes of eight bits"), 8, 8, 8, 1, 2.2)
	f.Add([]byte{255, 0, 128}, 9, 30, 16, 4, 0.0)
	f.Add([]byte{}, -1, 1<<40, 7, 0, math.NaN())
	f.Fuzz(func(t *testing.T, data []byte, width, height, bits, transfer int, gamma float64) {
		p, err := NewPatchPixels(Encoding{Transfer(transfer), gamma, BT709}, CodeRange{bits, len(data)%2 == 1}, width, height)
		if err != nil {
			if !errors.Is(err, ErrDomain) && !errors.Is(err, ErrPatchSize) {
				t.Fatalf("got %v, want ErrDomain or ErrPatchSize", err)
			}
			return
		}
		if width*height > 10000 || len(data) == 0 {
			return
		}
		for i := range width * height {
			var code [3]float64
			for k := range code {
				code[k] = float64(data[(3*i+k)%len(data)]) / 255 * math.Ldexp(1, bits)
			}
			if err := p.Add(i%width, i/width, code); err != nil && !errors.Is(err, ErrDomain) {
				t.Fatalf("got %v, want ErrDomain", err)
			}
		}
		r, err := p.Read()
		for _, allowed := range []error{ErrDomain, ErrClipped, ErrExposure, ErrNotNeutral, ErrPatchSize} {
			if errors.Is(err, allowed) {
				return
			}
		}
		if err != nil || !finite(append(append(r.Signal[:], r.Deviation[:]...), r.Unevenness, r.UnevenSteps,
			r.Picture.X, r.Picture.Y, r.Noise[0], r.Noise[1], r.Noise[2])...) {
			t.Fatalf("got %+v, %v", r, err)
		}
	})
}

// What an error says is read by people: no more digits than say something.
func TestErrorsShowNoRawNumbers(t *testing.T) {
	for want, err := range map[string]error{
		"x 0.63986, y 0.32346: outside the domain: CCT in kelvin (or beyond) is 995.025, allowed is 1000 to 100000": second(XY{0.6398555068302996, 0.32345678901}.CCTDuv()),
		"outside the domain: code is NaN, allowed is 0 to 1":                                                        domainError("code", math.NaN(), "0 to 1"),
		"outside the domain: code is 25000.1, allowed is 0 to 1":                                                    domainError("code", 25000.12345, "0 to 1"),
		"outside the domain: code is 1.25, allowed is 0 to 1":                                                       domainError("code", 1.25, "0 to 1"),
		"outside the domain: code is 12000000, allowed is 0 to 1":                                                   domainError("code", 1.2e7, "0 to 1"),
		"outside the domain: code is 2.5e-09, allowed is above 0.01":                                                domainError("code", 2.5e-9, "above 0.01"),
		"outside the domain: code is 0, allowed is above 0":                                                         domainError("code", 0, "above 0"),
	} {
		if err == nil || err.Error() != want {
			t.Errorf("got %v, want %s", err, want)
		}
	}
}
