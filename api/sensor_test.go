package api

import (
	"fmt"
	"math"
	"testing"

	"evenwhite/colorimetry"
)

// A sensor is a simulated camera body. Its three sensitivities are the published
// template of A1 visual pigments at invented peaks [GOVARDOVSKII2000]: smooth, of
// the width of colour filters on silicon, and no mix of the observer's, so that two
// sensors agree on no two families of lamps alike. As cameras do it, a white is
// three gains: those that the body's matrix predicts for the white of the setting.
type sensor struct {
	name        string
	sensitivity [3][]float64 // at the wavelengths of the observer
	fromXYZ     [3][3]float64
	offMired    float64 // of its white from the label, invented
	offDuv      float64
}

// template is equation 1 with the β band of equations 5a and 5b; wavelengths and
// peak in nm (constants from memory; at the peak it must be 1).
func template(nm, peak float64) float64 {
	a := 0.8795 + 0.0459*math.Exp(-(peak-300)*(peak-300)/11940)
	x := peak / nm
	alpha := 1 / (math.Exp(69.7*(a-x)) + math.Exp(28*(0.922-x)) + math.Exp(-14.9*(1.104-x)) + 0.674)
	bandAt, width := 189+0.315*peak, -40.5+0.195*peak
	return alpha + 0.26*math.Exp(-math.Pow((nm-bandAt)/width, 2))
}

func (o ownObserver) sensor(name string, red, green, blue, offMired, offDuv float64) *sensor {
	s := &sensor{name: name, offMired: offMired, offDuv: offDuv}
	for i, peak := range [...]float64{red, green, blue} {
		for _, nm := range o[0] {
			v := template(nm, peak)
			if nm < 400 {
				v = 0 // the glass in front
			}
			s.sensitivity[i] = append(s.sensitivity[i], v)
		}
	}
	// The matrix that predicts the sensor from X Y Z with least squares: over black
	// bodies, and a little over the single wavelengths, so that it holds beside the
	// locus. A maker fits it in such a way.
	var gram [3][3]float64
	learn := func(xyz, raw [3]float64, weight float64) {
		for i := range 3 {
			for j := range 3 {
				gram[i][j] += weight * xyz[i] * xyz[j]
				s.fromXYZ[i][j] += weight * raw[i] * xyz[j]
			}
		}
	}
	for mired := 100.0; mired <= 400; mired += 10 {
		x, y, z := o.see(o.black(mired))
		raw := s.see(o, o.black(mired))
		learn([3]float64{x / y, 1, z / y}, [3]float64{raw[0] / y, raw[1] / y, raw[2] / y}, 1)
	}
	for k := range o[0] {
		learn([3]float64{o[1][k], o[2][k], o[3][k]}, [3]float64{s.sensitivity[0][k], s.sensitivity[1][k], s.sensitivity[2][k]}, 0.003)
	}
	s.fromXYZ = times(s.fromXYZ, inverted(gram))
	return s
}

// black is a black body by Planck's law [ITS90].
func (o ownObserver) black(mired float64) measuredLight {
	l := measuredLight{name: fmt.Sprintf("black body of %.0f K", 1e6/mired), nm: o[0]}
	for _, nm := range o[0] {
		l.power = append(l.power, math.Pow(nm/560, -5)/(math.Exp(14.388*mired/nm)-1))
	}
	return l
}

// whiteLED is invented: a narrow blue line and a broad band of phosphor.
func (o ownObserver) whiteLED(name string, phosphor, center float64) measuredLight {
	l := measuredLight{name: name, nm: o[0]}
	for _, nm := range o[0] {
		l.power = append(l.power, math.Exp(-math.Pow((nm-452)/10, 2)/2)+phosphor*math.Exp(-math.Pow((nm-center)/52, 2)/2))
	}
	return l
}

func times(a, b [3][3]float64) (out [3][3]float64) {
	for i := range 3 {
		for j := range 3 {
			for k := range 3 {
				out[i][j] += a[i][k] * b[k][j]
			}
		}
	}
	return out
}

func inverted(m [3][3]float64) (out [3][3]float64) {
	minor := func(r, c int) float64 {
		a, b, d, e := (r+1)%3, (r+2)%3, (c+1)%3, (c+2)%3
		return m[a][d]*m[b][e] - m[a][e]*m[b][d]
	}
	det := m[0][0]*minor(0, 0) + m[0][1]*minor(0, 1) + m[0][2]*minor(0, 2)
	for r := range 3 {
		for c := range 3 {
			out[c][r] = minor(r, c) / det
		}
	}
	return out
}

func on(m [3][3]float64, v [3]float64) (out [3]float64) {
	for i := range 3 {
		out[i] = m[i][0]*v[0] + m[i][1]*v[1] + m[i][2]*v[2]
	}
	return out
}

// see returns what the sensor makes of a light, before any gain.
func (s *sensor) see(o ownObserver, l measuredLight) (raw [3]float64) {
	at := map[float64]float64{}
	for i, nm := range l.nm {
		at[nm] = l.power[i]
	}
	for i := range raw {
		for k, nm := range o[0] {
			raw[i] += at[nm] * s.sensitivity[i][k]
		}
	}
	return raw
}

// toXYZ709 is X Y Z of linear R G B [BT709]; the white is D65 in four decimals.
var toXYZ709 = [3][3]float64{{0.4123908, 0.3575843, 0.1804808}, {0.2126390, 0.7151687, 0.0721923}, {0.0193308, 0.1191948, 0.9505322}}

// shoot returns the linear R G B of a grey card on a setting: gains for the white,
// then the body's matrix to the display, which leaves grey grey. Tint + is magenta,
// one unit is 0.0005 Duv of the white.
func (s *sensor) shoot(t *testing.T, o ownObserver, l measuredLight, kelvin, tint float64) (rgb [3]float64) {
	t.Helper()
	white, err := colorimetry.CCTDuv{CCT: colorimetry.Kelvin(1e6 / (1e6/kelvin + s.offMired)),
		Duv: colorimetry.Duv(s.offDuv + 0.0005*tint)}.XY()
	if err != nil {
		t.Fatal(err)
	}
	w := on(s.fromXYZ, [3]float64{white.X / white.Y, 1, (1 - white.X - white.Y) / white.Y})
	raw := s.see(o, l)
	display := on(s.fromXYZ, on(toXYZ709, [3]float64{1, 1, 1}))
	for i := range raw {
		raw[i] *= display[i] / w[i]
	}
	xyz := on(inverted(s.fromXYZ), raw)
	rgb = on(inverted(toXYZ709), xyz)
	for i := range rgb {
		rgb[i] *= 0.18 / xyz[1]
	}
	return rgb
}

// apart is ΔE00 between a mid grey in two pictures.
func apart(a, b [3]float64) float64 {
	scaled := func(rgb [3]float64) colorimetry.XYZ {
		v := on(toXYZ709, rgb)
		return colorimetry.XYZ{X: v[0] / v[1], Y: 1, Z: v[2] / v[1]}
	}
	return colorimetry.GreyDifference(scaled(a), scaled(b))
}

var neutral = [3]float64{0.18, 0.18, 0.18}

func TestTheSensorIsWhatItIsSaidToBe(t *testing.T) {
	for _, peak := range []float64{450, 540, 600} {
		if got := template(peak, peak); math.Abs(got-1) > 0.005 {
			t.Errorf("the template at its peak of %v nm: got %v, want 1", peak, got)
		}
	}
	o := readObserver(t)
	s := o.sensor("A", 600, 540, 455, 0, 0)
	// A light whose white the body knows is nearly grey: what is left is the fit.
	black := o.black(250)
	if got := apart(s.shoot(t, o, black, 4000, 0), neutral); got > 3 {
		t.Errorf("a black body on its own kelvin: %v ΔE00 from grey, want below 3", got)
	}
	// + tint is magenta, + kelvin is warm.
	base, magenta, warm := s.shoot(t, o, black, 4000, 0), s.shoot(t, o, black, 4000, 20), s.shoot(t, o, black, 5000, 0)
	if !(magenta[1] < base[1]) || !(warm[0]/warm[2] > base[0]/base[2]) {
		t.Errorf("got %v, with + tint %v, with more kelvin %v", base, magenta, warm)
	}
}
