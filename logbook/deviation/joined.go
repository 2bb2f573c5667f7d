package deviation

import (
	"math"
	"slices"
	"sort"

	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
)

// ofTakes leaves charts, tests and false starts out of what was found: they are no takes.
// What is only about them, and not about now, is no finding.
func (s *Finder) ofTakes(all []sighting) []sighting {
	var kept []sighting
	for _, f := range all {
		named := len(f.takes) > 0
		f.takes = slices.DeleteFunc(slices.Clone(f.takes), func(take logbook.View) bool { return !lighting.IsTake(take) })
		if named && len(f.takes) == 0 && !f.now {
			continue
		}
		if clip, ok := s.Book().RecordOf(kinds.Clip, f.clip); ok && !s.isFootage(clip) {
			continue
		}
		kept = append(kept, f)
	}
	return kept
}

// isFootage reports whether a clip is no chart, test or false start: where it is of takes,
// of a take that is none.
func (s *Finder) isFootage(clip logbook.View) bool {
	kind, takes := clip.Text("clipKind"), s.TakesOf(clip)
	if len(takes) == 0 && len(clip.Keys("takes")) > 0 {
		return false // its take was struck out
	}
	return (kind == "" || kind == "take") && (len(takes) == 0 || slices.ContainsFunc(takes, lighting.IsTake))
}

// joined makes one deviation of all findings of one cause that are accepted by the
// same acceptance, or by none. Where some are off to one side and some to the other, the
// two sides are two causes: one headline could not say both.
func (s *Finder) joined(all []sighting) []Deviation {
	type key struct {
		cause      string
		acceptance logbook.ID
	}
	of := func(f *sighting) key {
		if f.accepted != nil {
			return key{f.cause, f.accepted.Acceptance}
		}
		return key{cause: f.cause}
	}
	out := []Deviation{}
	for _, group := range grouped(all, of) {
		for _, part := range parted(group) {
			for _, side := range sides(part) {
				out = append(out, s.deviation(side))
			}
		}
	}
	return out
}

// grouped divides items by a key, in the order in which the keys come first.
func grouped[T any, K comparable](all []T, of func(*T) K) (groups [][]T) {
	index := map[K]int{}
	for i := range all {
		key := of(&all[i])
		at, ok := index[key]
		if !ok {
			at = len(groups)
			index[key] = at
			groups = append(groups, nil)
		}
		groups[at] = append(groups[at], all[i])
	}
	return groups
}

// parted divides findings of one cause by what is the matter in the clip, the take or now: what
// is found in one take does not depend on another take, nor on now.
func parted(group []sighting) (parts [][]sighting) {
	matters := mattersOf(group)
	parts = grouped(group, func(f *sighting) string { return matters[f.place()] })
	for _, part := range parts {
		for i := range part {
			part[i].cause += matters[part[i].place()]
		}
	}
	return parts
}

// mattersOf are, by place, the kind that gives the finding its name, where the cause goes by
// another, and the things that it names.
func mattersOf(group []sighting) map[logbook.ID]string {
	mains, named := map[logbook.ID]string{}, map[logbook.ID]logbook.IDSet{}
	for _, f := range group {
		at := f.place()
		if main, ok := mains[at]; !ok || kindOrder(f.Kind) < kindOrder(main) {
			mains[at], named[at] = f.Kind, logbook.IDSet{}
		}
		if f.Kind == mains[at] && f.words != nil {
			named[at].Add(f.one)
		}
	}
	first, matters := mainKind(group), map[logbook.ID]string{}
	for at, main := range mains {
		if main != first {
			matters[at] = "/" + main
		}
		for _, id := range named[at].Sorted() {
			matters[at] += "/" + id.String()
		}
	}
	return matters
}

// place is the clip or the one take of a finding; zero for now and for what is of many takes.
func (f *sighting) place() logbook.ID {
	if f.clip.IsZero() && len(f.takes) == 1 {
		return f.takes[0].ID
	}
	return f.clip
}

// sides parts findings of one cause that are off to opposite sides, and names their causes.
func sides(group []sighting) [][]sighting {
	main := mainKind(group)
	worst := worstOf(group, main)
	part, words := worst.axis()
	if part == nil {
		return [][]sighting{group}
	}
	sign := part(&worst)
	var same, opposed []sighting
	places := map[logbook.ID]bool{}
	for _, f := range group {
		if f.Kind == main && part(&f)*sign < 0 {
			places[f.place()] = true
		}
	}
	for _, f := range group {
		follows := f.Kind != main
		if follows && places[f.place()] || !follows && part(&f)*sign < 0 {
			opposed = append(opposed, f)
		} else {
			same = append(same, f)
		}
	}
	if len(opposed) == 0 {
		return [][]sighting{group}
	}
	if sign < 0 {
		words[0], words[1] = words[1], words[0]
	}
	for i := range same {
		same[i].cause += "/" + words[0]
	}
	for i := range opposed {
		opposed[i].cause += "/" + words[1]
	}
	return [][]sighting{same, opposed}
}

// axis is what a finding is off by the most, counted in its limits: the part with its sign,
// 0 where it is inside its limit, and the words of the two sides. Steps have no sides.
func (f *sighting) axis() (part func(*sighting) float64, words [2]string) {
	mired := func(f *sighting) (value, limit *float64) { return f.Value.Mired, f.Limit.Mired }
	duv := func(f *sighting) (value, limit *float64) { return f.Value.Duv, f.Limit.Duv }
	beyond := func(of func(*sighting) (value, limit *float64)) func(*sighting) float64 {
		return func(f *sighting) float64 {
			if f.Value == nil || f.Limit == nil {
				return 0
			}
			value, limit := of(f)
			if value == nil || limit == nil || math.Abs(*value) <= *limit {
				return 0
			}
			return *value / max(*limit, math.SmallestNonzeroFloat32)
		}
	}
	warm, green := beyond(mired), beyond(duv)
	switch m, g := math.Abs(warm(f)), math.Abs(green(f)); {
	case m == 0 && g == 0:
		return nil, words
	case m >= g:
		return warm, [2]string{"warmer", "cooler"}
	}
	return green, [2]string{"greener", "more magenta"}
}

// side names the side to which a finding is off by the most; "" where it has none.
func (f *sighting) side() string {
	part, words := f.axis()
	switch {
	case part == nil:
		return ""
	case part(f) < 0:
		return words[1]
	}
	return words[0]
}

// mainKind is the kind that gives the findings of one cause their name.
func mainKind(group []sighting) string {
	main := group[0].Kind
	for _, f := range group {
		if kindOrder(f.Kind) < kindOrder(main) {
			main = f.Kind
		}
	}
	return main
}

// worstOf is the greatest of one kind, of several the first. Where takes show it their numbers
// speak: what is said of a take does not depend on when it is asked.
func worstOf(group []sighting, kind string) (worst sighting) {
	found := false
	for _, f := range group {
		taken, worstTaken := len(f.takes) > 0, len(worst.takes) > 0
		if f.Kind == kind && (!found || taken && !worstTaken || taken == worstTaken && f.Value.Greater(worst.Value)) {
			worst, found = f, true
		}
	}
	return worst
}

// judgedNow are the kinds that are found now as in takes, where it is so now.
var judgedNow = []string{LightOffReference, LightOffOwnColor, LightDrifted, MixDrifted, ReadingStale}

// deviation makes one of the findings of one cause. The worst of each kind speaks, and the
// last says what to do; takes, clips and count are those of the kind that gives the name.
func (s *Finder) deviation(group []sighting) Deviation {
	main := mainKind(group)
	w := worstOf(group, main)
	if w.words != nil {
		w.Headline, w.ToDo, w.Words = w.words(names(group, main))
	}
	d := Deviation{
		Kind: main, Cause: w.cause, Words: w.Words, Value: w.Value, Limit: w.Limit, ComparedWith: w.ComparedWith,
		SetUp: s.View().ID, Accepted: w.accepted, times: w.times,
	}
	var takes []logbook.View
	seen, subjects, clips, cameras := logbook.IDSet{}, logbook.IDSet{}, logbook.IDSet{}, logbook.IDSet{}
	alone, ones := logbook.IDSet{}, logbook.IDSet{} // clips in no take, and what is counted without either
	subjects.Add(s.View().ID)
	for _, f := range group {
		s.spots = append(s.spots, spotOf(&f))
		if f.Kind != main {
			continue
		}
		if d.ToDo = f.ToDo; f.words != nil {
			d.ToDo = w.ToDo
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
	if d.Count = len(lighting.TakeLabels(takes)) + len(alone); d.Count == 0 {
		d.Count = max(1, len(ones))
	}
	soNow := slices.ContainsFunc(group, func(f sighting) bool { return f.now && f.Kind == main })
	if d.Accepted != nil || slices.Contains(judgedNow, main) && !soNow {
		d.ToDo = "" // nobody mends what was so in earlier takes
	}
	d.Headline = s.headline(&w.Finding, takes, len(alone))
	if where := lighting.TakeNames(takes); where != "" {
		d.Words += " (" + where + ")"
	}
	for _, kind := range Kinds {
		if f := worstOf(group, kind); kind != main && f.Kind == kind {
			f.Headline, f.ToDo = s.headline(&f.Finding, nil, 0), ""
			d.Also = append(d.Also, f.Finding)
		}
	}
	return d
}

// names are those of what the findings of one kind count, each once.
func names(group []sighting, kind string) (all []string) {
	for _, f := range group {
		if f.Kind == kind && !slices.Contains(all, f.name) {
			all = append(all, f.name)
		}
	}
	return all
}

// Sort puts first what leaves footage worthless, then the greatest excess, and what is only
// missing after what is off; what was accepted comes last.
func Sort(all []Deviation) {
	sort.SliceStable(all, func(i, j int) bool {
		a, b := &all[i], &all[j]
		if (a.Accepted == nil) != (b.Accepted == nil) {
			return a.Accepted == nil
		}
		if x, y := Worthless(a.Kind), Worthless(b.Kind); x != y {
			return x
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
