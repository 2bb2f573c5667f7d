package glance

import (
	"math"
	"slices"

	"evenwhite/logbook"
	"evenwhite/logbook/deviation"
	"evenwhite/logbook/figure"
)

// A Verdict is a word for a light, a camera or a finding: inside, off, can't tell, differs,
// missing, old, left, accepted or not settled. Times is how many times its limit it is,
// Minutes the age of an old reading.
type Verdict struct {
	Record  logbook.ID `json:"record,omitzero"` // a light or a camera
	Cause   string     `json:"cause,omitempty"` // of a finding
	Word    string     `json:"word"`
	Times   *float64   `json:"times,omitempty"`
	Minutes *float64   `json:"minutes,omitempty"`
}

// Verdicts are the words for what is said of a set-up, in the order in which it is said there.
type Verdicts struct {
	Lights     []Verdict `json:"lights"`
	Cameras    []Verdict `json:"cameras"`
	Deviations []Verdict `json:"deviations"`
	Due        *Due      `json:"due,omitempty"`
}

// Due is the light that should be metered next, and why.
type Due struct {
	Light logbook.ID `json:"light"`
	Name  string     `json:"name"`
	Why   string     `json:"why"`
}

// Verdicts gives all of it its word.
func (n *SetUpNow) Verdicts() Verdicts {
	v := Verdicts{Lights: []Verdict{}, Cameras: []Verdict{}, Deviations: VerdictsOn(n.Deviations), Due: n.due()}
	for i := range n.Lights {
		v.Lights = append(v.Lights, n.Lights[i].verdict())
	}
	for i := range n.Cameras {
		v.Cameras = append(v.Cameras, n.Cameras[i].verdict(n.Limits))
	}
	return v
}

func (l *LightNow) verdict() Verdict {
	v := Verdict{Record: l.Light}
	switch {
	case !l.On:
		v.Word = "left"
	case l.Color == nil:
		v.Word = "missing"
	case len(l.StaleBecause) > 0:
		v.Word, v.Minutes = "old", l.AgeMinutes
	case l.Intent == "leave" || l.Within == nil:
		v.Word = "left"
	default:
		judged := l.Cast
		if l.OffOwnColor != nil {
			judged = l.OffOwnColor
		}
		times := l.Limits.Times(*judged)
		v.Times, v.Word = &times, figure.VerdictWords[figure.Beyond]
		if *l.Within {
			v.Word = figure.VerdictWords[figure.Inside]
		}
	}
	return v
}

func (c *CameraNow) verdict(limits []figure.Limits) Verdict {
	v := Verdict{Record: c.Camera, Word: "missing"}
	if c.Last == nil || c.Last.Verdict == "" {
		return v
	}
	if v.Word = c.Last.Verdict; v.Word == figure.VerdictWords[figure.CantTell] {
		if len(c.Contested) > 0 {
			v.Word = "not settled"
		}
		return v
	}
	off := c.Last.OffAimByCards
	if off == nil {
		off = c.Last.OffAim
	}
	for _, l := range limits {
		if l.Role == "camera" && off != nil {
			times := l.Times(*off)
			v.Times = &times
		}
	}
	return v
}

// VerdictsOn gives findings their words.
func VerdictsOn(all []deviation.Deviation) []Verdict {
	out := []Verdict{}
	for i := range all {
		out = append(out, verdictOn(&all[i]))
	}
	return out
}

var differing = []string{deviation.CamerasDiffer, deviation.TakesDiffer, deviation.SetUpsDiffer, deviation.MixDisagrees}

func verdictOn(d *deviation.Deviation) Verdict {
	v := Verdict{Cause: d.Cause}
	switch {
	case d.Accepted != nil:
		v.Word = "accepted"
	case d.Kind == deviation.WhiteNotKnown || d.Kind == deviation.WhiteUnresolved:
		v.Word = "can't tell"
	case d.Kind == deviation.ReadingStale:
		v.Word = "old"
	case slices.Contains(differing, d.Kind):
		v.Word = "differs"
	case d.Limit != nil:
		v.Word = "off"
	default:
		v.Word = "missing"
	}
	if d.Value != nil {
		if v.Minutes = d.Value.Minutes; d.Limit != nil && d.Limit.Minutes == nil {
			v.Times = timesOf(d.Value, d.Limit)
		}
	}
	return v
}

// timesOf is how many times its limit a size is: by steps, else by its greatest part.
func timesOf(value, limit *figure.Size) *float64 {
	most := -1.0
	for _, part := range [...][2]*float64{{value.Steps, limit.Steps}, {value.Mired, limit.Mired}, {value.Duv, limit.Duv}} {
		if part[0] == nil || part[1] == nil || *part[1] <= 0 {
			continue
		}
		if most = max(most, math.Abs(*part[0])/(*part[1])); part[0] == value.Steps {
			break
		}
	}
	if most < 0 {
		return nil
	}
	times := figure.RoundTo(most, 1)
	return &times
}

// due is the light to meter next: one without a reading, then one whose reading is out of date,
// then the one that was read longest ago; of several the first, as they are listed.
func (n *SetUpNow) due() *Due {
	rank := func(l *LightNow) (int, string) {
		switch {
		case !l.On || l.Intent == "leave":
			return 0, ""
		case l.Color == nil:
			return 3, "it was not read yet"
		case len(l.StaleBecause) > 0:
			return 2, l.StaleBecause[0]
		}
		return 1, "it was read longest ago"
	}
	var best *LightNow
	for i := range n.Lights {
		l := &n.Lights[i]
		r, _ := rank(l)
		if r == 0 {
			continue
		}
		if best == nil {
			best = l
			continue
		}
		b, _ := rank(best)
		if r > b || r == b && r == 1 && l.AgeMinutes != nil && best.AgeMinutes != nil && *l.AgeMinutes > *best.AgeMinutes {
			best = l
		}
	}
	if best == nil {
		return nil
	}
	_, why := rank(best)
	return &Due{best.Light, best.Name, why}
}
