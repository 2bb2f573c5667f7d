package rigging

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
	"evenwhite/logbook/setup"
)

// StockLine is a lamp or gel of the truck, and how many stand at once.
type StockLine struct {
	Record logbook.ID   `json:"record"`
	Kind   logbook.Kind `json:"kind"` // lamp or gel
	Name   string       `json:"name"`
	// Held is how many the truck holds; absent where nobody entered it. A lamp is one.
	Held *int `json:"held,omitempty"`
	// AtOnce is how many stood at one moment, at the most, At when that was first so, and Uses
	// where. A set-up stands from its first reading or take to its last.
	AtOnce int        `json:"atOnce"`
	At     *time.Time `json:"at,omitempty"`
	Uses   []StockUse `json:"uses"`
	// IfTogether is how many it would be if all that is not wrapped or only planned stood at once.
	IfTogether int        `json:"ifTogether"`
	Together   []StockUse `json:"together"`
	Verdict    string     `json:"verdict"` // short, shortIfTogether, notKnown or enough
	Words      string     `json:"words"`
}

// StockUse is a light that a piece of stock is in or on.
type StockUse struct {
	SetUp     logbook.ID `json:"setUp"`
	SetUpName string     `json:"setUpName"`
	Light     logbook.ID `json:"light"`
	LightName string     `json:"lightName"`
}

// stand is when a set-up surely stood.
type stand struct {
	setUp    *setup.SetUp
	name     string
	from, to logbook.Millis   // Ever and Beginning: it was not begun
	moments  []logbook.Millis // of readings and takes in it
}

func standOf(s *setup.SetUp) *stand {
	st := &stand{setUp: s, name: lighting.SetUpName(s.Book(), s.View()), from: logbook.Ever, to: logbook.Beginning}
	for _, m := range s.Readings() {
		st.moments = append(st.moments, m.TakenAt)
	}
	for _, take := range s.Takes() {
		st.moments = append(st.moments, s.AtTake(take).At)
	}
	for _, clip := range s.Clips() {
		st.moments = append(st.moments, s.MomentOf(clip))
	}
	for _, at := range st.moments {
		st.from, st.to = min(st.from, at), max(st.to, at)
	}
	return st
}

func (st *stand) begun() bool { return len(st.moments) > 0 }

// stood reports whether the set-up surely stood at a moment.
func (st *stand) stood(at logbook.Millis) bool { return st.from <= at && at <= st.to }

// mayStand reports whether it may stand with others: nobody went on from it, or nobody began.
func (st *stand) mayStand() bool { return st.setUp.Moment() == logbook.Ever || !st.begun() }

// there are the lights that stood in the set-up at a moment: one counts from its first reading or
// from its entry; what was entered when all was over stood all along.
func (st *stand) there(at logbook.Millis) (all []logbook.View) {
	for _, light := range st.setUp.Lights() {
		entered := light.CreatedAt()
		if entered <= at || entered > st.to || st.setUp.Course(light).LastBefore(at) != nil {
			all = append(all, light)
		}
	}
	return all
}

type stockRef struct {
	kind   logbook.Kind
	record logbook.ID
}

// takes lists what the lights of a set-up take at a moment.
func (st *stand) takes(at logbook.Millis, lights []logbook.View, used map[stockRef][]StockUse) {
	for _, light := range lights {
		use := StockUse{st.setUp.View().ID, st.name, light.ID, light.Text("name")}
		lamp, gels := piecesOf(st.setUp.Course(light).StateAt(at), light, at)
		if id, ok := lamp.ID(); ok {
			ref := stockRef{kinds.Lamp, light.Book().Resolve(id)}
			used[ref] = append(used[ref], use)
		}
		for item := range gels.Items() {
			if id, ok := item.ID(); ok {
				ref := stockRef{kinds.Gel, light.Book().Resolve(id)}
				used[ref] = append(used[ref], use)
			}
		}
	}
}

// stockOf counts what set-ups take together, and tells of what the listed ones use.
func stockOf(b *logbook.Book, standing []*stand, listed func(logbook.ID) bool) []StockLine {
	lines, together := map[stockRef]*StockLine{}, map[stockRef][]StockUse{}
	line := func(ref stockRef) *StockLine {
		if lines[ref] == nil {
			lines[ref] = &StockLine{Record: ref.record, Kind: ref.kind, Uses: []StockUse{}, Together: []StockUse{}}
		}
		return lines[ref]
	}
	for _, at := range momentsOf(standing) {
		used := map[stockRef][]StockUse{}
		for _, st := range standing {
			if st.stood(at) {
				st.takes(at, st.there(at), used)
			}
		}
		for ref, uses := range used {
			if l := line(ref); len(uses) > l.AtOnce {
				when := at.Time()
				l.AtOnce, l.At, l.Uses = len(uses), &when, uses
			}
		}
	}
	for _, st := range standing {
		if st.mayStand() {
			st.takes(logbook.Ever, st.setUp.Lights(), together)
		}
	}
	for ref, uses := range together {
		l := line(ref)
		l.IfTogether, l.Together = len(uses), uses
	}
	all := []StockLine{}
	for _, l := range lines {
		if slices.ContainsFunc(append(slices.Clone(l.Uses), l.Together...), func(u StockUse) bool { return listed(u.SetUp) }) {
			l.judge(b, standing)
			all = append(all, *l)
		}
	}
	slices.SortFunc(all, func(x, y StockLine) int {
		return cmp.Or(cmp.Compare(slices.Index(verdicts, x.Verdict), slices.Index(verdicts, y.Verdict)), -cmp.Compare(x.Kind, y.Kind),
			strings.Compare(x.Name, y.Name), slices.Compare(x.Record[:], y.Record[:]))
	})
	return all
}

// momentsOf are those at which something was read or shot, each once, the earliest first.
func momentsOf(standing []*stand) (all []logbook.Millis) {
	for _, st := range standing {
		all = append(all, st.moments...)
	}
	slices.Sort(all)
	return slices.Compact(all)
}

// verdicts are in the order in which lines stand.
var verdicts = []string{"short", "shortIfTogether", "notKnown", "enough"}

// judge compares what stands with what the truck holds.
func (l *StockLine) judge(b *logbook.Book, standing []*stand) {
	l.Name = "one that is not in the log"
	if v, ok := b.RecordOf(l.Kind, l.Record); ok {
		l.Name = v.Text("name")
		l.Held = heldOf(v)
	}
	switch {
	case l.Held == nil:
		l.Verdict = "notKnown"
		l.Words = fmt.Sprintf("%d in use; how many the truck holds was not entered", max(l.AtOnce, l.IfTogether))
	case l.AtOnce > *l.Held:
		l.Verdict = "short"
		l.Words = fmt.Sprintf("%s used %d at once at %s, the truck holds %d: %s", l.Name, l.AtOnce,
			figure.ClockIn(*l.At, ZoneOf(b, standing[0].setUp.Day())), *l.Held, useWords(l.Uses))
	case l.IfTogether > *l.Held:
		l.Verdict = "shortIfTogether"
		l.Words = fmt.Sprintf("%s would be used %d times if these stand together, the truck holds %d: %s", l.Name, l.IfTogether, *l.Held,
			useWords(l.Together))
	default:
		l.Verdict = "enough"
		l.Words = fmt.Sprintf("%d of %d in use", max(l.AtOnce, l.IfTogether), *l.Held)
	}
}

// heldOf is how many of a lamp or gel the truck holds; nil where nobody said how many pieces of
// a gel. A lamp that says no count is one.
func heldOf(v logbook.View) *int {
	field, absent := "quantity", -1
	if v.Kind == kinds.Lamp {
		field, absent = "count", 1
	}
	n := absent
	if f, ok := v.Number(field); ok {
		n = int(f)
	}
	if n < 0 {
		return nil
	}
	return &n
}

func useWords(uses []StockUse) string {
	words := make([]string, len(uses))
	for i, u := range uses {
		words[i] = u.SetUpName + " " + u.LightName
	}
	return lighting.Listed(words)
}
