package comparison

import (
	"slices"
	"strings"

	"evenwhite/logbook"
	"evenwhite/logbook/colorlog"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/states"
)

// causes are the edits that only one of two states holds.
type causes struct {
	byRecord map[logbook.ID][]*logbook.Edit
	bySetUp  map[logbook.ID][]*logbook.Edit // of records that belong to it, as a reading does, in either state
	others   []*logbook.Edit                // of what is of no set-up: a lamp, a card of a body, an acceptance
}

// only reads the edits that one state holds and the other does not.
func (c *causes) only(in, out states.State, read Edits) (all []*logbook.Edit, err error) {
	var dots []logbook.Dot
	for line, s := range logbook.HeldOf(out.Held).Lacks(logbook.HeldOf(in.Held), logbook.Dot{}) {
		for n := s.From; n <= s.To; n++ {
			dots = append(dots, logbook.Dot{Line: line, N: n})
		}
	}
	for some := range slices.Chunk(dots, 1000) {
		stored, err := read(some)
		if err != nil {
			return nil, err
		}
		for _, s := range stored {
			if e, err := logbook.DecodeEdit(s.Bytes); err == nil { // else of a newer version: no row rests on it
				c.add(e)
				all = append(all, e)
			}
		}
	}
	return all, nil
}

func (c *causes) add(e *logbook.Edit) {
	if c.byRecord == nil {
		c.byRecord, c.bySetUp = map[logbook.ID][]*logbook.Edit{}, map[logbook.ID][]*logbook.Edit{}
	}
	c.byRecord[e.Record] = append(c.byRecord[e.Record], e)
	switch e.Kind {
	case kinds.Clip, kinds.Take, kinds.SetUp, kinds.Light, kinds.White, kinds.Day, kinds.Scene:
	default:
		c.others = append(c.others, e)
	}
}

// place finds the set-ups to which the records of the edits belong in a book.
func (c *causes) place(from logbook.Lender) {
	from.Read(func(b *logbook.Book) {
		for id, edits := range c.byRecord {
			if v, ok := b.RecordOf(edits[0].Kind, id); ok {
				c.bySetUp[v.Ref("setUp")] = append(c.bySetUp[v.Ref("setUp")], edits...)
			}
		}
	})
}

// behind are the edits that may be behind what differs in a row, the nearest first.
type behind struct {
	own    []*logbook.Edit // of the clip and its take
	near   []*logbook.Edit // of the other records that the row names, and of its set-up
	others []*logbook.Edit
}

func (b behind) and(o behind) behind {
	return behind{slices.Concat(b.own, o.own), slices.Concat(b.near, o.near), slices.Concat(b.others, o.others)}
}

// of finds the edits that may be behind a row.
func (c *causes) of(from logbook.Lender, row *colorlog.Row) (b behind) {
	if len(c.byRecord) == 0 {
		return b
	}
	b.others = c.others
	b.own = slices.Clone(c.byRecord[row.Find.ClipRecord])
	if row.Find.Take != nil {
		b.own = append(b.own, c.byRecord[row.Find.Take.Record]...)
	}
	for id := range named(from, row) {
		b.near = append(b.near, c.byRecord[id]...)
	}
	if setUp := row.Find.SetUpRecord; !setUp.IsZero() {
		b.near = append(b.near, c.bySetUp[setUp]...)
	}
	return b
}

// named are the records that a row names or belongs to, but clip and take.
func named(from logbook.Lender, row *colorlog.Row) map[logbook.ID]bool {
	ids := map[logbook.ID]bool{row.Find.SetUpRecord: true, row.Meant.White: true, row.Gives.ChartRecord: true, row.Set.CustomFrom: true}
	for _, l := range row.There.Lights {
		ids[l.Record], ids[l.Reading], ids[l.NextReading] = true, true, true
	}
	for _, id := range row.There.Readings {
		ids[id] = true
	}
	var notes []logbook.ID
	for _, n := range row.Off.Notes {
		ids[n.Record] = true
		notes = append(notes, n.Record)
	}
	for _, l := range row.Off.AfterClosing {
		ids[l.Record] = true
	}
	from.Read(func(b *logbook.Book) {
		for ; len(notes) > 0; notes = notes[1:] { // with their answers, and theirs in turn
			for _, answer := range b.AllReferring(kinds.Note, "answers", notes[0]) {
				if !ids[answer.ID] {
					ids[answer.ID] = true
					notes = append(notes, answer.ID)
				}
			}
		}
		clip, _ := b.RecordOf(kinds.Clip, row.Find.ClipRecord)
		setUp, _ := b.RecordOf(kinds.SetUp, row.Find.SetUpRecord)
		for _, at := range []struct {
			view  logbook.View
			field string
		}{{clip, "camera"}, {clip, "body"}, {setUp, "day"}, {setUp, "scene"}} {
			if at.view.Known() {
				ids[at.view.Ref(at.field)] = true
			}
		}
		ids[b.Production()] = true
	})
	delete(ids, logbook.ID{})
	delete(ids, row.Find.ClipRecord)
	return ids
}

// direct are the columns that show a field of the clip or its take: an edit of that field is the one.
var direct = map[string]string{
	"clip name": "name", "clip name from": "name", "part": "part", "card": "card", "timecode start": "timecode/start",
	"timecode end": "timecode/end", "timecode rate (frames/s)": "timecode/", "rolled": "rolled", "take": "number suffix",
	"take kind": "takeKind clipKind", "take state": "state", "series": "series", "wanted": "wanted", "white mode": "whiteMode",
	"kelvin set (K)": "kelvin", "tint set (units of the body)": "tint", "amber-blue set (units of the body)": "amberBlue", "preset": "preset",
	"settings are": "settingsAre", "changes while rolling": "changes/", "sensitivity (ISO or EI)": "sensitivity", "shutter": "shutter",
	"sensor rate (frames/s)": "sensorRate", "lens": "lens", "filters": "filters",
}

// cell finds the edits behind a cell: those that set its field; else those of the records that the row
// names; else what is of no set-up.
func (b behind) cell(column string) []logbook.Dot {
	if fields, ok := direct[column]; ok {
		var set []*logbook.Edit
		for _, e := range b.own {
			if slices.ContainsFunc(e.Set, func(c logbook.Change) bool { return shows(fields, c.Field) }) {
				set = append(set, e)
			}
		}
		if len(set) > 0 {
			return dotsOf(set)
		}
	}
	if near := slices.Concat(b.own, b.near); len(near) > 0 {
		return dotsOf(near)
	}
	return dotsOf(b.others)
}

// all are the edits behind a row that is new or gone.
func (b behind) all() []logbook.Dot {
	if len(b.own) > 0 {
		return dotsOf(b.own)
	}
	return b.cell("")
}

func shows(fields, field string) bool {
	return slices.ContainsFunc(strings.Fields(fields), func(f string) bool {
		return f == field || strings.HasSuffix(f, "/") && strings.HasPrefix(field, f)
	})
}

func dotsOf(edits []*logbook.Edit) []logbook.Dot {
	dots := make([]logbook.Dot, len(edits))
	for i, e := range edits {
		dots[i] = e.Dot
	}
	slices.SortFunc(dots, compareDots)
	return slices.Compact(dots)
}
