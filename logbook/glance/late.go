package glance

import (
	"slices"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
	"evenwhite/logbook/setup"
)

// A Closed is a set-up whose day was closed.
type Closed struct {
	setUp, day logbook.View
	edits      map[recordKey][]*logbook.Edit // after the closing, once looked up
}

// ClosedOf is nil where the day of a set-up is open, or not known.
func ClosedOf(setUp logbook.View) *Closed {
	if !setUp.Known() {
		return nil
	}
	day, ok := setUp.Book().RecordOf(kinds.Day, setUp.Ref("day"))
	if _, closed := setup.ClosedSince(day); !ok || !closed {
		return nil
	}
	return &Closed{setUp, day, map[recordKey][]*logbook.Edit{}}
}

func (d *Closed) after(v logbook.View) []*logbook.Edit {
	edits, known := d.edits[keyOf(v)]
	if !known {
		edits = setup.AfterClosing(d.day, v)
		d.edits[keyOf(v)] = edits
	}
	return edits
}

// Late is a record of which something was entered after its day was closed: the last of it.
type Late struct {
	Support
	Last *logbook.Edit
}

// Late lists what a clip of a moment rests on, in one of its takes, and was entered after the closing.
func (d *Closed) Late(clip, take logbook.View, at logbook.Millis, c *ClipSummary) (all []Late) {
	if d == nil {
		return nil
	}
	for _, s := range c.ofTheDay(d.setUp, clip, take) {
		for _, e := range slices.Backward(d.after(s.View)) {
			if s.Kind != kinds.Light || lighting.SpeaksOf(s.View, e, at) { // how a light was set later says nothing of it
				all = append(all, Late{s, e})
				break
			}
		}
	}
	return all
}

// anything reports whether there is something late that a clip of the set-up may rest on.
func (d *Closed) anything() bool {
	b := d.setUp.Book()
	all := append(b.AllRecords(kinds.Sample), d.setUp)
	for _, kind := range []logbook.Kind{kinds.Light, kinds.Reading, kinds.Take, kinds.Clip, kinds.White} {
		all = append(all, b.AllReferring(kind, "setUp", d.setUp.ID)...)
	}
	for _, v := range all {
		for item := range v.Value("restsOn").Items() { // of a white, readings of other set-ups too
			if id, ok := item.Member("record").ID(); ok {
				on, _ := b.Record(id)
				all = append(all, on)
			}
		}
	}
	return slices.ContainsFunc(all, func(v logbook.View) bool { return len(d.after(v)) > 0 })
}

// A lateFinder tells of found clips what a row of the colour log does.
type lateFinder struct {
	book    *logbook.Book
	reader  *Summarizer
	setUps  map[logbook.ID]*Closed // nil where nothing is late
	summary *SetUpSummary          // of the set-up of the clip before
}

// late reports whether something that a clip rests on was entered after its day was closed.
func (f *lateFinder) late(clip logbook.View, takes []logbook.ID) bool {
	id := clip.Ref("setUp")
	closed, known := f.setUps[id]
	if !known {
		setUp, _ := f.book.RecordOf(kinds.SetUp, id)
		if closed = ClosedOf(setUp); closed != nil && !closed.anything() {
			closed = nil
		}
		f.setUps[id] = closed
	}
	if closed == nil {
		return false
	}
	if f.reader == nil {
		f.reader = NewSummarizer(f.book)
	}
	if f.summary == nil || f.summary.SetUp().View().ID != closed.setUp.ID {
		f.summary = f.reader.Summarize(closed.setUp)
	}
	c, at := f.summary.Clip(clip), f.summary.MomentOf(clip)
	if len(takes) == 0 {
		return len(closed.Late(clip, logbook.View{}, at, &c)) > 0
	}
	return slices.ContainsFunc(takes, func(id logbook.ID) bool {
		take, _ := f.book.RecordOf(kinds.Take, id)
		return len(closed.Late(clip, take, at, f.summary.OfTake(clip, take, &c))) > 0
	})
}
