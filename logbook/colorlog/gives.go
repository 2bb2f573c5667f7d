package colorlog

import (
	"cmp"
	"fmt"
	"math"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
)

// labelWhite finds the white that the clip's setting names on its body.
func (s *setUp) labelWhite(sh *shot) {
	clip := sh.clip
	number := func(field string) float64 { f, _ := clip.Number(field); return f }
	switch mode := clip.Text("whiteMode"); {
	case mode == "auto" || mode == "autoHeld":
		sh.problem = "automatic white has no label"
		return
	case mode == "customFromCard":
		s.cardWhite(sh)
		return
	case sh.body.ID.IsZero():
		sh.problem = "the body is not in the log"
		return
	case mode == "kelvin" && clip.Value("kelvin") == "" || mode == "preset" && clip.Value("preset") == "" || mode == "":
		sh.problem = "the setting has no value"
		return
	}
	dials := logbook.DialsOf(sh.body, number("kelvin"))
	setting := colorimetry.Setting{Tint: number("tint"), Fine: number("amberBlue")}
	if clip.Text("whiteMode") == "preset" {
		setting.Preset = clip.Text("preset")
	} else {
		setting.Kelvin = colorimetry.Kelvin(number("kelvin"))
	}
	if dials.ZeroUnknown {
		sh.caveat = "where the body's tint 0 lies is not known: the black body was assumed"
	}
	white, err := dials.White(setting)
	if err != nil {
		sh.problem = err.Error()
		return
	}
	sh.white = &white
}

// cardWhite: a custom white renders its card neutral, so that it is the light on
// the card.
func (s *setUp) cardWhite(sh *shot) {
	sh.problem = "the light on the card of the custom white was not measured"
	sample, ok := s.book.RecordOf(logbook.KindSample, sh.clip.Ref("customFrom"))
	if !ok {
		return
	}
	id, _ := sample.Value("light").Member("reading").ID()
	reading, ok := s.book.RecordOf(logbook.KindReading, id)
	if !ok {
		return
	}
	if m := logbook.MeasurementOf(s.book, reading); m.Color != nil {
		if white, err := m.Color.XY.CCTDuv(); err == nil {
			sh.white, sh.problem = &white, ""
		}
	}
}

// gives predicts the picture of the reference light in this camera.
func (s *setUp) gives(sh *shot, meant Meant, light *logbook.Chromaticity) Gives {
	g := Gives{}
	if camera, ok := s.book.RecordOf(logbook.KindCamera, s.reference); ok {
		g.ReferenceCamera = camera.Text("letter")
	}
	if chart := s.chartOf(sh); chart != nil {
		g.ChartClip, _ = chart.clip.Value("name").Member("text").Text()
		g.ChartRecord = chart.clip.ID
	}
	if sh.white == nil {
		g.Problem = sh.problem
		return g
	}
	if light == nil {
		g.Problem = "the reference light is not known"
		return g
	}
	xy, err := sh.white.XY()
	if err != nil {
		g.Problem = err.Error()
		return g
	}
	g.Cast = castOf(light.XY, xy)
	if meant.Aim != nil {
		if aim, err := meant.Aim.XY.CCTDuv(); err == nil {
			g.OffAim = pictureOf(*sh.white, aim, light.XY)
		}
	}
	if other := s.besideOf(sh); other != nil && other.white != nil {
		g.OffReference = pictureOf(*sh.white, *other.white, light.XY)
	}
	return g
}

// besideOf is the reference camera's clip of the same take; of a clip with no
// take, the one of the same kind that began last before it ended, within a minute.
func (s *setUp) besideOf(sh *shot) *shot {
	if sh.camera.ID == s.reference {
		return nil
	}
	var best *shot
	for _, clip := range s.clips {
		o := s.shots[clip.ID]
		if o == nil || o.camera.ID != s.reference || s.reference.IsZero() || !together(sh, o) {
			continue
		}
		if best == nil || distance(o, sh) < distance(best, sh) {
			best = o
		}
	}
	return best
}

func distance(a, b *shot) logbook.Millis { return max(a.start-b.start, b.start-a.start) }

func together(a, b *shot) bool {
	const minute = 60_000
	if len(a.takes) == 0 && len(b.takes) == 0 {
		return a.clip.Text("clipKind") == b.clip.Text("clipKind") && distance(a, b) <= minute
	}
	for _, x := range a.takes {
		for _, y := range b.takes {
			if x.ID == y.ID {
				return true
			}
		}
	}
	return false
}

// chartOf is the chart that speaks of a clip: of its camera and body in this
// set-up the last one before it, else the first after it.
func (s *setUp) chartOf(sh *shot) *shot {
	var best *shot
	for _, clip := range s.clips {
		o := s.shots[clip.ID]
		if o == nil || o.camera.ID != sh.camera.ID || o.body.ID != sh.body.ID || !o.isChart() {
			continue
		}
		late, bestLate := o.start > sh.start, best != nil && best.start > sh.start
		if best == nil || bestLate && (!late || o.start < best.start) || !bestLate && !late && o.start > best.start {
			best = o
		}
	}
	return best
}

func (sh *shot) isChart() bool {
	if sh.clip.Text("clipKind") == "chart" {
		return true
	}
	for _, take := range sh.takes {
		if take.Text("takeKind") == "chart" {
			return true
		}
	}
	return false
}

// shown puts a colour into the form in which it is shown.
func shown(xy colorimetry.XY) *logbook.Chromaticity {
	c := &logbook.Chromaticity{X: round(xy.X, 5), Y: round(xy.Y, 5), XY: xy, Words: "coloured, no CCT"}
	if t, err := xy.CCTDuv(); err == nil {
		kelvin, duv := round(float64(t.CCT), 0), round(float64(t.Duv), 4)
		c.CCTKelvin, c.Duv, c.Words = &kelvin, &duv, fmt.Sprintf("%.0f K, Duv %+.4f", kelvin, duv)
	}
	return c
}

// castOf is the colour cast of a light in a white.
func castOf(light, white colorimetry.XY) *logbook.Difference {
	d := &logbook.Difference{}
	l, lightErr := light.CCTDuv()
	if w, err := white.CCTDuv(); err == nil && lightErr == nil {
		setCast(d, colorimetry.CastOf(l, w))
	}
	if p, err := colorimetry.Picture(light, white, colorimetry.CAT16); err == nil {
		steps := round(colorimetry.StepsFromNeutral(p), 1)
		d.Steps = &steps
	}
	d.Words = words(d)
	return d
}

// pictureOf is how the picture on white b lies from that on white a, both of one
// light.
func pictureOf(b, a colorimetry.CCTDuv, light colorimetry.XY) *logbook.Difference {
	d := &logbook.Difference{}
	setCast(d, colorimetry.PictureDifference(b, a))
	var pictures [2]colorimetry.XYZ
	known := true
	for i, white := range [...]colorimetry.CCTDuv{b, a} {
		xy, err := white.XY()
		if err == nil {
			pictures[i], err = colorimetry.Picture(light, xy, colorimetry.CAT16)
		}
		known = known && err == nil
	}
	if known {
		steps := round(colorimetry.PictureSteps(pictures[0], pictures[1]), 1)
		d.Steps = &steps
	}
	d.Words = words(d)
	return d
}

func setCast(d *logbook.Difference, c colorimetry.Cast) {
	mired, duv := round(float64(c.Mired), 0), round(float64(c.Duv), 4)
	d.Mired, d.Duv = &mired, &duv
}

// words says a difference as the picture shows it.
func words(d *logbook.Difference) string {
	if d.Mired == nil {
		if d.Steps == nil {
			return ""
		}
		return fmt.Sprintf("%g steps away", *d.Steps)
	}
	warm, green := "", ""
	switch m := *d.Mired; {
	case m > 0:
		warm = fmt.Sprintf("%g mired warmer", m)
	case m < 0:
		warm = fmt.Sprintf("%g mired cooler", -m)
	}
	switch v := *d.Duv; {
	case v > 0:
		green = fmt.Sprintf("Duv %.4f greener", v)
	case v < 0:
		green = fmt.Sprintf("Duv %.4f more magenta", -v)
	}
	if warm != "" && green != "" {
		return warm + ", " + green
	}
	return cmp.Or(warm, green, "no difference")
}

// round is to the step that is shown; never −0.
func round(value float64, decimals int) float64 {
	scale := math.Pow(10, float64(decimals))
	return math.Round(value*scale)/scale + 0
}
