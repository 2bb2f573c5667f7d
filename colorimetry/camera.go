package colorimetry

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// KelvinRange is one stretch of a kelvin dial: Min, Min + Step, … up to Max. Max
// itself is on the dial only if a step falls on it.
type KelvinRange struct{ Min, Max, Step Kelvin }

// KelvinDial is what a body offers in kelvin: stretches with steps, single
// values, or both. The zero value is no kelvin dial.
type KelvinDial struct {
	Ranges []KelvinRange
	List   []Kelvin
}

// TintDial is a green–magenta dial. The zero value is none.
type TintDial struct {
	Min, Max, Step float64
	// DuvPerUnit is how far one unit moves the Duv of the assumed white; above 0,
	// or 0 where it is unknown.
	DuvPerUnit Duv
	// PlusIsGreen says that a rising number makes the picture greener. Makes
	// differ. The white goes the other way: tint towards magenta raises its Duv.
	PlusIsGreen bool
}

// FineAxis is an amber–blue fine adjustment on top of kelvin or a preset. The
// zero value is none.
type FineAxis struct {
	Min, Max, Step float64
	// MiredPerUnit is how far one unit moves the assumed white; above 0.
	MiredPerUnit Mired
	// PlusIsWarm says that a rising number makes the picture warmer (amber).
	PlusIsWarm bool
}

// Preset is a white by name. Its Duv is counted from the black body.
type Preset struct {
	Name   string
	Kelvin Kelvin
	Duv    Duv
}

// Dials are the ways in which a camera body lets its white be set.
type Dials struct {
	Kelvin  KelvinDial
	Tint    TintDial
	Fine    FineAxis
	Presets []Preset
	// ZeroLocus is where the white of a kelvin value lies at tint 0. ZeroUnknown
	// says that nobody knows; the black body is then assumed, and every Choice
	// says so.
	ZeroLocus   Locus
	ZeroUnknown bool
}

// Setting is one position of the dials: a kelvin value, or a preset by name
// (Kelvin is then 0), with tint and fine adjustment.
type Setting struct {
	Kelvin Kelvin
	Tint   float64
	Fine   float64
	Preset string
}

// White returns the white that a setting claims: the light that the body would
// render neutral if it kept to its label. Domain: a setting that Has allows, a
// tint of 0 where the tint unit is unknown, and a result in the domain of CCTDuv;
// else ErrDomain.
func (d Dials) White(s Setting) (CCTDuv, error) {
	if err := d.Has(s); err != nil {
		return CCTDuv{}, err
	}
	base, err := d.base(s)
	if err != nil {
		return CCTDuv{}, err
	}
	if s.Tint != 0 && d.Tint.DuvPerUnit == 0 {
		return CCTDuv{}, domainError("tint", s.Tint, "0 as long as the Duv of a tint unit is not known")
	}
	return moved(base, d.tintDuv(s.Tint), d.fineMired(s.Fine))
}

// moved returns a white changed by a Duv and a shift.
func moved(white CCTDuv, duv Duv, shift Mired) (CCTDuv, error) {
	out := CCTDuv{white.CCT, white.Duv + duv}
	if shift != 0 {
		k, err := (white.Mired() + shift).Kelvin()
		if err != nil {
			return CCTDuv{}, err
		}
		out.CCT = k
	}
	return out, out.Check()
}

// base is the white at tint 0 and fine 0.
func (d Dials) base(s Setting) (CCTDuv, error) {
	if s.Preset != "" {
		for _, p := range d.Presets {
			if p.Name == s.Preset {
				return CCTDuv{p.Kelvin, p.Duv}, nil
			}
		}
	}
	if d.ZeroUnknown || d.ZeroLocus == BlackBody {
		return CCTDuv{s.Kelvin, 0}, nil
	}
	k := s.Kelvin
	if d.ZeroLocus == Daylight {
		k = max(k, minDaylight)
	}
	xy, err := Nominal(k, d.ZeroLocus)
	if err != nil {
		return CCTDuv{}, err
	}
	white, err := xy.CCTDuv()
	if k != s.Kelvin {
		// The daylight locus ends at 4000 K, dials go on: they keep its Duv.
		white.CCT *= s.Kelvin / k
	}
	return white, err
}

// tintDuv is the change of the white's Duv, which runs against the picture's.
func (d Dials) tintDuv(tint float64) Duv {
	duv := Duv(tint) * d.Tint.DuvPerUnit
	if d.Tint.PlusIsGreen {
		return -duv
	}
	return duv
}

// fineMired is the change of the white's mireds, which runs against the
// picture's.
func (d Dials) fineMired(fine float64) Mired {
	shift := Mired(fine) * d.Fine.MiredPerUnit
	if d.Fine.PlusIsWarm {
		return -shift
	}
	return shift
}

// Has returns nil if the setting exists on the dials, and otherwise an ErrDomain
// that names what is allowed. A tint exists even where its unit is unknown.
func (d Dials) Has(s Setting) error {
	if err := d.Check(); err != nil {
		return err
	}
	if s.Preset != "" {
		if err := d.hasPreset(s); err != nil {
			return err
		}
	} else if !d.Kelvin.has(s.Kelvin) {
		return domainError("kelvin", float64(s.Kelvin), d.Kelvin.allowed(d.Presets))
	}
	if err := d.Tint.axis().has("tint", s.Tint); err != nil {
		return err
	}
	return d.Fine.axis().has("amber–blue", s.Fine)
}

func (d Dials) hasPreset(s Setting) error {
	for _, p := range d.Presets {
		if p.Name != s.Preset {
			continue
		}
		if s.Kelvin != 0 && s.Kelvin != p.Kelvin {
			return domainError("kelvin beside preset "+s.Preset, float64(s.Kelvin), fmt.Sprintf("none, or its own %v", float64(p.Kelvin)))
		}
		return nil
	}
	allowed := "no preset: this body has none"
	if len(d.Presets) > 0 {
		allowed = presetNames(d.Presets)
	}
	return fmt.Errorf("%w: preset is %q, allowed is %s", ErrDomain, s.Preset, allowed)
}

func presetNames(presets []Preset) string {
	names := make([]string, len(presets))
	for i, p := range presets {
		names[i] = p.Name
	}
	return strings.Join(names, ", ")
}

func (k KelvinDial) has(value Kelvin) bool {
	if slices.Contains(k.List, value) {
		return true
	}
	for _, r := range k.Ranges {
		if _, ok := r.axis().index(float64(value)); ok {
			return true
		}
	}
	return false
}

func (k KelvinDial) allowed(presets []Preset) string {
	var parts []string
	for _, r := range k.Ranges {
		parts = append(parts, r.axis().String())
	}
	for _, v := range k.List {
		parts = append(parts, fmt.Sprint(float64(v)))
	}
	switch {
	case len(parts) > 0:
		return strings.Join(parts, ", ")
	case len(presets) > 0:
		return "no kelvin value: this body has presets only: " + presetNames(presets)
	}
	return "nothing: this body has no dials"
}

func (r KelvinRange) axis() axis { return axis{float64(r.Min), float64(r.Max), float64(r.Step)} }
func (t TintDial) axis() axis    { return axis{t.Min, t.Max, t.Step} }
func (f FineAxis) axis() axis    { return axis{f.Min, f.Max, f.Step} }

// axis is an evenly stepped dial. The zero value has the one position 0: a dial
// that is not there stands at 0.
type axis struct{ min, max, step float64 }

// onStep is how far, in steps, a typed number may lie beside a step: decimals
// such as 0.1 have no exact float.
const onStep = 1e-6

func (a axis) count() int {
	if a.step == 0 {
		return 1
	}
	return int(math.Floor((a.max-a.min)/a.step+onStep)) + 1
}

// at returns a position, rounded so that 3·0.1 is 0.3 on a screen.
func (a axis) at(i int) float64 { return math.Round((a.min+float64(i)*a.step)*1e9) / 1e9 }

func (a axis) index(value float64) (int, bool) {
	if a.step == 0 {
		return 0, value == a.min
	}
	i := math.Round((value - a.min) / a.step)
	if !(i >= 0 && i < float64(a.count())) {
		return 0, false
	}
	return int(i), math.Abs(a.min+i*a.step-value) <= onStep*a.step
}

func (a axis) has(name string, value float64) error {
	if _, ok := a.index(value); ok {
		return nil
	}
	if a == (axis{}) {
		return domainError(name, value, "0: this body has no such dial")
	}
	return domainError(name, value, a.String())
}

func (a axis) String() string {
	if a.step == 0 {
		return fmt.Sprint(a.min)
	}
	return fmt.Sprintf("%v to %v in steps of %v", a.min, a.max, a.step)
}
