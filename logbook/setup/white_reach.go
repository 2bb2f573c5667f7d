package setup

import (
	"cmp"
	"maps"
	"slices"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
)

// Which white a take has. A white reaches takes by its start, and the one that a take names
// reaches it too. What a reaching white replaces drops out, then what begins earlier. Whites
// that are left were chosen by people who did not know of each other.

// A begin is where a white starts, as its record says.
type begin struct {
	as       string  // start, take or time; empty: it leads nowhere yet
	number   float64 // of the take
	at       logbook.Millis
	numbered bool // take has a number, so that the takes after it are known by theirs
	clock    bool // the time was filled in by the device's clock: it is past
}

// beginOf reads where a white starts. A take that was struck out still has its number.
func beginOf(b *logbook.Book, white logbook.View) begin {
	from := white.Value("appliesFrom")
	switch as, _ := from.Member("as").Text(); as {
	case "start":
		return begin{as: "start", at: logbook.Beginning}
	case "take":
		id, _ := from.Member("take").ID()
		take, ok := b.RecordOf(kinds.Take, id)
		if !ok {
			return begin{}
		}
		if n, ok := take.Number("number"); ok && take.Ref("setUp") == white.Ref("setUp") {
			return begin{as: "take", number: n, numbered: true}
		}
		return begin{as: "time", at: lighting.TakeTime(b, take)}
	case "takeNumber":
		n, ok := from.Member("number").Float()
		return begin{as: "take", number: n, numbered: ok}
	case "time":
		text, _ := from.Member("at").Text()
		t, err := time.Parse(time.RFC3339, text)
		if err != nil {
			return begin{}
		}
		e := white.Field("appliesFrom").Shown.Edit()
		return begin{as: "time", at: lighting.CorrectedBy(e, logbook.MillisOf(t)), clock: lighting.ByClock(e, logbook.MillisOf(t))}
	}
	return begin{}
}

// beginWords says it for a sentence.
func beginWords(b *logbook.Book, white logbook.View) string {
	from := white.Value("appliesFrom")
	switch as, _ := from.Member("as").Text(); as {
	case "take":
		id, _ := from.Member("take").ID()
		if take, ok := b.RecordOf(kinds.Take, id); ok {
			return lighting.TakeName(take)
		}
		return "a take that is not in the log"
	case "takeNumber":
		number, _ := from.Member("number").Number()
		return "take " + number
	case "time":
		text, _ := from.Member("at").Text()
		t, _ := time.Parse(time.RFC3339, text)
		return t.Format(time.DateOnly) + " " + figure.ClockIn(t, figure.OffsetOf(t))
	}
	return "start"
}

// A chosen is a white with what follows from its record for the others.
type chosen struct {
	view      logbook.View
	begin     begin
	first     logbook.Millis // when the first take that it reaches by number was
	lastBelow logbook.Millis // and the last of a lower number
	names     logbook.IDSet  // what it says that it replaces
	replaces  logbook.IDSet  // and what follows from that
}

// A history is the whites of a set-up and the takes that they reach.
type history struct {
	book   *logbook.Book
	all    []*chosen // not struck out, in the order in which they were chosen
	next   float64   // the number of the take that comes next
	colour func(logbook.View) White
	named  map[logbook.ID]logbook.IDSet // by whites, struck out or not, once looked up
	led    map[logbook.ID]logbook.IDSet // where the names lead to, once looked up
	twice  map[logbook.ID][]logbook.ID  // doubles, once looked up
}

// A whiteSpot is what a white reaches: a take, logged or still to come, or a moment.
type whiteSpot struct {
	at       logbook.Millis
	number   float64
	numbered bool
	named    logbook.View // the white that the take names
	coming   bool         // the take is not logged yet
	now      bool         // it is asked for with all that is in the book, also what a fast clock dates ahead
}

// historyOf takes the whites of a set-up that count and its takes; when says when a take
// was, colour resolves a white.
func historyOf(
	b *logbook.Book, whites, takes []logbook.View, when func(logbook.View) logbook.Millis, colour func(logbook.View) White,
) *history {
	h := &history{book: b, colour: colour, next: 1, named: map[logbook.ID]logbook.IDSet{},
		led: map[logbook.ID]logbook.IDSet{}, twice: map[logbook.ID][]logbook.ID{}}
	for _, v := range whites {
		h.all = append(h.all, &chosen{view: v, begin: beginOf(b, v), names: h.namedBy(v.ID), first: logbook.Ever, lastBelow: logbook.Beginning})
	}
	for _, take := range takes {
		n, ok := take.Number("number")
		if !ok {
			continue
		}
		if take.Text("state") != "numberUsedAgain" {
			h.next = max(h.next, n+1)
		}
		at := when(take)
		for _, c := range h.all {
			switch {
			case !c.begin.numbered:
			case n >= c.begin.number:
				c.first = min(c.first, at)
			default:
				c.lastBelow = max(c.lastBelow, at)
			}
		}
	}
	for _, c := range h.all {
		c.replaces = h.replacedBy(c)
	}
	return h
}

// namedBy are the whites that a white says it replaces.
func (h *history) namedBy(id logbook.ID) logbook.IDSet {
	if known, ok := h.named[id]; ok {
		return known
	}
	named := logbook.IDSet{}
	if v, ok := h.book.RecordOf(kinds.White, id); ok {
		named.Add(v.Ref("supersedes"))
		for item := range v.Value("settles").Items() {
			if other, ok := item.ID(); ok {
				named.Add(h.book.Resolve(other))
			}
		}
		delete(named, v.ID)
	}
	h.named[id] = named
	return named
}

// ledTo are the whites that the names lead to from one: its own, theirs in turn, also
// through struck-out ones.
func (h *history) ledTo(id logbook.ID) logbook.IDSet {
	if known, ok := h.led[id]; ok {
		return known
	}
	found := logbook.IDSet{}
	open := []logbook.ID{id}
	for len(open) > 0 {
		next := open[len(open)-1]
		open = open[:len(open)-1]
		for name := range h.namedBy(next) {
			if !found[name] {
				found.Add(name)
				open = append(open, name)
			}
		}
	}
	h.led[id] = found
	return found
}

// replacedBy is what a white replaces: what the names lead to, and the doubles of each. What
// leads back to it is in a circle with it and stays.
func (h *history) replacedBy(c *chosen) logbook.IDSet {
	out := logbook.IDSet{}
	for id := range h.ledTo(c.view.ID) {
		if h.ledTo(id)[c.view.ID] {
			continue
		}
		out.Add(id)
		for _, double := range h.doubles(id) {
			if double != c.view.ID && !h.ledTo(double)[c.view.ID] {
				out.Add(double)
			}
		}
	}
	return out
}

// doubles are the whites that are another one entered twice: same start, naming the same,
// not to be told apart.
func (h *history) doubles(id logbook.ID) []logbook.ID {
	if known, ok := h.twice[id]; ok {
		return known
	}
	var all []logbook.ID
	if v, ok := h.book.RecordOf(kinds.White, id); ok {
		start, names := beginOf(h.book, v), h.namedBy(id)
		for _, c := range h.all {
			if c.view.ID != v.ID && c.begin == start && start.as != "" && maps.Equal(c.names, names) &&
				c.view.Ref("setUp") == v.Ref("setUp") && !ToldApart(h.book, h.colour(v), h.colour(c.view)) {
				all = append(all, c.view.ID)
			}
		}
	}
	h.twice[id] = all
	return all
}

// beganAt is from when on a white speaks of what is no take, such as a chart: one from a take
// on from that take, or from when it was chosen for a take that was still to come.
func (c *chosen) beganAt() logbook.Millis {
	if c.begin.as == "take" {
		return min(c.first, max(c.view.CreatedAt(), c.lastBelow))
	}
	return c.begin.at
}

// reaches reports whether a white reaches a spot by its start, or because the take names it.
func (c *chosen) reaches(at whiteSpot) bool {
	named := at.named.Known() && !lighting.Withdrawn(at.named)
	if named && at.named.ID == c.view.ID {
		return true
	}
	switch c.begin.as {
	case "start":
		return !named
	case "time":
		return at.at >= c.begin.at || at.now && c.begin.clock
	case "take":
		if c.begin.numbered && at.numbered {
			return at.number >= c.begin.number && (!at.coming || at.now || c.beganAt() <= at.at)
		}
		return c.begin.numbered && at.at >= c.beganAt()
	}
	return false
}

// later reports whether a white begins later than another.
func (c *chosen) later(other *chosen) bool {
	if c.begin.numbered && other.begin.numbered {
		return c.begin.number > other.begin.number
	}
	return c.begins() > other.begins()
}

func (c *chosen) begins() logbook.Millis {
	if c.begin.as == "take" {
		return c.first
	}
	return c.begin.at
}

// count are the whites that count at a spot, the one that is shown first. Several were
// chosen apart.
func (h *history) count(at whiteSpot) []logbook.View {
	var reached []*chosen
	for _, c := range h.candidates(at) {
		if c.reaches(at) {
			reached = append(reached, c)
		}
	}
	var left []*chosen
	for _, c := range reached {
		if !slices.ContainsFunc(reached, func(o *chosen) bool { return o.replaces[c.view.ID] }) {
			left = append(left, c)
		}
	}
	slices.SortStableFunc(left, func(x, y *chosen) int {
		return cmp.Or(cmp.Compare(y.begins(), x.begins()), cmp.Compare(y.begin.number, x.begin.number))
	})
	var out []logbook.View
	var standing []*chosen
	for _, c := range left { // what is beaten itself beats nothing
		if !slices.ContainsFunc(standing, func(o *chosen) bool { return o.beats(c) }) {
			standing, out = append(standing, c), append(out, c.view)
		}
	}
	slices.SortFunc(out, func(x, y logbook.View) int {
		if logbook.Before(y.Created(), x.Created()) {
			return -1
		}
		return 1
	})
	return out
}

// candidates are the whites of the set-up, and one of another that the take names.
func (h *history) candidates(at whiteSpot) []*chosen {
	if !at.named.Known() || lighting.Withdrawn(at.named) ||
		slices.ContainsFunc(h.all, func(c *chosen) bool { return c.view.ID == at.named.ID }) {
		return h.all
	}
	c := &chosen{view: at.named, begin: begin{as: "start", at: logbook.Beginning}, names: h.namedBy(at.named.ID)}
	c.replaces = h.replacedBy(c)
	return append(slices.Clone(h.all), c)
}

// beats reports whether of two whites the first wins because it begins later: not where it
// names one that the other replaces too, for then they were chosen apart.
func (c *chosen) beats(other *chosen) bool {
	if !c.later(other) {
		return false
	}
	for name := range c.names {
		if other.replaces[name] {
			return false
		}
	}
	return true
}

// apart leaves of whites that count the first, and those that can be told apart from it and
// from each other.
func (h *history) apart(all []logbook.View) []logbook.View {
	if len(all) < 2 {
		return all
	}
	var out []logbook.View
	for _, v := range all {
		if !slices.ContainsFunc(out, func(o logbook.View) bool { return !ToldApart(h.book, h.colour(o), h.colour(v)) }) {
			out = append(out, v)
		}
	}
	return out
}

// coming is the take that comes next, as far as a moment knows of it.
func (h *history) coming(at logbook.Millis) whiteSpot {
	return whiteSpot{at: at, number: h.next, numbered: true, coming: true}
}

// comingNow is the take that comes next, by all that is in the book.
func (h *history) comingNow(now logbook.Millis) whiteSpot {
	spot := h.coming(now)
	spot.now = true
	return spot
}

// spotOfTake is a take that was logged.
func spotOfTake(take logbook.View, at logbook.Millis) whiteSpot {
	spot := whiteSpot{at: at}
	spot.number, spot.numbered = take.Number("number")
	spot.named, _ = take.Book().RecordOf(kinds.White, take.Ref("white"))
	return spot
}

// NextTake is the number of the take that comes next in the set-up: that from which a new
// white is offered to apply.
func (s *SetUp) NextTake() int { return int(s.history.next) }
