package lighting

import (
	"evenwhite/logbook"
	"sort"
)

// A Sky is the sky over a set-up: the last one that a reading or a take named.
type Sky []skyStep

type skyStep struct {
	at   logbook.Millis
	dot  logbook.Dot
	name string
}

// SkyOf gathers the skies that readings and takes of one set-up name. A take is at its moment.
func SkyOf(readings []*Reading, takes []logbook.View, momentOf func(take logbook.View) logbook.Millis) (s Sky) {
	for _, m := range readings {
		if m.Sky != "" {
			s = append(s, skyStep{m.TakenAt, m.view.CreatedDot(), m.Sky})
		}
	}
	for _, take := range takes {
		if name := take.Text("sky"); name != "" {
			s = append(s, skyStep{momentOf(take), take.CreatedDot(), name})
		}
	}
	sort.SliceStable(s, func(i, j int) bool { return byTime(s[i].at, s[i].dot, s[j].at, s[j].dot) < 0 })
	return s
}

// At is the sky at a moment; "" where nobody had named one until then: it is not known.
func (s Sky) At(t logbook.Millis) string {
	name := ""
	for _, one := range s {
		if one.at > t {
			break
		}
		name = one.name
	}
	return name
}

// state is the sky at a moment as the state of a light has it: before the first one that was
// named it was that one.
func (s Sky) state(t logbook.Millis) string {
	if name := s.At(t); name != "" || len(s) == 0 {
		return name
	}
	return s[0].name
}

// only reports whether no other sky was named between two moments.
func (s Sky) only(name string, after, before logbook.Millis) bool {
	for _, one := range s {
		if one.at > after && one.at < before && one.name != name {
			return false
		}
	}
	return true
}
