package days_test

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/advice"
	"evenwhite/logbook/colorlog"
	"evenwhite/logbook/deviation"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/glance"
	"evenwhite/logbook/kinds"
)

// alike is how far two numbers about one thing may lie apart, in steps as they are shown.
const alike = 0.05 + 1e-9

// oneTruth: row, correction and finding about a clip agree on aim, light, cast and error, and
// on who is contested.
var oneTruth = law{
	name: "one truth", must: []string{"a row and a correction agree", "a row carries the correction", "a finding stands in a row"},
	holds: func(d *played) error {
		b := d.all()
		told := d.tellNow()
		for _, t := range told {
			takes := takesIn(b, viewOf(b, kinds.Clip, t.clip))
			if t.correctable && len(takes) <= 1 {
				if err := sameNumbers(&t.row, &t.corrected); err != nil {
					return fmt.Errorf("%s: row and correction: %w", t.name(), err)
				}
				d.happened["a row and a correction agree"]++
			}
			if err := carriesCorrection(t); err != nil {
				return fmt.Errorf("%s: %w", t.name(), err)
			}
			if t.row.Correction.ToIntent != nil {
				d.happened["a row carries the correction"]++
			}
			if err := d.sameFindings(t); err != nil {
				return fmt.Errorf("%s: row and findings: %w", t.name(), err)
			}
		}
		return nil
	},
}

// carriesCorrection: the correction in a row is byte for byte the one that is answered by itself, or
// says why there is none.
func carriesCorrection(t *told) error {
	in := t.row.Correction
	switch {
	case in.ToIntent == nil && in.Problem == "":
		return fmt.Errorf("the row has no correction and does not say why; by itself it is %s", t.correction)
	case strings.HasPrefix(in.Problem, "the white changed within this clip"):
		return nil
	case !t.correctable:
		if in.ToIntent != nil {
			return fmt.Errorf("the row has a correction, by itself there is none: %s", t.correction)
		}
		return nil
	}
	alone := t.corrected
	type parts []any
	row := parts{in.ToIntent, in.ToNeutral, in.Basis, in.SpreadMired, in.SpreadDuv, in.Encoding, in.Caveats}
	if textOf(row) != textOf(parts{&alone.ToIntent, &alone.ToNeutral, alone.BasisWords, alone.SpreadMired, alone.SpreadDuv, alone.Encoding,
		alone.Origin.Caveats}) {
		return fmt.Errorf("the row has the correction %s, to neutral %s, by itself it is %s", textOf(in), textOf(in.ToNeutral), textOf(alone))
	}
	return nil
}

// onePicture: and so does the picture of a set-up that is wrapped, with the row of its last clip.
var onePicture = law{name: "one picture", must: []string{"a picture shows the last row"}, holds: func(d *played) error {
	b := d.all()
	told := d.tellNow()
	for _, p := range d.places {
		if err := d.samePicture(b, p, told); err != nil {
			return fmt.Errorf("row and picture: %w", err)
		}
	}
	return nil
}}

// stepsApart is how far two colours of light lie apart.
func stepsApart(a, b *figure.Chromaticity) float64 {
	x, y := colorimetry.XY{X: a.X, Y: a.Y}, colorimetry.XY{X: b.X, Y: b.Y}
	return x.UVPrime().Distance(y.UVPrime()) / colorimetry.StepUVPrime
}

func sameColor(what string, a, b *figure.Chromaticity) error {
	switch {
	case a == nil && b == nil:
		return nil
	case a == nil || b == nil:
		return fmt.Errorf("%s is %s in one and %s in the other", what, textOf(a), textOf(b))
	case stepsApart(a, b) > alike:
		return fmt.Errorf("%s is %s in one and %s in the other: %.2f steps apart", what, a.Words, b.Words, stepsApart(a, b))
	}
	return nil
}

func sameNumbers(row *colorlog.Row, c *advice.ClipCorrections) error {
	if err := sameColor("the aim", row.Meant.Aim, c.Aim); err != nil {
		return err
	}
	if row.There.Reference != nil {
		if err := sameColor("the light", row.There.Reference, c.Light); err != nil && c.Basis != "card" {
			return err
		}
	}
	byCards := strings.HasPrefix(row.Gives.RestsOn, "by card")
	if row.Gives.Problem == "" && c.Basis != "card" && byCards == (c.Basis == "label") {
		return fmt.Errorf("the row rests on %s, and the correction on its %s: %s", row.Gives.RestsOn, c.Basis, textOf(c.CameraError))
	}
	if row.Gives.Cast == nil || c.Light == nil || c.White == nil || c.Basis == "card" {
		return nil
	}
	cast := figure.CastDifference(c.Light.XY, c.White.XY)
	if row.Gives.Cast.Steps != nil && math.Abs(*row.Gives.Cast.Steps-*cast.Steps) > 0.1+1e-9 {
		return fmt.Errorf("the cast is %s (%g steps) in the row and %s (%g steps) in the correction",
			row.Gives.Cast.Words, *row.Gives.Cast.Steps, cast.Words, *cast.Steps)
	}
	return nil
}

// sameFindings: what is beyond its limit in a row is listed by a finding, and what a finding
// lists is so in the row, and no worse than the finding says.
func (d *played) sameFindings(t *told) error {
	of := func(kind string) *deviation.Deviation {
		for _, f := range t.findings {
			if f.Kind == kind && slices.Contains(f.Clips, t.clip) {
				return f
			}
		}
		return nil
	}
	if off, found := t.row.Gives.OffAim, of(deviation.SettingOffAim); found != nil && off != nil {
		if _, beyond := limitsOf(&t.row, "camera").Exceeded(*off); !beyond {
			return fmt.Errorf("%s, and the row says %s", found.Words, off.Words)
		}
		d.happened["a finding stands in a row"]++
	}
	for _, f := range t.findings {
		if f.Kind != deviation.LightOffReference || !slices.Contains(f.Takes, t.take) {
			continue
		}
		for _, l := range t.row.There.Lights {
			if !slices.Contains(f.Subjects, l.Record) {
				continue
			}
			d.happened["a finding stands in a row"]++
			if l.Cast == nil && strings.Contains(t.row.Gives.Problem, "within this clip") {
				continue // the row of a later take of a series says that it was not computed
			}
			if l.Cast == nil {
				return fmt.Errorf("%s, and the row has no cast of %s", f.Words, l.Name)
			}
			limits := limitsOf(&t.row, l.Role)
			if _, beyond := limits.Exceeded(*l.Cast); !beyond {
				return fmt.Errorf("%s, and the row says %s", f.Words, l.Cast.Words)
			}
		}
	}
	return nil
}

func limitsOf(row *colorlog.Row, role string) figure.Limits {
	for _, l := range row.Limits {
		if l.Role == role {
			return l
		}
	}
	return figure.Limits{Mired: math.Inf(1), DuvGreen: math.Inf(1), DuvMagenta: math.Inf(1), Steps: math.Inf(1)}
}

// samePicture: the picture of a set-up that is wrapped shows the lights as the row of its
// last clip.
func (d *played) samePicture(b *logbook.Book, p *place, told map[toldKey]*told) error {
	var last *colorlog.Row
	for _, t := range told {
		if t.setUp == p.setUp && (last == nil || t.row.Find.StartedAt.After(last.Find.StartedAt)) {
			last = &t.row
		}
	}
	if last == nil {
		return nil
	}
	plane, err := glance.Plane(b, p.setUp, d.clock+muchLater)
	if err != nil {
		return err
	}
	d.happened["a picture shows the last row"]++
	for _, l := range last.There.Lights {
		var shown *figure.Shown
		for i := range plane.Points {
			if plane.Points[i].Record == l.Record {
				shown = &plane.Points[i].Color
			}
		}
		switch {
		case (shown == nil) != (l.Color == nil):
			return fmt.Errorf("%s is %s in the last row and %s in the picture", l.Name, textOf(l.Color), textOf(shown))
		case shown != nil && !drawnAt(shown, l.Color):
			return fmt.Errorf("%s is %s in the last row and %s in the picture", l.Name, textOf(l.Color), textOf(shown))
		}
	}
	return nil
}

// drawnAt: a picture shows three or four decimals of u' v', as the meter carries them.
func drawnAt(shown *figure.Shown, c *figure.Chromaticity) bool {
	uv := colorimetry.XY{X: c.X, Y: c.Y}.UVPrime()
	return math.Abs(uv.U-shown.UPrime) < 0.00052 && math.Abs(uv.V-shown.VPrime) < 0.00052
}
