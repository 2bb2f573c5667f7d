package days_test

import (
	"fmt"
	"slices"
	"strings"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/setup"
)

const (
	listed   = "a white with its list is looked at again"
	unlisted = "a white without a list is looked at again"
	again    = "a white is to be chosen again"
)

// frozen: nothing that comes in later changes the colour of a white, with its list or as the
// log stood when it was entered; that an input counts no more is said.
var frozen = law{name: "frozen", must: []string{listed, unlisted, again}, holds: func(d *played) error {
	begun, turned := map[logbook.ID]string{}, false
	for i := range d.events {
		from, upTo := d.marks[i].edits, d.marks[i+1].edits
		var b *logbook.Book
		for _, e := range d.edits[from:upTo] {
			turned = turned || e.Kind == kinds.Body && i > 0
			if _, ok := e.Change("from"); ok && e.Kind == kinds.White {
				if b == nil {
					b = bookOf(d.edits[:upTo])
				}
				begun[e.Record] = colorWords(b, e.Record)
			}
		}
	}
	b := d.all()
	for id, was := range begun {
		white := viewOf(b, kinds.White, id)
		as, _ := white.Value("from").Member("as").Text()
		if turned && (as == "cameraSetting" || as == "customFromCard" || as == "sameAs") {
			continue // a body's dials were typed anew
		}
		what := unlisted
		if white.Value("restsOn") != "" {
			what = listed
		}
		d.happened[what]++
		if is := colorWords(b, id); is != was {
			return fmt.Errorf("%s (%s): it was %s and is %s", what, as, was, is)
		}
	}
	return d.saidAgain(b)
}}

// colorWords is the colour of a white in full, or why it has none.
func colorWords(b *logbook.Book, white logbook.ID) string {
	w := setup.WhiteOf(b, viewOf(b, kinds.White, white))
	if w.Color == nil {
		return "no colour"
	}
	return fmt.Sprintf("%.12g %.12g (%s)", w.Color.XY.X, w.Color.XY.Y, w.Color.Words)
}

// saidAgain: where an input of a white that a take has was struck out or replaced, a finding
// says so.
func (d *played) saidAgain(b *logbook.Book) error {
	gone := map[logbook.ID]logbook.Millis{} // since when a record counts no more
	for _, kind := range []logbook.Kind{kinds.Reading, kinds.Sample} {
		for _, r := range b.Records(kind) {
			switch v := r.Field("struckOut").Shown; {
			case v.Known():
				gone[r.ID] = v.Corrected()
			case !r.Ref("supersedes").IsZero():
				gone[r.Ref("supersedes")] = r.CreatedAt()
			}
		}
	}
	for _, t := range d.tellNow() {
		white := viewOf(b, kinds.White, t.row.Meant.White)
		if !white.Known() || t.take.IsZero() || t.row.Find.Take.Kind != "take" {
			continue
		}
		for item := range white.Value("restsOn").Items() {
			id, _ := item.Member("record").ID()
			at, ok := gone[id]
			if !ok || at <= white.CreatedAt() {
				continue // it counts, or whoever chose could know
			}
			d.happened[again]++
			if text := textOf(t.row.Meant); !strings.Contains(text, "choose again") {
				return fmt.Errorf("the white of %s rests on %s, which counts no more, and its row does not say so: %s", t.name(), id, text)
			}
			if slices.ContainsFunc(setup.WhitesOf(b, t.setUp), func(w logbook.View) bool { return w.CreatedAt() >= at }) {
				continue // somebody chose again
			}
			if text := textOf(deviationsOf(b, t.setUp, d.soon())); !strings.Contains(text, "choose again") {
				return fmt.Errorf("the white of %s rests on %s, which counts no more, and nothing says so: %s", t.name(), id, text)
			}
		}
	}
	return nil
}
