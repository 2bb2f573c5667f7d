package setup

import (
	"fmt"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
)

// mix is measured where somebody measured everything that was on since the last
// single light, and computed from the single lights otherwise.
func (r *resolver) mix(setUp logbook.ID, position string, at logbook.Millis) (colorimetry.XY, error) {
	all := r.readingsOf(setUp)
	here := func(m *lighting.Reading) bool {
		return m.Plain() && m.Color != nil && (position == "" || m.Position == position)
	}
	together := lighting.Latest(all, at, func(m *lighting.Reading) bool { return here(m) && m.Of == "everything" })
	var lit []colorimetry.Lit
	var used []*lighting.Reading
	missing := ""
	for _, light := range r.book.Referring(kinds.Light, "setUp", setUp) {
		if !lighting.IsOn(light) {
			continue
		}
		m := lighting.Latest(all, at, func(m *lighting.Reading) bool { return here(m) && m.OfLight(light.ID) && m.IlluminanceLux != nil })
		if m == nil {
			missing = light.Text("name")
			continue
		}
		used = append(used, m)
		lit = append(lit, colorimetry.Lit{Light: m.Color.XY, Lux: colorimetry.Lux(*m.IlluminanceLux)})
	}
	newer := len(lit) > 0 && missing == ""
	for _, m := range used {
		if together != nil && m.TakenAt <= together.TakenAt {
			newer = false
		}
	}
	switch {
	case together != nil && !newer:
		r.uses(together, at)
		r.origin.Method, r.origin.Confidence = "a reading of everything that was on", "measured"
		return together.Color.XY, nil
	case missing != "":
		return colorimetry.XY{}, fmt.Errorf("%w: for the mix, %s has no reading with lux here", figure.ErrUnknown, missing)
	case len(lit) == 0:
		return colorimetry.XY{}, fmt.Errorf("%w: for the mix there is neither a light that is on nor a reading of everything", figure.ErrUnknown)
	}
	for _, m := range used {
		r.uses(m, at)
		last := lighting.Latest(all, at, func(o *lighting.Reading) bool { return here(o) && len(m.Lights) == 1 && o.OfLight(m.Lights[0]) })
		if last != nil && last.TakenAt > m.TakenAt {
			r.caveat("a newer reading of " + m.Name(r.book) + " has no lux: the one before was added")
		}
	}
	r.origin.Method, r.origin.Confidence = "tristimulus values of the single lights added by illuminance", "mixed"
	mixed, err := colorimetry.Mix(lit)
	return mixed.Light, err
}
