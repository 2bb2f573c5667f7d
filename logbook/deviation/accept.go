package deviation

import (
	"math"
	"slices"

	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
)

// Acceptance is a person's word that a deviation is deliberate, as read.
type Acceptance struct {
	view      logbook.View
	kind      string
	scope     string
	compared  logbook.ID
	about     []logbook.ID // what it is about: every one must be part of the finding
	clips     logbook.IDSet
	takes     []logbook.View
	setUps    logbook.IDSet
	scenes    logbook.IDSet
	days      logbook.IDSet
	accepted  logbook.Value
	ceiling   logbook.Value
	shownSize *figure.Size // the ceiling as it is shown: a size is compared as it is shown too
	on        logbook.Seen // what it was read from
}

// Acceptances reads all acceptances, oldest first.
func Acceptances(b *logbook.Book) (all []Acceptance) {
	for _, v := range b.Records(kinds.Acceptance) {
		var a Acceptance
		on := b.Noting(func() {
			b.Resolve(v.ID)
			a = readAcceptance(b, v)
		})
		a.on = on
		all = append(all, a)
	}
	return all
}

func readAcceptance(b *logbook.Book, v logbook.View) Acceptance {
	a := Acceptance{view: v, kind: v.Text("deviation"), scope: v.Text("scope"), compared: v.Ref("comparedWith"),
		clips: logbook.IDSet{}, setUps: logbook.IDSet{}, scenes: logbook.IDSet{}, days: logbook.IDSet{},
		accepted: v.Value("accepted"), ceiling: v.Value("ceiling")}
	if a.ceiling == "" {
		a.ceiling = a.accepted
	}
	if a.ceiling != "" {
		a.shownSize = &figure.Size{}
		for _, part := range [...]struct {
			name     string
			decimals int
			to       **float64
		}{
			{"mired", figure.MiredDecimals, &a.shownSize.Mired}, {"duv", figure.DuvDecimals, &a.shownSize.Duv},
			{"steps", figure.StepsDecimals, &a.shownSize.Steps},
		} {
			if f, ok := a.ceiling.Member(part.name).Float(); ok {
				*part.to = figure.Rounded(math.Abs(f), part.decimals)
			}
		}
	}
	for item := range v.Value("subjects").Items() {
		if id, ok := item.ID(); ok {
			a.subject(b, b.Resolve(id))
		}
	}
	return a
}

// concerns reports whether the acceptance may reach something of a set-up: that of a clip or take
// which it names is one of its own.
func (a *Acceptance) concerns(setUp logbook.View) bool {
	return a.setUps[setUp.ID] || a.scenes[setUp.Ref("scene")] || a.days[setUp.Ref("day")]
}

// subject sorts a subject into what the acceptance is about and what says where
// it applies.
func (a *Acceptance) subject(b *logbook.Book, id logbook.ID) {
	v, ok := b.Record(id)
	if !ok {
		a.about = append(a.about, id)
		return
	}
	setUp := v.Ref("setUp")
	switch v.Kind {
	case kinds.SetUp:
		setUp = id
	case kinds.Scene:
		a.scenes.Add(id)
	case kinds.Day:
		a.days.Add(id)
	case kinds.Clip:
		a.clips.Add(id)
	case kinds.Take:
		a.takes = append(a.takes, v)
		if a.kind == TakeNumberTwice {
			a.about = append(a.about, id)
		}
	default:
		a.about = append(a.about, id)
	}
	if s, ok := b.RecordOf(kinds.SetUp, setUp); ok {
		a.setUps.Add(s.ID)
		a.scenes.Add(s.Ref("scene"))
		a.days.Add(s.Ref("day"))
	}
}

// accept marks what somebody declared deliberate. What only follows from an accepted finding
// of the same cause in the same clip, or of lights in the same take, is accepted with it.
func (s *Finder) accept(all []sighting, acceptances []Acceptance) {
	type place struct {
		cause string
		at    logbook.ID // the clip, else the take
	}
	placeOf := func(f *sighting) place { return place{f.cause, f.place()} }
	first := map[place]*sighting{}
	counted := map[string]logbook.IDSet{} // what the findings of a cause count
	for i := range all {
		f := &all[i]
		if counted[f.cause] == nil {
			counted[f.cause] = logbook.IDSet{}
		}
		counted[f.cause].Add(f.one)
	}
	for i := range all {
		f := &all[i]
		for j := range acceptances {
			if a := &acceptances[j]; f.accepted == nil && a.covers(s, f, counted[f.cause]) {
				f.accepted = a.summary()
			}
		}
		if at := placeOf(f); first[at] == nil || kindOrder(f.Kind) < kindOrder(first[at].Kind) {
			first[at] = f
		}
	}
	for i := range all {
		f := &all[i]
		places := []place{placeOf(f)}
		if !f.clip.IsZero() { // what is of the whole set-up holds for its clips
			places = append(places, place{cause: f.cause})
		}
		for _, at := range places {
			if main := first[at]; f.accepted == nil && main != nil && kindOrder(main.Kind) < kindOrder(f.Kind) {
				f.accepted = main.accepted
			}
		}
	}
}

func (a *Acceptance) summary() *Accepted {
	by := a.view.Text("decidedBy")
	if by == "" {
		by = a.view.CreatedBy()
	}
	return &Accepted{a.view.ID, by, a.view.Text("reason"), a.scope, a.shownSize, a.view.CreatedAt().Time()}
}

// covers reports whether a finding is what was accepted. Counted are the lights, cameras or
// takes that findings of its cause count: who accepts them all names all of them.
func (a *Acceptance) covers(s *Finder, f *sighting, counted logbook.IDSet) bool {
	if a.kind != f.Kind {
		return false
	}
	if !a.compared.IsZero() && (f.ComparedWith == nil || !s.Alike(f.ComparedWith.Record, a.compared)) {
		return false // it was about something else, such as a white that is no longer in force
	}
	one := slices.Contains(a.about, f.one)
	for _, id := range a.about {
		if !f.has(s, id) && !(one && counted[id]) {
			return false
		}
	}
	return a.reaches(s, f) && a.allows(f)
}

// has reports whether a finding is about a record, or about a white like it.
func (f *sighting) has(s *Finder, id logbook.ID) bool {
	if f.clip == id || f.camera == id || f.one == id {
		return true
	}
	alike := func(of logbook.ID) bool { return s.Alike(of, id) }
	return slices.ContainsFunc(f.subjects, alike) || f.ComparedWith != nil && alike(f.ComparedWith.Record)
}

// reaches reports whether a finding lies in the scope of the acceptance.
func (a *Acceptance) reaches(s *Finder, f *sighting) bool {
	switch a.scope {
	case "clip":
		return a.clips[f.clip]
	case "fromTakeOn":
		if !a.setUps[s.View().ID] || len(a.takes) == 0 {
			return false
		}
		for _, take := range f.takes {
			if !a.begunAt(s.Book(), take) {
				return false
			}
		}
		return true
	case "setUp":
		return a.setUps[s.View().ID]
	case "scene":
		return a.scenes[s.Scene()]
	case "day":
		return a.days[s.Day()]
	}
	return false
}

// begunAt reports whether a take is one of those named, or came after one.
func (a *Acceptance) begunAt(b *logbook.Book, take logbook.View) bool {
	return slices.ContainsFunc(a.takes, func(from logbook.View) bool { return lighting.AtOrAfter(b, take, from) })
}

// allows reports whether the size stays at or under the ceiling. A finding that is beyond its
// limit on the other side of what was accepted is another one. Where there is any ceiling, a
// size over its limit needs one of its own.
func (a *Acceptance) allows(f *sighting) bool {
	if f.Value == nil || a.shownSize == nil {
		return true
	}
	limit := f.Limit
	if limit == nil {
		limit = &figure.Size{}
	}
	v, c := f.Value, a.shownSize
	for _, p := range [...]struct {
		name                  string
		value, limit, ceiling *float64
	}{{"mired", v.Mired, limit.Mired, c.Mired}, {"duv", v.Duv, limit.Duv, c.Duv}} {
		if p.value == nil {
			continue
		}
		over := p.limit != nil && math.Abs(*p.value) > *p.limit
		if side, ok := a.accepted.Member(p.name).Float(); ok && over && side*(*p.value) < 0 {
			return false
		}
		if p.ceiling != nil && math.Abs(*p.value) > *p.ceiling || p.ceiling == nil && over && (c.Mired != nil || c.Duv != nil) {
			return false
		}
	}
	return v.Steps == nil || c.Steps == nil || *v.Steps <= *c.Steps
}
