package cameras

import (
	"fmt"
	"slices"
	"sort"
	"strconv"
	"strings"
	"time"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
)

// Setting is how a camera's white was set, as typed.
type Setting struct {
	Mode                    string
	Kelvin, Tint, AmberBlue logbook.Value
	Preset                  string
	CustomFrom              logbook.ID
	On                      string      // the date of its clip or card: what a tint unit does counts as learnt by then; "": by now
	taught                  *tintLearnt // what cards teach of a tint unit, whatever they do by that date; unit 0: nothing
}

func SettingOf(mode, kelvin, tint, amberBlue, preset logbook.Value) Setting {
	s := Setting{Kelvin: kelvin, Tint: tint, AmberBlue: amberBlue}
	s.Mode, _ = mode.Text()
	s.Preset, _ = preset.Text()
	return s
}

// ClipSetting is what a clip was set to at its start.
func ClipSetting(clip logbook.View) Setting {
	s := SettingOf(clip.Value("whiteMode"), clip.Value("kelvin"), clip.Value("tint"), clip.Value("amberBlue"), clip.Value("preset"))
	s.CustomFrom, s.On = clip.Ref("customFrom"), dateOfClip(clip)
	return s
}

func dateOfClip(clip logbook.View) string {
	if !clip.Known() {
		return ""
	}
	return lighting.DateOf(clip.Book(), clip.Ref("setUp"))
}

// ChangedSettings are what it was set to while it rolled, by the keys of changes.
func ChangedSettings(clip logbook.View) (all []Setting) {
	for _, key := range clip.Keys("changes") {
		v := clip.Value("changes/" + key)
		s := SettingOf(v.Member("whiteMode"), v.Member("kelvin"), v.Member("tint"), v.Member("amberBlue"), v.Member("preset"))
		s.On = dateOfClip(clip)
		all = append(all, s)
	}
	return all
}

// Key is equal for equal settings: settings are compared by equality, because a
// dial that moved inside the tolerance was still moved by somebody. A tint that
// is not said stands at 0.
func (s Setting) Key() string {
	parts := []string{s.Mode}
	switch s.Mode {
	case "kelvin":
		parts = append(parts, strconv.FormatFloat(logbook.FloatOf(s.Kelvin), 'g', -1, 64))
	case "preset":
		parts = append(parts, s.Preset)
	case "customFromCard":
		parts = append(parts, s.CustomFrom.String())
	}
	if s.OnDial() {
		parts = append(parts, strconv.FormatFloat(logbook.FloatOf(s.Tint), 'g', -1, 64),
			strconv.FormatFloat(logbook.FloatOf(s.AmberBlue), 'g', -1, 64))
	}
	return strings.Join(parts, " ")
}

// InWords names a setting for a sentence; the body knows the names of its presets.
func (s Setting) InWords(body logbook.View) string {
	var out string
	switch s.Mode {
	case "kelvin":
		number, ok := s.Kelvin.Number()
		if !ok {
			return "kelvin, no value"
		}
		out = number + " K"
	case "preset":
		out = "preset " + s.Preset
		if body.Known() {
			if name, ok := body.Value("presets/" + s.Preset).Member("name").Text(); ok {
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
	if f := logbook.FloatOf(s.Tint); f != 0 {
		out += fmt.Sprintf(", tint %+g", f)
	}
	if f := logbook.FloatOf(s.AmberBlue); f != 0 {
		out += fmt.Sprintf(", amber–blue %+g", f)
	}
	return out
}

// OnDial reports whether the white is one that a dial names: only then can the body be
// off its label. A custom white is the light on its card, whatever the dial errs.
func (s Setting) OnDial() bool { return s.Mode == "kelvin" || s.Mode == "preset" }

// Complete reports whether the values that the mode needs are there.
func (s Setting) Complete() bool {
	switch s.Mode {
	case "kelvin":
		_, ok := s.Kelvin.Float()
		return ok
	case "preset":
		return s.Preset != ""
	case "":
		return false
	}
	return true
}

func (s Setting) dials() colorimetry.Setting {
	d := colorimetry.Setting{Tint: logbook.FloatOf(s.Tint), Fine: logbook.FloatOf(s.AmberBlue)}
	if s.Mode == "preset" {
		d.Preset = s.Preset
	} else {
		d.Kelvin = colorimetry.Kelvin(logbook.FloatOf(s.Kelvin))
	}
	return d
}

// LabelWhite is the white that a setting claims on a body, with what was assumed.
func (s Setting) LabelWhite(b *logbook.Book, body logbook.View) (white colorimetry.CCTDuv, caveats []string, err error) {
	switch {
	case !s.Complete():
		return white, nil, fmt.Errorf("%w: the setting has no values", figure.ErrUnknown)
	case s.Mode == "auto" || s.Mode == "autoHeld":
		return white, nil, fmt.Errorf("%w: %s has no label", figure.ErrUnknown, s.InWords(body))
	case s.Mode == "customFromCard" && s.CustomFrom.IsZero():
		return white, nil, fmt.Errorf("%w: it is not said which card the custom white was taken from", figure.ErrUnknown)
	case s.Mode == "customFromCard":
		xy, _, _, err := LightOnCard(b, s.CustomFrom, 0, Known{})
		if err != nil {
			return white, nil, err
		}
		white, err = xy.CCTDuv()
		return white, nil, err
	}
	return s.dialWhite(body)
}

// dialWhite is the white that a kelvin or a preset claims on a body.
func (s Setting) dialWhite(body logbook.View) (white colorimetry.CCTDuv, caveats []string, err error) {
	if !s.Complete() {
		return white, nil, fmt.Errorf("%w: the setting has no values", figure.ErrUnknown)
	}
	d, caveats := s.dialsAt(body)
	white, err = d.White(s.dials())
	return white, caveats, err
}

// dialsAt are the dials of a body at a setting, with what was assumed of them. A kelvin of a
// body whose dial is not in the log is on it.
func (s Setting) dialsAt(body logbook.View) (d colorimetry.Dials, caveats []string) {
	d, caveat := dialsOf(body, logbook.FloatOf(s.Kelvin), s)
	if caveat != "" && logbook.FloatOf(s.Tint) != 0 {
		caveats = append(caveats, caveat)
	}
	if s.Mode == "kelvin" {
		if caveat := zeroCaveat(body); caveat != "" {
			caveats = append(caveats, caveat)
		}
	}
	if s.Mode == "kelvin" && len(d.Kelvin.Ranges)+len(d.Kelvin.List) == 0 {
		d.Kelvin.List = []colorimetry.Kelvin{colorimetry.Kelvin(logbook.FloatOf(s.Kelvin))}
		caveats = append(caveats, "the body's kelvin dial is not in the log")
	}
	return d, caveats
}

// zeroCaveat says what was assumed where nobody knows where tint 0 of a body lies.
func zeroCaveat(body logbook.View) string {
	zeros := zerosOf(body)
	if len(zeros) == 1 {
		return ""
	}
	taken := "the black body"
	if zeros[0] == colorimetry.Blend {
		taken = "the daylight locus above 5000 K"
	}
	return "where the body's tint 0 lies is not known: as for a nominal white, " + taken + " was assumed; a grey card tells"
}

// Check returns nil where the setting exists on the body, and otherwise an error
// that names what is allowed. A body whose dials are not in the log has anything.
func (s Setting) Check(body logbook.View) error {
	if modes := whiteModesOf(body); len(modes) > 0 && !slices.Contains(modes, s.Mode) {
		return fmt.Errorf("white mode is %s, allowed is %s", s.Mode, strings.Join(modes, ", "))
	}
	if !s.Complete() || !s.OnDial() {
		return nil
	}
	d := DialsOf(body, logbook.FloatOf(s.Kelvin))
	if s.Mode == "kelvin" && len(d.Kelvin.Ranges)+len(d.Kelvin.List) == 0 {
		return nil
	}
	return d.Has(s.dials())
}

func whiteModesOf(body logbook.View) (modes []string) {
	for v := range body.Value("whiteModes").Items() {
		mode, _ := v.Text()
		modes = append(modes, mode)
	}
	return modes
}

func hasWhiteMode(body logbook.View, mode string) bool {
	return slices.Contains(whiteModesOf(body), mode)
}

// Dialled is a setting on a body's dials.
type Dialled struct {
	WhiteMode string               `json:"whiteMode"`
	Kelvin    *float64             `json:"kelvin,omitempty"`
	Tint      *float64             `json:"tint,omitempty"`
	AmberBlue *float64             `json:"amberBlue,omitempty"`
	Preset    string               `json:"preset,omitempty"`
	Words     string               `json:"words"`           // "4300 K, tint +2"
	White     *figure.Chromaticity `json:"white,omitempty"` // of the label, moved by the camera's error where that is counted in
	// Residual is how the picture still lies from what was asked for.
	Residual *figure.Difference `json:"residual,omitempty"`
	DeltaE00 *float64           `json:"deltaE00,omitempty"` // of a mid grey, between the two pictures
	// Why says why it is not the kelvin that is nearest by its label, where it is not.
	Why string `json:"why,omitempty"`
}

// Setting is the way back, for comparing by equality.
func (d Dialled) Setting() Setting {
	return Setting{Mode: d.WhiteMode, Preset: d.Preset, Kelvin: asTyped(d.Kelvin), Tint: asTyped(d.Tint), AmberBlue: asTyped(d.AmberBlue)}
}

// asTyped is a number as a person would have typed it.
func asTyped(f *float64) logbook.Value {
	if f == nil {
		return ""
	}
	return logbook.Value(strconv.FormatFloat(*f, 'f', -1, 64))
}

// LatestSetting is the newest complete setting of a camera's clips in a set-up,
// changes while rolling included, with the body that recorded it. None where another body
// recorded since, whose setting nobody said: that of the one before says nothing of it.
func LatestSetting(b *logbook.Book, setUp, camera logbook.View) (s Setting, body logbook.View, clip logbook.ID, ok bool) {
	clips := slices.DeleteFunc(b.Referring(kinds.Clip, "setUp", setUp.ID), func(v logbook.View) bool {
		return v.Ref("camera") != camera.ID || !v.Flag("rolled", true)
	})
	sort.SliceStable(clips, func(i, j int) bool { return lighting.ClipTime(clips[i]) < lighting.ClipTime(clips[j]) })
	for _, v := range clips {
		all := append([]Setting{ClipSetting(v)}, ChangedSettings(v)...)
		found, known := b.RecordOf(kinds.Body, v.Ref("body"))
		switch last := all[len(all)-1]; {
		case known && last.Complete():
			s, body, clip, ok = last, found, v.ID, true
		case v.Ref("body") != body.ID:
			s, body, clip, ok = Setting{}, logbook.View{}, logbook.ID{}, false
		}
	}
	return s, body, clip, ok
}

// SetSince is how a body that fills a camera was set last while nothing rolled, as the camera's
// field set has it, and when that was.
func SetSince(b *logbook.Book, camera logbook.View, body logbook.ID) (set logbook.Value, at logbook.Millis, ok bool) {
	field := camera.Field("set").Shown
	set = field.Value
	of, known := set.Member("body").ID()
	text, _ := set.Member("at").Text()
	t, err := time.Parse(time.RFC3339, text)
	if !known || err != nil || b.Resolve(of) != b.Resolve(body) {
		return "", 0, false
	}
	return set, lighting.CorrectedBy(field.Edit(), logbook.MillisOf(t)), true
}

func PlannedSetting(b *logbook.Book, setUp, camera logbook.View) Setting {
	in, ok := fieldsOf(b, setUp, camera)
	if !ok {
		return Setting{}
	}
	return Setting{Mode: "kelvin", Kelvin: setUp.Value(in + "plannedKelvin"), Tint: setUp.Value(in + "plannedTint")}
}
