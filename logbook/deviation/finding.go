package deviation

import (
	"fmt"
	"slices"
	"sort"
	"strconv"
	"strings"

	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/lighting"
)

// sighting is one finding before it is joined with others of its cause.
type sighting struct {
	Finding
	cause    string
	times    float64      // how many times its limit
	subjects []logbook.ID // what it is about, without the set-up
	takes    []logbook.View
	clip     logbook.ID
	camera   logbook.ID
	one      logbook.ID // what is counted where neither take nor clip is named
	accepted *Accepted
}

// Kinds lists the kinds by rank: of several findings of one cause the first of these
// gives the deviation its name.
var Kinds = []string{
	SettingOffAim, AutomaticWhite, SettingNotOnBody, NoSettings, AimNotReachable,
	CamerasDiffer, TakesDiffer, SetUpsDiffer, SettingsCarriedOver, LightOffReference, LightOffOwnColor,
	LightDrifted, MixDrifted, MixDisagrees, LightLeaving, ReadingStale,
	NoWhite, WhiteUnresolved, NoReading, NoChart, TakeNumberTwice, NotLogged, NoBody, NoCamera, ReferenceLeadsNowhere,
}

func kindOrder(kind string) int {
	if i := slices.Index(Kinds, kind); i >= 0 {
		return i
	}
	return len(Kinds)
}

// joined makes one deviation of all findings of one cause that are accepted by the
// same acceptance, or by none.
func (s *Finder) joined(all []sighting) []Deviation {
	type key struct {
		cause      string
		acceptance logbook.ID
	}
	groups := map[key][]sighting{}
	var keys []key
	for _, f := range all {
		k := key{cause: f.cause}
		if f.accepted != nil {
			k.acceptance = f.accepted.Acceptance
		}
		if _, ok := groups[k]; !ok {
			keys = append(keys, k)
		}
		groups[k] = append(groups[k], f)
	}
	out := make([]Deviation, 0, len(keys))
	for _, k := range keys {
		out = append(out, s.deviation(groups[k]))
	}
	return out
}

// deviation makes one of the findings of one cause. The worst of each kind speaks; takes,
// clips and count are those of the kind that gives the name.
func (s *Finder) deviation(group []sighting) Deviation {
	worst := map[string]sighting{}
	main := group[0].Kind
	for _, f := range group {
		if w, ok := worst[f.Kind]; !ok || f.Value.Greater(w.Value) {
			worst[f.Kind] = f
		}
		if kindOrder(f.Kind) < kindOrder(main) {
			main = f.Kind
		}
	}
	w := worst[main]
	d := Deviation{
		Kind: main, Cause: w.cause, Headline: w.Headline, ToDo: w.ToDo, Words: w.Words,
		Value: w.Value, Limit: w.Limit, ComparedWith: w.ComparedWith,
		SetUp: s.View().ID, Accepted: w.accepted, times: w.times,
	}
	var takes []logbook.View
	seen, subjects, clips, cameras := logbook.IDSet{}, logbook.IDSet{}, logbook.IDSet{}, logbook.IDSet{}
	alone, ones := logbook.IDSet{}, logbook.IDSet{} // clips in no take, and what is counted without either
	subjects.Add(s.View().ID)
	for _, f := range group {
		if f.Kind != main {
			continue
		}
		for _, id := range f.subjects {
			subjects[id] = true
		}
		for _, take := range f.takes {
			if !seen[take.ID] {
				seen[take.ID] = true
				takes = append(takes, take)
			}
		}
		clips.Add(f.clip)
		cameras.Add(f.camera)
		if len(f.takes) == 0 {
			alone.Add(f.clip)
		}
		ones.Add(f.one)
	}
	d.Subjects, d.Clips, d.Cameras = subjects.Sorted(), clips.Sorted(), cameras.Sorted()
	for _, take := range takes {
		d.Takes = append(d.Takes, take.ID)
	}
	if d.Count = len(takes) + len(alone); d.Count == 0 {
		d.Count = max(1, len(ones))
	}
	if where := s.takeWords(takes); where != "" {
		d.Words += " (" + where + ")"
	}
	for _, kind := range Kinds {
		if f, ok := worst[kind]; ok && kind != main {
			d.Also = append(d.Also, f.Finding)
		}
	}
	return d
}

// takeWords names takes: "take 3", "takes 1, 2 and 4" or "7 takes, the first take 1".
func (s *Finder) takeWords(takes []logbook.View) string {
	switch {
	case len(takes) == 0:
		return ""
	case len(takes) == 1:
		return lighting.TakeName(takes[0])
	case len(takes) > 6:
		return fmt.Sprintf("%d takes, the first %s", len(takes), lighting.TakeName(takes[0]))
	}
	names := make([]string, len(takes))
	for i, take := range takes {
		names[i] = strings.TrimPrefix(lighting.TakeName(take), "take ")
	}
	return "takes " + strings.Join(names[:len(names)-1], ", ") + " and " + names[len(names)-1]
}

// Sort puts open deviations before accepted ones, the greatest excess first, and what is
// only missing after what is off.
func Sort(all []Deviation) {
	sort.SliceStable(all, func(i, j int) bool {
		a, b := &all[i], &all[j]
		if (a.Accepted == nil) != (b.Accepted == nil) {
			return a.Accepted == nil
		}
		if x, y := figure.RoundTo(a.times, 3), figure.RoundTo(b.times, 3); x != y {
			return x > y
		}
		if x, y := kindOrder(a.Kind), kindOrder(b.Kind); x != y {
			return x < y
		}
		return a.Cause < b.Cause
	})
}

// causeOf joins the parts that make a cause what it is.
func causeOf(parts ...any) string {
	words := make([]string, len(parts))
	for i, p := range parts {
		switch p := p.(type) {
		case logbook.ID:
			words[i] = p.String()
		case string:
			words[i] = p
		case int:
			words[i] = strconv.Itoa(p)
		}
	}
	return strings.Join(words, "/")
}
