package lighting

import (
	"fmt"
	"sort"

	"evenwhite/logbook"
)

// stateFields are the fields that make the state of a light, with what happens when one
// changes. Whether it is on is none of them: off over lunch and on again, it is the same.
var stateFields = [...]struct{ field, words string }{
	{"lamp", "its lamp was changed"},
	{"gels", "its gels were changed"},
	{"dialKelvin", "its kelvin dial was turned"},
	{"dialGreenMagenta", "its green–magenta dial was turned"},
	{"levelPercent", "its level was changed"},
}

const gelsField, levelField = 1, 4 // of stateFields

// A State is how a light is set, and under which sky where it is of the sky.
type State struct {
	values [len(stateFields)]logbook.Value
	sky    string
}

// setAs is how a light was set when a reading was made, as far as the reading and what was
// typed on the light say: for what readings teach.
func (m *Reading) setAs(light logbook.View) (s State) {
	for i, f := range stateFields {
		s.values[i] = m.Snapshot(light, f.field)
	}
	if s.values[gelsField] != "" {
		s.values[gelsField] = ordered(light.Book(), s.values[gelsField])
	}
	return s
}

// Value is what a field of the state is; "" where that is not known.
func (s State) Value(field string) logbook.Value {
	for i, f := range stateFields {
		if f.field == field && s.values[i] != otherwise {
			return s.values[i]
		}
	}
	return ""
}

// same compares two states; without the level where that changes nothing. What nobody ever
// said of one field is no difference.
func (s State) same(o State, level bool) bool {
	for i, v := range s.values {
		if i == levelField && !level {
			continue
		}
		if w := o.values[i]; v != "" && w != "" && !v.Equal(w) {
			return false
		}
	}
	return s.sky == "" || o.sky == "" || s.sky == o.sky
}

// differs says what was changed from one state to another, in words; "" where nothing was.
func (s State) differs(to State, level bool, b *logbook.Book) string {
	for i, f := range stateFields {
		v, w := s.values[i], to.values[i]
		if i == levelField && !level || v == "" || w == "" || v.Equal(w) {
			continue
		}
		if v == otherwise || w == otherwise {
			return f.words
		}
		return fmt.Sprintf("%s from %s to %s", f.words, ValueWords(b, v), ValueWords(b, w))
	}
	if s.sky != to.sky && s.sky != "" && to.sky != "" {
		return fmt.Sprintf("the sky went from %s to %s", SkyWords(s.sky), SkyWords(to.sky))
	}
	return ""
}

// SkyWords is a sky as people say it.
func SkyWords(sky string) string {
	if sky == "thinCloud" {
		return "thin cloud"
	}
	return sky
}

// ordered are the gels of a light, whichever was hung first.
func ordered(b *logbook.Book, gels logbook.Value) logbook.Value {
	var all []logbook.Value
	for item := range gels.Items() {
		if id, ok := item.ID(); ok {
			item = logbook.IDValue(b.Resolve(id))
		}
		all = append(all, item)
	}
	sort.Slice(all, func(i, j int) bool { return all[i] < all[j] })
	return logbook.ListValue(all)
}
