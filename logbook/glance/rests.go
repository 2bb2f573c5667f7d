package glance

import (
	"cmp"
	"slices"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/setup"
)

// OfTake is the summary of a clip for one of its takes. A clip is judged by its first
// take; a later take of a series may have another white, and then what was compared with
// the first one's aim is not said of it. A take that was struck out has no white of its own.
func (t *SetUpSummary) OfTake(clip, take logbook.View, c *ClipSummary) *ClipSummary {
	if take.ID.IsZero() || take.Deleted() {
		return c
	}
	w := t.WhiteOfTake(take)
	if w == nil || w == c.White {
		return c
	}
	other := *c
	other.White = w
	if c.White != nil && c.White.White == w.White {
		return &other // only who contests it differs
	}
	other.Aim, other.OffAim = setup.AimFor(t.s.Book(), *w, c.Aim.Camera), nil
	other.Lights = t.lightsAt(clip, take)
	other.Problem = cmp.Or(c.Problem, "the white changed within this clip: what is off the aim was not computed for this take")
	return &other
}

// lightsAt are the lights at a clip, against the white of one of its takes.
func (t *SetUpSummary) lightsAt(clip, take logbook.View) (all []LightNow) {
	at := t.s.MomentOf(clip)
	for _, light := range t.s.Lights() {
		all = append(all, t.s.lightNow(t.s.PeriodOfTake(take), light, at))
	}
	return all
}

// A Support is a record that what is said of a clip rests on.
type Support struct {
	On string // clip, take, setUp, camera, body, white, reading, card, or light with its name
	logbook.View
}

// Supports are those of a summary of a clip in one of its takes: a conflict in one of them leaves
// what is said undecided.
func (c *ClipSummary) Supports(setUp, clip, take logbook.View) []Support {
	b := clip.Book()
	camera, _ := b.RecordOf(kinds.Camera, clip.Ref("camera"))
	body, _ := b.RecordOf(kinds.Body, clip.Ref("body"))
	all := []Support{{"clip", clip}, {"take", take}, {"setUp", setUp}, {"camera", camera}, {"body", body}}
	if c.White != nil {
		white, _ := b.RecordOf(kinds.White, c.White.White)
		all = append(all, Support{"white", white})
	}
	for _, l := range c.Lights {
		light, _ := b.RecordOf(kinds.Light, l.Light)
		all = append(all, Support{"light " + l.Name, light})
	}
	return slices.DeleteFunc(all, func(s Support) bool { return s.Kind == "" })
}

// ofTheDay are those that belong to a day, with the readings and cards behind the numbers, each once.
// Cameras and bodies go on to other days.
func (c *ClipSummary) ofTheDay(setUp, clip, take logbook.View) (all []Support) {
	seen := map[recordKey]bool{}
	note := func(s Support) {
		if s.Known() && s.Kind != kinds.Camera && s.Kind != kinds.Body && !seen[keyOf(s.View)] {
			seen[keyOf(s.View)] = true
			all = append(all, s)
		}
	}
	for _, s := range c.Supports(setUp, clip, take) {
		note(s)
	}
	records := slices.Concat(c.MeasuredOrigin.Records, c.Cards)
	if c.White != nil {
		records = append(records, c.White.Origin.Records...)
	}
	for _, l := range c.Lights {
		records = append(records, l.Reading)
	}
	for _, id := range records {
		if v, ok := clip.Book().RecordOf(kinds.Reading, id); ok {
			note(Support{"reading", v})
		}
		if v, ok := clip.Book().RecordOf(kinds.Sample, id); ok {
			note(Support{"card", v})
		}
	}
	return all
}

type recordKey struct {
	kind logbook.Kind
	id   logbook.ID
}

func keyOf(v logbook.View) recordKey { return recordKey{v.Kind, v.ID} }
