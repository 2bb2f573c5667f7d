package colorimetry

import "fmt"

// The hard limits of a body's dials.
const (
	minDial, maxDial = 1000, 25000
	maxPositions     = 30000
	maxUnits         = 10000
	maxSideways      = 2001
)

// Check returns ErrDomain unless the dials are possible: kelvin values from 1000
// to 25 000, steps above 0 of which at most 30 000 (kelvin) or 2001 (tint, fine)
// fit, tint and fine dials that have a 0, units that are not negative, presets
// with names of their own and a white in the domain of CCTDuv, at least one
// kelvin value or preset, and a known ZeroLocus.
func (d Dials) Check() error {
	for _, check := range []func() error{d.Kelvin.check, d.checkPresets, d.checkTint, d.checkFine} {
		if err := check(); err != nil {
			return err
		}
	}
	if len(d.Kelvin.Ranges)+len(d.Kelvin.List)+len(d.Presets) == 0 {
		return fmt.Errorf("%w: the body has 0 ways to set white, allowed is at least one kelvin value or preset", ErrDomain)
	}
	if d.ZeroLocus < BlackBody || d.ZeroLocus > Blend {
		return domainError("where tint 0 lies", float64(d.ZeroLocus), "0 (black body), 1 (daylight) or 2 (blend)")
	}
	return nil
}

func (k KelvinDial) check() error {
	total := len(k.List)
	for _, v := range k.List {
		if !(v >= minDial && v <= maxDial) {
			return domainError("kelvin on the list", float64(v), "1000 to 25000")
		}
	}
	for i, r := range k.Ranges {
		name := fmt.Sprintf("kelvin range %d: ", i+1)
		if !(r.Min >= minDial && r.Min <= maxDial) {
			return domainError(name+"min", float64(r.Min), "1000 to 25000")
		}
		if !(r.Max >= r.Min && r.Max <= maxDial) {
			return domainError(name+"max", float64(r.Max), fmt.Sprintf("its min %v to 25000", float64(r.Min)))
		}
		if !(r.Step >= 1 && r.Step <= maxDial) {
			return domainError(name+"step", float64(r.Step), "1 or above")
		}
		total += r.axis().count()
	}
	if total > maxPositions {
		return domainError("count of kelvin values", float64(total), "at most 30000")
	}
	return nil
}

func (d Dials) checkPresets() error {
	seen := map[string]bool{}
	for i, p := range d.Presets {
		if p.Name == "" || seen[p.Name] {
			return fmt.Errorf("%w: name of preset %d is %q, allowed is a name of its own", ErrDomain, i+1, p.Name)
		}
		seen[p.Name] = true
		if !(p.Kelvin >= minDial && p.Kelvin <= maxDial) {
			return domainError("kelvin of preset "+p.Name, float64(p.Kelvin), "1000 to 25000")
		}
		if err := (CCTDuv{p.Kelvin, p.Duv}).Check(); err != nil {
			return fmt.Errorf("preset %s: %w", p.Name, err)
		}
	}
	return nil
}

func (d Dials) checkTint() error {
	if d.Tint == (TintDial{}) {
		return nil
	}
	if !(d.Tint.DuvPerUnit >= 0 && d.Tint.DuvPerUnit <= MaxDuv) {
		return domainError("Duv of a tint unit", float64(d.Tint.DuvPerUnit), "above 0 to 0.05, or 0 for unknown")
	}
	return d.Tint.axis().check("tint")
}

func (d Dials) checkFine() error {
	if d.Fine == (FineAxis{}) {
		return nil
	}
	if !(d.Fine.MiredPerUnit > 0 && d.Fine.MiredPerUnit <= 100) {
		return domainError("mired of an amber–blue unit", float64(d.Fine.MiredPerUnit), "above 0 to 100")
	}
	return d.Fine.axis().check("amber–blue")
}

func (a axis) check(name string) error {
	if !(a.min >= -maxUnits && a.min <= 0) {
		return domainError(name+" min", a.min, "-10000 to 0")
	}
	if !(a.max >= 0 && a.max <= maxUnits) {
		return domainError(name+" max", a.max, "0 to 10000")
	}
	if !(a.step > 0 && a.step <= maxUnits) {
		return domainError(name+" step", a.step, "above 0 to 10000")
	}
	if (a.max-a.min)/a.step > maxSideways {
		return domainError("count of "+name+" positions", (a.max-a.min)/a.step, "at most 2001")
	}
	if _, ok := a.index(0); !ok {
		return domainError(name+" min", a.min, fmt.Sprintf("a multiple of the step %v, so that the dial has a 0", a.step))
	}
	return nil
}
