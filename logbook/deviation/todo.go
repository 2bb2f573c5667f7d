package deviation

import (
	"fmt"
	"strconv"
	"strings"
	"unicode/utf8"

	"evenwhite/logbook"
	"evenwhite/logbook/cameras"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/setup"
)

// toDial says what to dial on the camera of a shot: "set B to 4300 K, tint +2; now 4250, -1".
// "" where there is nothing to do: the shot is of an earlier white, the camera was set
// otherwise since, it stands on the best that its body has, or the set-up was left.
func (s *Finder) toDial(sh *Shot) string {
	if !s.stillSo(sh) {
		return ""
	}
	if len(sh.period.Whites()) > 1 {
		return settleWhites
	}
	best, ok := s.bestNow(sh.camera, sh.body)
	if !ok || best.Setting().Key() == sh.setting.Key() {
		return ""
	}
	todo := setTo(sh.camera.Text("letter"), best)
	if now := inShort(sh.setting, sh.body); now != "" {
		todo += "; now " + now
	}
	return todo
}

// byHand is toDial for a camera on automatic white: where nobody says what to dial, something
// is better than that.
func (s *Finder) byHand(sh *Shot) string {
	if todo := s.toDial(sh); todo != "" || !s.stillSo(sh) {
		return todo
	}
	return "set " + sh.camera.Text("letter") + "'s white by hand"
}

func setTo(letter string, best cameras.Dialled) string {
	if best.WhiteMode == "customFromCard" {
		return "shoot a card in this light, take " + letter + "'s white from it"
	}
	return "set " + letter + " to " + strings.TrimPrefix(best.Words, "preset ")
}

// stillSo reports whether the camera of a shot stands where it stood then, under the white in
// force, while somebody works here.
func (s *Finder) stillSo(sh *Shot) bool {
	ofNow := sh.period == s.Current() || !sh.period.White.Known() && !s.Current().White.Known()
	if !ofNow || !s.Worked() {
		return false
	}
	stands := s.Stands(sh.camera)
	if now, filled := cameras.BodyNow(s.Book(), sh.camera); !filled || now.ID != sh.body.ID {
		return false
	}
	return !stands.Known || stands.Body.ID == sh.body.ID && stands.Setting.Key() == sh.setting.Key()
}

// bestNow is what to dial on a camera for its aim, worked out once for all its takes.
func (s *Finder) bestNow(camera, body logbook.View) (best cameras.Dialled, ok bool) {
	if s.dials == nil {
		s.dials = map[logbook.ID]*setup.Dial{}
	}
	d, done := s.dials[camera.ID]
	if !done {
		if found, err := s.ToDial(camera, body, s.Current()); err == nil {
			d = &found
		}
		s.dials[camera.ID] = d
	}
	if d == nil {
		return best, false
	}
	return d.Best, true
}

// inShort is a setting in few words: "4250, -1", "daylight"; "" where it says nothing.
func inShort(set cameras.Setting, body logbook.View) string {
	if !set.OnDial() || !set.Complete() {
		return ""
	}
	if set.Mode == "preset" {
		return strings.TrimPrefix(set.InWords(body), "preset ")
	}
	words := strconv.FormatFloat(logbook.FloatOf(set.Kelvin), 'f', -1, 64)
	for _, part := range []logbook.Value{set.Tint, set.AmberBlue} {
		if f := logbook.FloatOf(part); f != 0 {
			words += fmt.Sprintf(", %+g", f)
		}
	}
	return words
}

// withUnit is inShort for a sentence: "4250 K, -1".
func withUnit(set cameras.Setting, body logbook.View) string {
	kelvin, rest, _ := strings.Cut(inShort(set, body), ",")
	switch {
	case kelvin == "":
		return set.InWords(body)
	case set.Mode != "kelvin":
		return kelvin
	case rest != "":
		return kelvin + " K," + rest
	}
	return kelvin + " K"
}

// unlike names two settings by what is unlike in them: "3890 K" and "3870 K" where the tint is
// the same, "tint +2" and "tint 0" where the kelvin is.
func unlike(sh, u *Shot) (is, usually string) {
	a, b := sh.setting, u.setting
	is, usually = withUnit(a, sh.body), withUnit(b, u.body)
	if a.Mode != "kelvin" || b.Mode != "kelvin" || logbook.FloatOf(a.AmberBlue) != logbook.FloatOf(b.AmberBlue) {
		return is, usually
	}
	tint, usualTint := logbook.FloatOf(a.Tint), logbook.FloatOf(b.Tint)
	switch {
	case tint == usualTint:
		a.Tint, b.Tint, a.AmberBlue, b.AmberBlue = "", "", "", ""
		return withUnit(a, sh.body), withUnit(b, u.body)
	case logbook.FloatOf(a.Kelvin) == logbook.FloatOf(b.Kelvin):
		return "tint " + signed(tint), "tint " + signed(usualTint)
	}
	return is, usually
}

func signed(f float64) string {
	if f == 0 {
		return "0"
	}
	return fmt.Sprintf("%+g", f)
}

// aboutWhite is a headline about a white: with as much of what is off as there is room for.
func (s *Finder) aboutWhite(before string, in func(figure.Difference) string, d figure.Difference, after string) string {
	whole := before + in(d) + after
	if d.Mired == nil || d.Duv == nil || utf8.RuneCountInString(whole) <= headlineRoom {
		return whole
	}
	none := 0.0
	mired, duv := d, d
	mired.Duv, duv.Mired = &none, &none
	mired.Steps, duv.Steps = nil, nil
	if s.Limits().TimesLimit(duv) > s.Limits().TimesLimit(mired) {
		return before + in(duv) + after
	}
	return before + in(mired) + after
}
