package colorlog

import (
	"slices"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/glance"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
	"evenwhite/logbook/setup"
)

// afterClosing lists what the row rests on that was entered after its day was closed: of each
// record the last such edit.
func (s *setUp) afterClosing(sh *shot, take logbook.View, c *glance.ClipSummary) (all []Late) {
	day, ok := s.book.RecordOf(kinds.Day, s.view.Ref("day"))
	if _, closed := setup.ClosedSince(day); !ok || !closed {
		return nil
	}
	for _, part := range s.restsInFull(sh, take, c) {
		edits, known := s.late[recordKey{part.view.Kind, part.view.ID}]
		if !known {
			edits = setup.AfterClosing(day, part.view)
			s.late[recordKey{part.view.Kind, part.view.ID}] = edits
		}
		if late := lastFor(sh, part.view, edits); late != nil {
			all = append(all, Late{On: part.on, By: late.By, At: late.Corrected().Time(), Record: part.view.ID})
		}
	}
	return all
}

// lastFor is the last of some edits of a record that says anything of a clip: how a light was
// set later does not.
func lastFor(sh *shot, v logbook.View, edits []*logbook.Edit) *logbook.Edit {
	for _, e := range slices.Backward(edits) {
		if v.Kind != kinds.Light || lighting.SpeaksOf(v, e, sh.start) {
			return e
		}
	}
	return nil
}

// restsInFull lists the records of a row that belong to a day, with the readings and cards
// behind its numbers, each once. Cameras and bodies go on to other days.
func (s *setUp) restsInFull(sh *shot, take logbook.View, c *glance.ClipSummary) (all []support) {
	seen := map[recordKey]bool{}
	note := func(x support) {
		key := recordKey{x.view.Kind, x.view.ID}
		if x.view.Known() && x.view.Kind != kinds.Camera && x.view.Kind != kinds.Body && !seen[key] {
			seen[key] = true
			all = append(all, x)
		}
	}
	for _, x := range s.rests(sh, take, c) {
		note(x)
	}
	records := slices.Concat(c.MeasuredOrigin.Records, c.Cards)
	if c.White != nil {
		records = append(records, c.White.Origin.Records...)
	}
	for _, l := range c.Lights {
		records = append(records, l.Reading)
	}
	for _, id := range records {
		if v, ok := s.book.RecordOf(kinds.Reading, id); ok {
			note(support{"reading", v})
		}
		if v, ok := s.book.RecordOf(kinds.Sample, id); ok {
			note(support{"card", v})
		}
	}
	return all
}

// Words says what was entered late, by whom and when.
func (l Late) Words() string { return l.On + " (" + l.By + ", " + l.At.Format(time.RFC3339) + ")" }
