package logbook

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"evenwhite/colorimetry"
)

// setting is how a camera's white was set, as typed.
type setting struct {
	mode                    string
	kelvin, tint, amberBlue Value
	preset                  string
	customFrom              ID
}

func settingOf(mode, kelvin, tint, amberBlue, preset Value) setting {
	s := setting{kelvin: kelvin, tint: tint, amberBlue: amberBlue}
	s.mode, _ = mode.Text()
	s.preset, _ = preset.Text()
	return s
}

// clipSetting is what a clip was set to at its start.
func clipSetting(clip View) setting {
	s := settingOf(clip.Value("whiteMode"), clip.Value("kelvin"), clip.Value("tint"), clip.Value("amberBlue"), clip.Value("preset"))
	s.customFrom = clip.Ref("customFrom")
	return s
}

// changedSettings are what it was set to while it rolled, by the keys of changes.
func changedSettings(clip View) (all []setting) {
	for _, key := range clip.Keys("changes") {
		v := clip.Value("changes/" + key)
		all = append(all, settingOf(v.Member("whiteMode"), v.Member("kelvin"), v.Member("tint"), v.Member("amberBlue"), v.Member("preset")))
	}
	return all
}

func floatOf(v Value) float64 {
	f, _ := v.Float()
	return f
}

// key is equal for equal settings: settings are compared by equality, because a
// dial that moved inside the tolerance was still moved by somebody. A tint that
// is not said stands at 0.
func (s setting) key() string {
	parts := []string{s.mode}
	switch s.mode {
	case "kelvin":
		parts = append(parts, strconv.FormatFloat(floatOf(s.kelvin), 'g', -1, 64))
	case "preset":
		parts = append(parts, s.preset)
	case "customFromCard":
		parts = append(parts, s.customFrom.String())
	}
	if s.mode == "kelvin" || s.mode == "preset" {
		parts = append(parts, strconv.FormatFloat(floatOf(s.tint), 'g', -1, 64), strconv.FormatFloat(floatOf(s.amberBlue), 'g', -1, 64))
	}
	return strings.Join(parts, " ")
}

// words names a setting for a sentence; the body knows the names of its presets.
func (s setting) words(body View) string {
	var out string
	switch s.mode {
	case "kelvin":
		number, ok := s.kelvin.Number()
		if !ok {
			return "kelvin, no value"
		}
		out = number + " K"
	case "preset":
		out = "preset " + s.preset
		if body.book != nil {
			if name, ok := body.Value("presets/" + s.preset).Member("name").Text(); ok {
				out = "preset " + name
			}
		}
	case "customFromCard":
		return "custom white from a card"
	case "auto":
		return "automatic white"
	case "autoHeld":
		return "held automatic white"
	default:
		return "no setting"
	}
	if f := floatOf(s.tint); f != 0 {
		out += fmt.Sprintf(", tint %+g", f)
	}
	if f := floatOf(s.amberBlue); f != 0 {
		out += fmt.Sprintf(", amber–blue %+g", f)
	}
	return out
}

// complete reports whether the values that the mode needs are there.
func (s setting) complete() bool {
	switch s.mode {
	case "kelvin":
		_, ok := s.kelvin.Float()
		return ok
	case "preset":
		return s.preset != ""
	case "":
		return false
	}
	return true
}

func (s setting) dials() colorimetry.Setting {
	d := colorimetry.Setting{Tint: floatOf(s.tint), Fine: floatOf(s.amberBlue)}
	if s.mode == "preset" {
		d.Preset = s.preset
	} else {
		d.Kelvin = colorimetry.Kelvin(floatOf(s.kelvin))
	}
	return d
}

// DialsOf reads a body's dials. A tint unit that changes with kelvin is taken at
// the kelvin given, between two known points straight by mired. Presets go by
// their keys. A body with no dials in the log has none.
func DialsOf(body View, kelvin float64) colorimetry.Dials {
	number := func(v Value, name string) float64 { return floatOf(v.Member(name)) }
	var d colorimetry.Dials
	for r := range body.Value("kelvinRanges").Items() {
		d.Kelvin.Ranges = append(d.Kelvin.Ranges, colorimetry.KelvinRange{
			Min: colorimetry.Kelvin(number(r, "min")), Max: colorimetry.Kelvin(number(r, "max")), Step: colorimetry.Kelvin(number(r, "step"))})
	}
	for v := range body.Value("kelvinValues").Items() {
		d.Kelvin.List = append(d.Kelvin.List, colorimetry.Kelvin(floatOf(v)))
	}
	for _, key := range body.Keys("presets") {
		p := body.Value("presets/" + key)
		d.Presets = append(d.Presets, colorimetry.Preset{Name: key, Kelvin: colorimetry.Kelvin(number(p, "kelvin")), Duv: colorimetry.Duv(number(p, "duv"))})
	}
	if t := body.Value("tint"); t != "" {
		plus, _ := t.Member("plusIs").Text()
		d.Tint = colorimetry.TintDial{Min: number(t, "min"), Max: number(t, "max"), Step: number(t, "step"),
			DuvPerUnit: colorimetry.Duv(number(t, "duvPerUnit")), PlusIsGreen: plus == "green"}
		if unit, ok := tintUnitAt(body, kelvin); ok {
			d.Tint.DuvPerUnit = colorimetry.Duv(unit)
		}
	}
	if f := body.Value("amberBlue"); f != "" {
		plus, _ := f.Member("plusIs").Text()
		d.Fine = colorimetry.FineAxis{Min: number(f, "min"), Max: number(f, "max"), Step: number(f, "step"),
			MiredPerUnit: colorimetry.Mired(number(f, "miredPerUnit")), PlusIsWarm: plus == "amber"}
	}
	switch body.Text("tintZero") {
	case "blackBody":
	case "daylight":
		d.ZeroLocus = colorimetry.Daylight
	case "blend":
		d.ZeroLocus = colorimetry.Blend
	default:
		d.ZeroUnknown = true
	}
	return d
}

func tintUnitAt(body View, kelvin float64) (unit float64, ok bool) {
	if !(kelvin > 0) {
		return 0, false
	}
	type point struct{ mired, unit float64 }
	var below, above *point
	for item := range body.Value("tintPerKelvin").Items() {
		k, u := floatOf(item.Member("kelvin")), floatOf(item.Member("duvPerUnit"))
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

// labelWhite is the white that a setting claims on a body, with what was assumed.
func (s setting) labelWhite(b *Book, body View) (white colorimetry.CCTDuv, caveats []string, err error) {
	switch {
	case !s.complete():
		return white, nil, fmt.Errorf("%w: the setting has no values", ErrUnknown)
	case s.mode == "auto" || s.mode == "autoHeld":
		return white, nil, fmt.Errorf("%w: %s has no label", ErrUnknown, s.words(body))
	case s.mode == "customFromCard":
		xy, err := newResolver(b).card(s.customFrom, 0)
		if err != nil {
			return white, nil, err
		}
		white, err = xy.CCTDuv()
		return white, nil, err
	}
	d := DialsOf(body, floatOf(s.kelvin))
	if d.ZeroUnknown {
		caveats = append(caveats, "where the body's tint 0 lies is not known: the black body was assumed")
	}
	if s.mode == "kelvin" && len(d.Kelvin.Ranges)+len(d.Kelvin.List) == 0 {
		d.Kelvin.List = []colorimetry.Kelvin{colorimetry.Kelvin(floatOf(s.kelvin))}
		caveats = append(caveats, "the body's kelvin dial is not in the log")
	}
	white, err = d.White(s.dials())
	return white, caveats, err
}

// check returns nil where the setting exists on the body, and otherwise an error
// that names what is allowed. A body whose dials are not in the log has anything.
func (s setting) check(body View) error {
	var modes []string
	for v := range body.Value("whiteModes").Items() {
		mode, _ := v.Text()
		modes = append(modes, mode)
	}
	if len(modes) > 0 && !strings.Contains(" "+strings.Join(modes, " ")+" ", " "+s.mode+" ") {
		return fmt.Errorf("white mode is %s, allowed is %s", s.mode, strings.Join(modes, ", "))
	}
	if !s.complete() || s.mode != "kelvin" && s.mode != "preset" {
		return nil
	}
	d := DialsOf(body, floatOf(s.kelvin))
	if s.mode == "kelvin" && len(d.Kelvin.Ranges)+len(d.Kelvin.List) == 0 {
		return nil
	}
	return d.Has(s.dials())
}

// dialled puts a setting into the form in which it is shown.
func (s setting) dialled(b *Book, body View) Dialled {
	d := Dialled{WhiteMode: s.mode, Preset: s.preset, Words: s.words(body)}
	for _, part := range [...]struct {
		from Value
		to   **float64
	}{{s.kelvin, &d.Kelvin}, {s.tint, &d.Tint}, {s.amberBlue, &d.AmberBlue}} {
		if f, ok := part.from.Float(); ok {
			*part.to = &f
		}
	}
	if t, _, err := s.labelWhite(b, body); err == nil {
		if xy, err := t.XY(); err == nil {
			d.White = chromaticityOf(xy)
		}
	}
	return d
}

// dialledChoice is a setting that was computed.
func dialledChoice(c colorimetry.Choice, body View) Dialled {
	number := func(f float64) Value { return Value(strconv.FormatFloat(f, 'f', -1, 64)) }
	s := setting{mode: "kelvin", tint: number(c.Setting.Tint), amberBlue: number(c.Setting.Fine), preset: c.Setting.Preset}
	d := Dialled{WhiteMode: "kelvin", Preset: c.Setting.Preset}
	if c.Setting.Preset != "" {
		s.mode, d.WhiteMode = "preset", "preset"
	} else {
		k := float64(c.Setting.Kelvin)
		s.kelvin, d.Kelvin = number(k), &k
	}
	if body.Value("tint") != "" {
		d.Tint = &c.Setting.Tint
	}
	if body.Value("amberBlue") != "" {
		d.AmberBlue = &c.Setting.Fine
	}
	d.Words = s.words(body)
	if xy, err := c.White.XY(); err == nil {
		d.White = chromaticityOf(xy)
	}
	d.Residual = &Difference{Mired: rounded(float64(c.Residual.Mired), miredDecimals), Duv: rounded(float64(c.Residual.Duv), duvDecimals), Steps: rounded(c.Steps, stepsDecimals)}
	d.Residual.Words = d.Residual.words()
	d.DeltaE00 = rounded(c.DeltaE, deltaDecimals)
	return d
}

// whatToDial finds the setting on the body whose picture of a light is nearest
// to that of an aim, and the second-best.
func whatToDial(body View, aim colorimetry.CCTDuv, light colorimetry.XY) (best Dialled, second *Dialled, caveats []string, err error) {
	d := DialsOf(body, float64(aim.CCT))
	if len(d.Kelvin.Ranges)+len(d.Kelvin.List)+len(d.Presets) == 0 {
		return best, nil, nil, fmt.Errorf("%w: the dials of body %s are not in the log", ErrUnknown, body.Text("label"))
	}
	first, next, err := d.Nearest(aim, light, colorimetry.Cast{})
	if err != nil {
		return best, nil, nil, err
	}
	if first.ZeroAssumed {
		caveats = append(caveats, "where the body's tint 0 lies is not known: the black body was assumed")
	}
	if first.TintUnknown {
		caveats = append(caveats, "what a tint unit does on this body is not known: tint was left at 0")
	}
	best = dialledChoice(first, body)
	if next != (colorimetry.Choice{}) {
		s := dialledChoice(next, body)
		second = &s
	}
	return best, second, caveats, nil
}

// bodyAt is the body that filled a camera at a time, by the history of swaps.
func bodyAt(b *Book, camera View, at Millis) (View, bool) {
	found, when := ID{}, beginning
	for _, e := range camera.Edits() {
		c, ok := e.Change("body")
		if !ok {
			continue
		}
		id, ok := c.Value.Member("body").ID()
		from := e.Corrected()
		if text, given := c.Value.Member("from").Text(); given {
			if t, err := time.Parse(time.RFC3339, text); err == nil {
				from = MillisOf(t)
			}
		}
		if ok && (found.IsZero() || from <= at && from >= when) {
			found, when = id, from
		}
	}
	return b.RecordOf(KindBody, found)
}

// bodyNow is the body that fills a camera.
func bodyNow(b *Book, camera View) (View, bool) {
	id, _ := camera.Value("body").Member("body").ID()
	return b.RecordOf(KindBody, id)
}

// setting is the way back, for comparing by equality.
func (d Dialled) setting() setting {
	number := func(f *float64) Value {
		if f == nil {
			return ""
		}
		return Value(strconv.FormatFloat(*f, 'f', -1, 64))
	}
	return setting{mode: d.WhiteMode, preset: d.Preset, kelvin: number(d.Kelvin), tint: number(d.Tint), amberBlue: number(d.AmberBlue)}
}
