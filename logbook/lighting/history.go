package lighting

import (
	"sort"
	"strings"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
)

// A history is what one field of a light said over time: typed on the light, and told by
// readings.
type history struct {
	steps  []step
	before logbook.Value // until the first step
}

type step struct {
	at    logbook.Millis
	dot   logbook.Dot
	value logbook.Value
	since bool // said to hold since a reading
}

// otherwise is what a field was before a value that is said to hold since a reading only:
// something else, and nobody knows what.
const otherwise = logbook.Value(`"otherwise"`)

// typedOn is what people typed on a light in a field: rigged/dialKelvin, lamp. It holds
// from its entry, or from the reading that the same edit names as since.
func typedOn(light logbook.View, field string) (h history) {
	if !light.EverSet(field) {
		return h
	}
	for _, e := range light.Edits() {
		c, ok := e.Change(field)
		if !ok || c.Value == logbook.Null {
			continue
		}
		at, since := e.Corrected(), false
		if s, ok := e.Change("since/" + field); ok {
			if id, ok := s.Value.ID(); ok {
				if v, found := light.Book().RecordOf(kinds.Reading, id); found {
					at, since = Read(light.Book(), v).TakenAt, true
				}
			}
		}
		h.steps = append(h.steps, step{at, e.Dot, c.Value, since})
	}
	return h
}

// SpeaksOf reports whether an edit of a light says anything of a moment: what was rigged later
// does not, unless it is said to have held since a reading until then.
func SpeaksOf(light logbook.View, e *logbook.Edit, at logbook.Millis) bool {
	if e.Dot == light.CreatedDot() || e.Corrected() <= at {
		return true
	}
	for i := range e.Set {
		field := e.Set[i].Field
		switch prefix, _, _ := strings.Cut(field, "/"); prefix {
		case "planned":
		case "since":
			id, ok := e.Set[i].Value.ID()
			if v, found := light.Book().RecordOf(kinds.Reading, id); ok && found && Read(light.Book(), v).TakenAt <= at {
				return true
			}
		case "rigged", "lamp", "position":
		default:
			return true
		}
	}
	return false
}

// PositionAt is where a light stood at a moment, by what people typed on it. A position that is
// named for the first time was the same all along; "" where nobody named one.
func PositionAt(light logbook.View, at logbook.Millis) string {
	h := typedOn(light, "position")
	sort.SliceStable(h.steps, func(i, j int) bool {
		return byTime(h.steps[i].at, h.steps[i].dot, h.steps[j].at, h.steps[j].dot) < 0
	})
	if len(h.steps) > 0 {
		h.before = h.steps[0].value
	}
	text, _ := h.at(at).Text()
	return text
}

// historyOf is a field of how a light is rigged, as typed and as its readings tell. A dial
// that is named for the first time stood so all along; gels that nobody named are none, and
// a light is on: naming them later is a change, but for what it was entered with.
func historyOf(light logbook.View, field string, readings []*Reading) history {
	path := "rigged/" + field
	if field == "lamp" {
		path = field
	}
	h := typedOn(light, path)
	created := light.Created()
	if c, ok := created.Change(path); ok && (field == "gels" || field == "on") && len(h.steps) > 0 && c.Value != logbook.Null {
		h.steps[0].at = logbook.Beginning
	}
	for _, m := range readings {
		if v := m.asSet(light, field); v != "" && v != logbook.Null {
			h.steps = append(h.steps, step{m.TakenAt, m.view.CreatedDot(), v, false})
		}
	}
	sort.SliceStable(h.steps, func(i, j int) bool {
		a, b := &h.steps[i], &h.steps[j]
		return byTime(a.at, a.dot, b.at, b.dot) < 0
	})
	switch {
	case field == "gels":
		h.before = "[]"
	case field == "on":
		h.before = "true"
		if !light.Flag("planned/on", true) {
			h.before = "false"
		}
	case len(h.steps) > 0 && h.steps[0].since:
		h.before = otherwise
	case len(h.steps) > 0:
		h.before = h.steps[0].value
	}
	return h
}

// at is what the field said at a moment; no value where nobody ever said.
func (h history) at(t logbook.Millis) logbook.Value {
	value := h.before
	for _, s := range h.steps {
		if s.at > t {
			break
		}
		value = s.value
	}
	return value
}

// asSet is what a reading says of a light as it was set; no value where it says nothing.
func (m *Reading) asSet(light logbook.View, field string) logbook.Value {
	for _, key := range m.view.Keys("lightsAsSet") {
		if id, err := logbook.ParseID(key); err == nil && light.Book().Resolve(id) == light.ID {
			return m.view.Value("lightsAsSet/" + key).Member(field)
		}
	}
	if m.replaced != nil { // what it does not say is as the other said
		return m.replaced.asSet(light, field)
	}
	return ""
}
