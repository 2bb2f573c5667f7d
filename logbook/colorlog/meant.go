package colorlog

import (
	"cmp"
	"slices"
	"strings"

	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/glance"
	"evenwhite/logbook/kinds"
)

// meant says what the white was and what this camera aims at.
func meant(sh *shot, c *glance.ClipSummary) Meant {
	if c.White == nil {
		return Meant{Problem: "no white was chosen", IntendedCast: figure.IntendedCast{From: "none"}}
	}
	w := c.White
	caveats := slices.Clone(w.Origin.Caveats)
	if logbook.MillisOf(w.DecidedAt) > sh.start {
		after := "chosen after it was shot"
		if len(sh.takes) > 0 {
			after = "chosen after the take"
		}
		caveats = append(caveats, after)
	}
	if w.ChooseAgain != "" {
		caveats = append(caveats, w.ChooseAgain)
	}
	return Meant{
		White: w.White, From: w.From, Words: w.Words, Since: w.Since, Color: w.Color, Method: w.Origin.Method, Confidence: w.Origin.Confidence,
		Caveats: caveats, Contested: w.ContestedWords, IntendedCast: c.Aim.IntendedCast, Aim: c.Aim.Aim,
		DecidedBy: w.DecidedBy, JudgedOn: w.JudgedOn, Problem: cmp.Or(w.Problem, c.Aim.Problem),
	}
}

// there says what was measured up to the start of the clip.
func (s *setUp) there(sh *shot, c *glance.ClipSummary) There {
	t := There{Lights: []Light{}, Reference: c.Measured, IlluminanceLux: c.MeasuredLux}
	if c.Measured != nil {
		o := c.MeasuredOrigin
		t.ReferenceFrom = strings.Join(append([]string{o.Method}, o.Caveats...), "; ")
		t.Readings, t.AgeMinutes = o.Records, o.AgeMinutes
	}
	for _, l := range c.Lights {
		t.Lights = append(t.Lights, Light{
			Name: l.Name, Role: l.Role, Intent: l.Intent, On: l.On, Color: l.Color, IlluminanceLux: l.IlluminanceLux,
			AgeMinutes: l.AgeMinutes, When: l.When, Reading: l.Reading, NextReading: l.NextReading, Cast: l.Cast, Problem: l.Problem,
			Record: l.Light,
		})
	}
	if s.summary != nil {
		t.Sky = s.summary.SkyAt(sh.clip)
	}
	return t
}

// gives is what follows for the picture of this camera.
func (s *setUp) gives(sh *shot, c *glance.ClipSummary) Gives {
	g := Gives{Cast: c.Cast, OffAim: c.OffAim, OffReference: c.OffReferenceCamera, RestsOn: c.RestsOn, Caveats: c.CardCaveats,
		LaterCards: c.LaterCards, Problem: c.Problem}
	if g.Cast == nil {
		g.Problem = cmp.Or(g.Problem, "the reference light is not known")
	}
	if camera, ok := s.book.RecordOf(kinds.Camera, c.ReferenceCamera); ok {
		g.ReferenceCamera = camera.Text("letter")
	}
	if chart := s.chartOf(sh); chart != nil {
		g.ChartClip, _ = chart.clip.Value("name").Member("text").Text()
		g.ChartRecord = chart.clip.ID
	}
	return g
}

// chartOf is the chart that speaks of a clip: of its camera and body in this
// set-up the last one before it, else the first after it.
func (s *setUp) chartOf(sh *shot) *shot {
	var best *shot
	for _, clip := range s.clips {
		o := s.shots[clip.ID]
		if o.camera.ID != sh.camera.ID || o.body.ID != sh.body.ID || !o.isChart() {
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
