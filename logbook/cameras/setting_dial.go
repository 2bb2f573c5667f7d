package cameras

import (
	"fmt"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/figure"
)

// DialsOf reads a body's dials; one whose dials are not in the log has none. A tint unit
// that changes with kelvin is taken at the kelvin given, between two known points straight
// by mired; one that is not in the log is learnt from cards, where there are. Presets go
// by their keys.
func DialsOf(body logbook.View, kelvin float64) colorimetry.Dials {
	d, _ := dialsOf(body, kelvin, Setting{})
	return d
}

// dialsOf is DialsOf for a setting, with a caveat where a unit was learnt; else "".
func dialsOf(body logbook.View, kelvin float64, s Setting) (d colorimetry.Dials, caveat string) {
	number := func(v logbook.Value, name string) float64 { return logbook.FloatOf(v.Member(name)) }
	for r := range body.Value("kelvinRanges").Items() {
		d.Kelvin.Ranges = append(d.Kelvin.Ranges, colorimetry.KelvinRange{
			Min: colorimetry.Kelvin(number(r, "min")), Max: colorimetry.Kelvin(number(r, "max")), Step: colorimetry.Kelvin(number(r, "step"))})
	}
	for v := range body.Value("kelvinValues").Items() {
		d.Kelvin.List = append(d.Kelvin.List, colorimetry.Kelvin(logbook.FloatOf(v)))
	}
	for _, key := range body.Keys("presets") {
		p := body.Value("presets/" + key)
		d.Presets = append(d.Presets, colorimetry.Preset{
			Name: key, Kelvin: colorimetry.Kelvin(number(p, "kelvin")), Duv: colorimetry.Duv(number(p, "duv")),
		})
	}
	if t := body.Value("tint"); t != "" {
		plus, _ := t.Member("plusIs").Text()
		d.Tint = colorimetry.TintDial{Min: number(t, "min"), Max: number(t, "max"), Step: number(t, "step"),
			DuvPerUnit: colorimetry.Duv(number(t, "duvPerUnit")), PlusIsGreen: plus == "green"}
		if unit, ok := tintUnitAt(body, kelvin); ok {
			d.Tint.DuvPerUnit = colorimetry.Duv(unit)
		}
		d.Tint, caveat = tintOf(body, d.Tint, s)
	}
	if f := body.Value("amberBlue"); f != "" {
		plus, _ := f.Member("plusIs").Text()
		d.Fine = colorimetry.FineAxis{Min: number(f, "min"), Max: number(f, "max"), Step: number(f, "step"),
			MiredPerUnit: colorimetry.Mired(number(f, "miredPerUnit")), PlusIsWarm: plus == "amber"}
	}
	d.ZeroLocus = zerosOf(body)[0]
	return d, caveat
}

func tintUnitAt(body logbook.View, kelvin float64) (unit float64, ok bool) {
	if !(kelvin > 0) {
		return 0, false
	}
	type point struct{ mired, unit float64 }
	var below, above *point
	for item := range body.Value("tintPerKelvin").Items() {
		k, u := logbook.FloatOf(item.Member("kelvin")), logbook.FloatOf(item.Member("duvPerUnit"))
		if !(k > 0 && u > 0) {
			continue
		}
		p := &point{1e6 / k, u}
		if p.mired <= 1e6/kelvin && (below == nil || p.mired > below.mired) {
			below = p
		}
		if p.mired >= 1e6/kelvin && (above == nil || p.mired < above.mired) {
			above = p
		}
	}
	switch {
	case below == nil && above == nil:
		return 0, false
	case below == nil:
		return above.unit, true
	case above == nil || above.mired == below.mired:
		return below.unit, true
	}
	t := (1e6/kelvin - below.mired) / (above.mired - below.mired)
	return below.unit + t*(above.unit-below.unit), true
}

// InDialled puts a setting into the form in which it is shown.
func (s Setting) InDialled(b *logbook.Book, body logbook.View) Dialled {
	d := Dialled{WhiteMode: s.Mode, Preset: s.Preset, Words: s.InWords(body)}
	for _, part := range [...]struct {
		from logbook.Value
		to   **float64
	}{{s.Kelvin, &d.Kelvin}, {s.Tint, &d.Tint}, {s.AmberBlue, &d.AmberBlue}} {
		if f, ok := part.from.Float(); ok {
			*part.to = &f
		}
	}
	if t, _, err := s.LabelWhite(b, body); err == nil {
		if xy, err := t.XY(); err == nil {
			d.White = figure.ChromaticityOf(xy)
		}
	}
	return d
}

// dialledChoice is a setting that was computed.
func dialledChoice(c colorimetry.Choice, body logbook.View) Dialled {
	s := Setting{Mode: "kelvin", Tint: asTyped(&c.Setting.Tint), AmberBlue: asTyped(&c.Setting.Fine), Preset: c.Setting.Preset}
	d := Dialled{WhiteMode: "kelvin", Preset: c.Setting.Preset}
	if c.Setting.Preset != "" {
		s.Mode, d.WhiteMode = "preset", "preset"
	} else {
		k := float64(c.Setting.Kelvin)
		s.Kelvin, d.Kelvin = asTyped(&k), &k
	}
	if body.Value("tint") != "" {
		d.Tint = &c.Setting.Tint
	}
	if body.Value("amberBlue") != "" {
		d.AmberBlue = &c.Setting.Fine
	}
	d.Words = s.InWords(body)
	if xy, err := c.White.XY(); err == nil {
		d.White = figure.ChromaticityOf(xy)
	}
	d.Residual = &figure.Difference{
		Mired: figure.Rounded(float64(c.Residual.Mired), figure.MiredDecimals), Duv: figure.Rounded(float64(c.Residual.Duv), figure.DuvDecimals),
		Steps: figure.Rounded(c.Steps, figure.StepsDecimals),
	}
	d.Residual.Words = d.Residual.InWords()
	d.DeltaE00 = figure.Rounded(c.DeltaE, figure.DeltaDecimals)
	return d
}

// WhatToDialWith finds the setting on the body whose picture of a light is nearest to that of
// an aim, and the second-best. It knows how far the body's white is from its label.
func (m *Memo) WhatToDialWith(
	body logbook.View, aim colorimetry.CCTDuv, light colorimetry.XY, cameraError colorimetry.Cast,
) (best Dialled, second *Dialled, caveats []string, err error) {
	d, caveat := dialsOf(body, float64(aim.CCT), Setting{})
	if len(d.Kelvin.Ranges)+len(d.Kelvin.List)+len(d.Presets) == 0 {
		if hasWhiteMode(body, "customFromCard") {
			best, caveats, err = customWhite(aim, light)
			return best, nil, caveats, err
		}
		return best, nil, nil, fmt.Errorf("%w: the dials of body %s are not in the log", figure.ErrUnknown, body.Text("label"))
	}
	first, next, err := m.nearest(body, d, aim, light, cameraError)
	if err != nil {
		return best, nil, nil, err
	}
	if zero := zeroCaveat(body); zero != "" && first.Setting.Preset == "" && cameraError == (colorimetry.Cast{}) {
		caveats = append(caveats, zero) // an error by cards holds whatever was assumed
	}
	if first.TintUnknown {
		caveats = append(caveats, "what a tint unit does on this body is not known: tint was left at 0")
	}
	if caveat != "" && first.Setting.Tint != 0 {
		caveats = append(caveats, caveat)
	}
	best = dialledChoice(first, body)
	if next != (colorimetry.Choice{}) {
		s := dialledChoice(next, body)
		second = &s
	}
	return best, second, caveats, nil
}

// WhyNotNearest says why the setting advised is another than that of the kelvin nearest by
// its label; "" where it is that one, or less than half a step in the picture better.
func WhyNotNearest(body logbook.View, aim colorimetry.CCTDuv, light colorimetry.XY, cameraError colorimetry.Cast, best Dialled) string {
	d := DialsOf(body, float64(aim.CCT))
	label, err := (aim.Mired() - cameraError.Mired).Kelvin()
	if err != nil || best.Kelvin == nil || best.Residual == nil || best.Residual.Steps == nil {
		return ""
	}
	nearest, err := d.Kelvin.Nearest(label)
	if err != nil || float64(nearest) == *best.Kelvin {
		return ""
	}
	d.Kelvin, d.Presets = colorimetry.KelvinDial{List: []colorimetry.Kelvin{nearest}}, nil
	other, _, err := d.Nearest(aim, light, cameraError)
	const worthSaying = 0.5
	if err != nil || other.Steps < *best.Residual.Steps+worthSaying {
		return ""
	}
	return fmt.Sprintf("%g K, which is nearer by its label, would leave %.*f steps and not %.*f",
		float64(nearest), figure.StepsDecimals, other.Steps, figure.StepsDecimals, *best.Residual.Steps)
}

// customWhite is what a body without a kelvin can do: render a card neutral that
// stands in the light.
func customWhite(aim colorimetry.CCTDuv, light colorimetry.XY) (best Dialled, caveats []string, err error) {
	t, err := light.CCTDuv()
	if err != nil {
		return best, nil, err
	}
	s := Setting{Mode: "customFromCard"}
	best = Dialled{WhiteMode: s.Mode, Words: s.InWords(logbook.View{}), White: figure.ChromaticityOf(light)}
	residual := figure.PictureDifference(t, aim, figure.ChromaticityOf(light))
	best.Residual = &residual
	if target, err := aim.XY(); err == nil {
		own, err := colorimetry.Picture(light, light, colorimetry.CAT16)
		wanted, other := colorimetry.Picture(light, target, colorimetry.CAT16)
		if err == nil && other == nil {
			best.DeltaE00 = figure.Rounded(colorimetry.GreyDifference(own, wanted), figure.DeltaDecimals)
		}
	}
	return best, []string{"the body has no kelvin: shoot a card in this light and take the white from it"}, nil
}
