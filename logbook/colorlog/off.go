package colorlog

import (
	"slices"

	"evenwhite/logbook"
	"evenwhite/logbook/amend"
	"evenwhite/logbook/deviation"
	"evenwhite/logbook/glance"
	"evenwhite/logbook/setup"
)

// missingKinds are deviations that speak of data that is not there.
var missingKinds = map[string]bool{
	deviation.NoReading: true, deviation.NoWhite: true, deviation.WhiteUnresolved: true, deviation.NoChart: true,
	deviation.SettingsCarriedOver: true, deviation.NoSettings: true, deviation.NotLogged: true, deviation.WhiteNotKnown: true,
	deviation.NoBody: true, deviation.NoCamera: true,
}

// off gathers what touches a row. Deviations come with the worst first. What is only missing
// is the worst of a row where it leaves the footage worthless.
func (s *setUp) off(sh *shot, take logbook.View, c *glance.ClipSummary) Off {
	var o Off
	for i := range s.shared.Deviations {
		d := &s.shared.Deviations[i]
		if !touches(d, sh, take) {
			continue
		}
		f := Finding{Kind: d.Kind, Headline: d.Headline, ToDo: d.ToDo, Words: d.Words, Count: d.Count, Value: d.Value, Limit: d.Limit}
		if d.ComparedWith != nil {
			f.ComparedWith = d.ComparedWith.Words
		}
		o.Count++
		if d.Accepted != nil {
			o.Accepted++
			f.AcceptedBy, f.Reason = d.Accepted.By, d.Accepted.Reason
		}
		o.Findings = append(o.Findings, f)
		if d.Accepted != nil {
			continue
		}
		switch missing := missingKinds[d.Kind]; {
		case d.Kind == deviation.TakeNumberTwice:
			o.Twins = append(o.Twins, d.Words)
		case missing:
			o.Missing = append(o.Missing, d.Words)
			fallthrough
		default:
			if o.Worst == "" && (!missing || deviation.Worthless(d.Kind)) {
				o.Worst = d.Headline
			}
		}
	}
	o.Missing = append(o.Missing, s.notMeasured(c)...)
	if s.wantsChart(sh) && s.chartOf(sh) == nil {
		o.Missing = append(o.Missing, "no chart was shot with body "+sh.body.Text("label")+" in this set-up")
	}
	s.addRecords(&o, sh, take, c)
	return o
}

// notMeasured says which lights no reading speaks of at the clip. One that is left as it is
// needs none.
func (s *setUp) notMeasured(c *glance.ClipSummary) []string {
	if len(c.Lights) == 0 && s.summary != nil && !s.summary.Measured() {
		return []string{"nothing was measured in this set-up"}
	}
	var unread []string
	for _, l := range c.Lights {
		if l.On && l.Color == nil && l.Intent != "leave" {
			unread = append(unread, l.Name+": "+l.Problem)
		}
	}
	return unread
}

// wantsChart: a chart of the camera's other body says nothing about this one.
func (s *setUp) wantsChart(sh *shot) bool {
	if s.view.ID.IsZero() || sh.body.ID.IsZero() || !sh.clip.Flag("rolled", true) || sh.clip.Text("clipKind") == "test" {
		return false
	}
	kind := s.view.Text("setUpKind")
	return kind != "chart" && kind != "test"
}

// addRecords adds what stands in the records themselves: conflicts, notes, and
// that something was struck out.
func (s *setUp) addRecords(o *Off, sh *shot, take logbook.View, c *glance.ClipSummary) {
	if take.Kind != "" && take.Deleted() {
		o.Missing = append(o.Missing, "the take is struck out")
	}
	if s.view.Kind != "" && s.view.Deleted() {
		o.Missing = append(o.Missing, "the set-up is struck out")
	}
	for _, part := range c.Supports(s.view, sh.clip, take) {
		for _, undecided := range s.conflictsOf(part.View) {
			conflict := Conflict{On: part.On, Field: undecided.Field}
			if undecided.Deletion {
				conflict.Field += " (changed by one, struck out by another)"
			}
			for _, h := range undecided.Heads {
				conflict.Values = append(conflict.Values, valueWords(h.Value)+" ("+h.By()+")")
			}
			o.Conflicts = append(o.Conflicts, conflict)
		}
	}
	if c.White != nil && len(c.White.Contested) > 0 {
		o.Conflicts = append(o.Conflicts, whitesApart(c.White))
	}
	for _, about := range []logbook.View{sh.clip, take, s.view} {
		if about.Kind != "" {
			s.addNotes(o, about)
		}
	}
	o.Notes = append(o.Notes, s.cameraNotes(sh)...)
	for _, late := range s.closed.Late(sh.clip, take, sh.start, c) {
		o.AfterClosing = append(o.AfterClosing, Late{On: late.On, By: late.Last.By, At: late.Last.Corrected().Time(), Record: late.ID})
	}
}

// whitesApart are whites of which nobody chose one: each with who entered it, the one that the
// row shows first.
func whitesApart(w *setup.White) Conflict {
	c := Conflict{On: "take", Field: "white"}
	for _, r := range append([]setup.Rival{w.Rival()}, w.Contested...) {
		c.Values = append(c.Values, r.Words+", from "+r.Since+" ("+r.By+")")
	}
	return c
}

type recordKey struct {
	kind logbook.Kind
	id   logbook.ID
}

func (s *setUp) conflictsOf(v logbook.View) []amend.Conflict {
	found, ok := s.undecided[recordKey{v.Kind, v.ID}]
	if !ok {
		found = amend.ConflictsOf(v)
		s.undecided[recordKey{v.Kind, v.ID}] = found
	}
	return found
}

func valueWords(v logbook.Value) string {
	if text, ok := v.Text(); ok {
		return text
	}
	if v == logbook.Null {
		return "nothing"
	}
	return string(v)
}

// touches reports whether a deviation lists the clip or the take of a row, or is about one
// of the two. What is so in the whole set-up, or now, is blamed on no row.
func touches(d *deviation.Deviation, sh *shot, take logbook.View) bool {
	ofTake := slices.Contains(d.Takes, take.ID)
	switch {
	case len(d.Clips) > 0:
		elsewhere := slices.ContainsFunc(sh.takes, func(take logbook.View) bool { return slices.Contains(d.Takes, take.ID) })
		return slices.Contains(d.Clips, sh.clip.ID) && (ofTake || !elsewhere)
	case len(d.Takes) > 0:
		return ofTake && (len(d.Cameras) == 0 || slices.Contains(d.Cameras, sh.camera.ID))
	}
	return slices.Contains(d.Subjects, sh.clip.ID) || take.Kind != "" && slices.Contains(d.Subjects, take.ID)
}
