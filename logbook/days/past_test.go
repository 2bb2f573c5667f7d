package days_test

import (
	"fmt"
	"slices"
	"strings"

	"evenwhite/logbook"
	"evenwhite/logbook/colorlog"
	"evenwhite/logbook/deviation"
	"evenwhite/logbook/glance"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
	"evenwhite/logbook/setup"
)

// What may change an answer about a clip that is past; each must happen.
const (
	reached     = "a white reached it later"
	cardOfDay   = "a card of its date came later"
	skyRead     = "a light of the sky was read later"
	unreadSoFar = "a light that had no reading of its state before"
	closedAnew  = "its day was closed or opened" // what is marked as after closing, and no more
)

var maySay = []string{reached, cardOfDay, skyRead, unreadSoFar, closedAnew}

// pastStays: what is entered after a clip and names neither it nor what it rests on raises no
// finding on it, and changes nothing in its row and its correction.
var pastStays = law{name: "the past stays", must: maySay, holds: func(d *played) error {
	for i := range d.events {
		from, upTo := d.marks[i].edits, d.marks[i+1].edits
		if d.events[i].Detail>>40%8 != 0 || from == upTo {
			continue
		}
		before, after := bookOf(d.edits[:from]), bookOf(d.edits[:upTo])
		p := &past{before, after, map[logbook.ID]*glance.SetUpSummary{}, map[oracleKey]*oracle{}, d.marks[i+1].at}
		was, is := tell(before, p.now), tell(after, p.now)
		for key, a := range was {
			c, ok := is[key]
			if !ok {
				if p.may(a, d.edits[from:upTo]) == untouched {
					return fmt.Errorf("%s: %s has no row any more", d.events[i].Do, a.name())
				}
				continue
			}
			var changed error
			if x, y := a.plainRow(), c.plainRow(); x != y {
				changed = fmt.Errorf("the row of %s: %s", a.name(), firstDifference(x, y))
			} else if a.correction != c.correction {
				changed = fmt.Errorf("the correction of %s: %s", a.name(), firstDifference(a.correction, c.correction))
			} else {
				for _, f := range c.findings {
					if f.Kind == deviation.NotLogged {
						continue // that is seen only when others go on
					}
					about := a.causes()
					if slices.ContainsFunc(aboutWhat(f), func(what string) bool { return !slices.Contains(about, what) }) {
						changed = fmt.Errorf("a finding on %s: %s: %s", a.name(), f.Kind, f.Words)
					}
				}
			}
			if changed == nil {
				continue
			}
			why := p.may(a, d.edits[from:upTo])
			if why == closedAnew && a.unmarked() == c.unmarked() {
				d.happened[why]++
				continue
			}
			if why == untouched || why == closedAnew {
				return fmt.Errorf("%s changes %w", d.events[i].Do, changed)
			}
			if a.plainRow() != c.plainRow() && !c.names(why, a) {
				return fmt.Errorf("%s changes %w\n%s, and the row does not name it: %s", d.events[i].Do, changed, why, c.plainRow())
			}
			d.happened[why]++
		}
	}
	return nil
}}

// names reports whether a row says which later fact it takes in. Of a question that a later
// white answered, because it took the place of one of those chosen apart, nothing is left to say.
func (t *told) names(why string, before *told) bool {
	lit := func(words ...string) bool {
		if slices.ContainsFunc(words, func(w string) bool { return strings.Contains(t.row.There.ReferenceFrom, w) }) {
			return true
		}
		return slices.ContainsFunc(t.row.There.Lights, func(l colorlog.Light) bool {
			return l.Problem != "" || slices.ContainsFunc(words, func(w string) bool { return strings.Contains(l.When, w) })
		})
	}
	switch why {
	case reached:
		if before.row.Meant.Contested != "" && t.row.Meant.Contested == "" && t.row.Meant.White == before.row.Meant.White {
			return true
		}
		return t.row.Meant.Contested != "" || strings.Contains(textOf(t.row.Meant.Caveats), "chosen after") ||
			strings.Contains(textOf(t.row.Set), "changed within this clip")
	case cardOfDay:
		return len(t.row.Gives.Caveats) > 0 || strings.Contains(textOf(t.row.Correction.Caveats), "from a card")
	case skyRead:
		return lit("between", "later")
	case unreadSoFar:
		return lit("later") || t.row.There.Reference == nil // what came in ended what was taken from later
	}
	return true
}

const (
	untouched = ""
	named     = "it is named"
	earlier   = "it is dated earlier"
)

// past is a book before and after an event, with what its clips rest on.
type past struct {
	before, after *logbook.Book
	clips         map[logbook.ID]*glance.SetUpSummary
	oracles       map[oracleKey]*oracle
	now           logbook.Millis
}

type oracleKey struct {
	book  *logbook.Book
	setUp logbook.ID
}

func (p *past) oracleOf(b *logbook.Book, setUp logbook.ID) *oracle {
	key := oracleKey{b, setUp}
	if p.oracles[key] == nil {
		p.oracles[key] = oracleFor(b, setUp)
	}
	return p.oracles[key]
}

// may says why edits may change what is told of a clip; untouched where they may not.
func (p *past) may(t *told, edits []*logbook.Edit) (why string) {
	clip := viewOf(p.before, kinds.Clip, t.clip)
	at := p.oracleOf(p.before, t.setUp).clipAt(clip, takesIn(p.before, clip))
	for _, e := range edits {
		if reason := p.mayOne(t, e, clip, at); reason != untouched {
			why = reason
		}
	}
	return why
}

func (p *past) mayOne(t *told, e *logbook.Edit, clip logbook.View, at logbook.Millis) string {
	if datedAt(e) <= at {
		return earlier
	}
	if v := viewOf(p.after, kinds.Reading, e.Record); v.Known() && p.oracleOf(p.after, t.setUp).takenAt(v) <= at {
		return earlier // it stands where the one stood that it replaces
	}
	if p.standsAt(e, t.setUp) <= at {
		return earlier // it comes from paper, and stands before a take of a higher number
	}
	if v := takeView(p.before, e.Record); v.Known() && v.Ref("setUp") == t.setUp && value(e, logbook.DeletedField) != "" {
		return named // others were compared with it
	}
	rests := p.restsOn(t, clip)
	for _, id := range namedIn(e) {
		if rests[id] {
			return named
		}
	}
	setUp, _ := value(e, "setUp").ID()
	switch e.Kind {
	case kinds.White:
		takes := takesIn(p.before, clip) // where it reaches one of a series, the white changed within the clip
		if len(takes) == 0 {
			takes = []logbook.View{{}}
		}
		if setUp == t.setUp && slices.ContainsFunc(takes, func(take logbook.View) bool {
			return reaches(p.before, e, take, at)
		}) {
			return reached
		}
	case kinds.Sample:
		if of := dateOf(p.before, setUp); of != "" && of <= t.row.Find.Date {
			return cardOfDay
		}
	case kinds.Day:
		if e.Record == viewOf(p.before, kinds.SetUp, t.setUp).Ref("day") {
			return closedAnew
		}
	case kinds.Reading, kinds.Take, kinds.Light:
		return p.otherAnswer(t, e, at)
	}
	return untouched
}

// standsAt is the moment of the take or clip that an edit enters; the edit's own for others.
func (p *past) standsAt(e *logbook.Edit, setUp logbook.ID) logbook.Millis {
	o := p.oracleOf(p.after, setUp)
	if v := takeView(p.after, e.Record); v.Known() && v.Ref("setUp") == setUp && v.CreatedDot() == e.Dot {
		return o.takeAt(v)
	}
	if v := viewOf(p.after, kinds.Clip, e.Record); v.Known() && v.Ref("setUp") == setUp && v.CreatedDot() == e.Dot {
		return o.clipAt(v, takesIn(p.after, v))
	}
	return e.Corrected()
}

// value is what an edit says of a field.
func value(e *logbook.Edit, field string) logbook.Value {
	if c, ok := e.Change(field); ok {
		return c.Value
	}
	return ""
}

// otherAnswer says why a light of a clip is another by what came in: the first reading in its
// state, or the next one of a light of the sky.
func (p *past) otherAnswer(t *told, e *logbook.Edit, at logbook.Millis) string {
	was, is := p.oracleOf(p.before, t.setUp), p.oracleOf(p.after, t.setUp)
	for _, light := range p.after.Referring(kinds.Light, "setUp", t.setUp) {
		then, ok := p.before.RecordOf(kinds.Light, light.ID)
		if !ok {
			return unreadSoFar
		}
		for _, forMix := range []bool{false, true} {
			a, b := was.courseOf(then, forMix).at(at), is.courseOf(light, forMix).at(at)
			switch {
			case a.how == b.how && sameReading(a.first, b.first) && sameReading(a.then, b.then):
			case ofSky(light):
				return skyRead
			case a.how != "before":
				return unreadSoFar
			}
			if a.how == "" && p.about(e, light.ID) {
				return unreadSoFar // the row says why it is not known
			}
		}
	}
	return untouched
}

// about reports whether an edit is of a light, or of a reading of it.
func (p *past) about(e *logbook.Edit, light logbook.ID) bool {
	text := light.String()
	if v, ok := p.before.Record(e.Record); ok && v.Kind == kinds.Reading && strings.Contains(string(v.Value("of")), text) {
		return true
	}
	return e.Record == light || slices.ContainsFunc(e.Set, func(c logbook.Change) bool {
		return strings.Contains(c.Field+string(c.Value), text)
	})
}

func sameReading(a, b *seenReading) bool {
	return a == nil && b == nil || a != nil && b != nil && a.id == b.id
}

// datedAt is the earliest moment that an edit speaks of.
func datedAt(e *logbook.Edit) logbook.Millis {
	at := e.Corrected()
	for _, c := range e.Set {
		v := c.Value
		if c.Field == "body" {
			v = v.Member("from")
		}
		if c.Field == "takenAt" || c.Field == "startedAt" || c.Field == "body" {
			if t, ok := instant(v); ok {
				at = min(at, lighting.CorrectedBy(e, t))
			}
		}
	}
	return at
}

func instant(v logbook.Value) (logbook.Millis, bool) {
	text, ok := v.Text()
	if !ok {
		return 0, false
	}
	t, err := parseStamp(text)
	return t, err == nil
}

// namedIn are the records that an edit changes, replaces or speaks of; what only puts it in
// its place (its set-up, the light that was read) is none.
func namedIn(e *logbook.Edit) (all []logbook.ID) {
	timed := false // it says from when on
	for _, c := range e.Set {
		timed = timed || strings.HasPrefix(c.Field, "rigged/") || e.Kind == kinds.Camera || e.Kind == kinds.Day
		switch {
		case c.Field == "supersedes", strings.HasPrefix(c.Field, "since/"):
			if id, ok := c.Value.ID(); ok {
				all = append(all, id)
			}
		case c.Field == "subjects", c.Field == "settles":
			for item := range c.Value.Items() {
				if id, ok := item.ID(); ok {
					all = append(all, id)
				}
			}
		case strings.HasPrefix(c.Field, "takes/"):
			if id, err := logbook.ParseID(strings.TrimPrefix(c.Field, "takes/")); err == nil {
				all = append(all, id)
			}
		}
	}
	if !timed {
		all = append(all, e.Record)
	}
	return all
}

// restsOn are the records that an answer about a clip rests on.
func (p *past) restsOn(t *told, clip logbook.View) map[logbook.ID]bool {
	rests := map[logbook.ID]bool{t.clip: true, t.take: true, t.setUp: true, clip.Ref("camera"): true, clip.Ref("body"): true, production: true}
	if p.clips[t.setUp] == nil {
		p.clips[t.setUp] = glance.Summarize(p.before, viewOf(p.before, kinds.SetUp, t.setUp))
	}
	c := p.clips[t.setUp].Clip(clip)
	whites := []*setup.White{c.White}
	if t.take != (logbook.ID{}) { // of a series each take has its own
		whites = append(whites, p.clips[t.setUp].WhiteOfTake(takeView(p.before, t.take)))
	}
	for _, white := range whites {
		if white != nil {
			p.underWhite(white, t.setUp, rests)
		}
	}
	for more := true; more; { // what replaced one of them: the row says "replaced"
		more = false
		for _, reading := range p.before.Records(kinds.Reading) {
			if rests[reading.Ref("supersedes")] && !rests[reading.ID] {
				rests[reading.ID], more = true, true
			}
		}
	}
	for _, id := range c.MeasuredOrigin.Records {
		rests[id] = true
	}
	for _, l := range c.Lights {
		rests[l.Light], rests[l.Reading] = true, true
	}
	for _, take := range takesIn(p.before, clip) {
		rests[take.ID] = true
	}
	for _, white := range p.before.AllReferring(kinds.White, "setUp", t.setUp) { // they replace each other
		rests[white.ID] = true
	}
	for _, take := range p.before.Referring(kinds.Take, "setUp", t.setUp) {
		if take.Text("sky") != "" { // it says what the sky of the row is
			rests[take.ID] = true
		}
	}
	if _, ok := firstOf(append(takesIn(p.before, clip), clip)...); !ok { // its moment is told by other takes
		for _, take := range p.before.Referring(kinds.Take, "setUp", t.setUp) {
			rests[take.ID] = true
		}
	}
	// Strings of identity in the answers: cards, and what they name beside.
	for _, text := range []string{textOf(t.row), t.correction} {
		for _, part := range strings.Split(text, `"`) {
			if id, err := logbook.ParseID(part); err == nil {
				rests[id] = true
			}
		}
	}
	delete(rests, logbook.ID{})
	return rests
}

// underWhite adds what a white rests on.
func (p *past) underWhite(white *setup.White, setUp logbook.ID, rests map[logbook.ID]bool) {
	if white.From == "cameraSetting" { // its body typed anew moves it
		for _, body := range p.before.Records(kinds.Body) {
			rests[body.ID] = true
		}
	}
	if strings.HasPrefix(white.Since, "take") { // takes say where it begins
		for _, take := range p.before.Referring(kinds.Take, "setUp", setUp) {
			rests[take.ID] = true
		}
	}
	counting := []logbook.ID{white.White}
	for _, rival := range white.Contested {
		counting = append(counting, rival.White)
	}
	for _, id := range counting {
		rests[id] = true
		for item := range viewOf(p.before, kinds.White, id).Value("restsOn").Items() {
			id, _ := item.Member("record").ID()
			rests[id] = true
		}
	}
	for _, id := range white.Origin.Records {
		rests[id] = true
		if of, ok := viewOf(p.before, kinds.Sample, id).Value("light").Member("reading").ID(); ok {
			rests[of] = true // the reading behind a card
		}
	}
}

// reaches reports whether a white, as it was entered, reaches a take, or the moment of a clip without one.
func reaches(b *logbook.Book, white *logbook.Edit, take logbook.View, at logbook.Millis) bool {
	from := value(white, "appliesFrom")
	as, _ := from.Member("as").Text()
	if as == "time" { // by the clock that filled it in
		t, ok := instant(from.Member("at"))
		return ok && lighting.CorrectedBy(white, t) <= at+2*minute
	}
	if !take.Known() || take.Deleted() { // the clip is judged by its time
		return true
	}
	n, _ := take.Number("number")
	switch as {
	case "takeNumber":
		m, _ := from.Member("number").Float()
		return n >= m
	case "take":
		id, _ := from.Member("take").ID()
		m, _ := takeView(b, id).Number("number")
		return n >= m
	}
	return take.Ref("white").IsZero() || lighting.Withdrawn(viewOf(b, kinds.White, take.Ref("white")))
}

// dateOf is the date of a set-up's day.
func dateOf(b *logbook.Book, setUp logbook.ID) string {
	v := viewOf(b, kinds.SetUp, setUp)
	if !v.Known() {
		return ""
	}
	return viewOf(b, kinds.Day, v.Ref("day")).Text("date")
}
