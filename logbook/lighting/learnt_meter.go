package lighting

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
)

// MeterLearnt is how far a meter differs from others, by readings of one light at
// about the same time.
type MeterLearnt struct {
	Meter   logbook.ID        `json:"meter"`
	Name    string            `json:"name"`
	FloorXY float64           `json:"floorXY"`
	Words   string            `json:"words"`
	Others  []MeterDifference `json:"others"`
}

// MeterDifference is what a meter says less what another says: mired + when this
// one says warmer, Duv + greener.
type MeterDifference struct {
	Meter  logbook.ID `json:"meter"` // the other
	Name   string     `json:"name"`
	Learnt Learnt     `json:"learnt"`
	// Illuminance is this meter's over the other's; absent where one of them read none.
	Illuminance *float64 `json:"illuminance,omitempty"`
	Words       string   `json:"words"`
}

// How far apart in time two meters may have read one light: a choice of this
// program. Light from the sky does not wait.
const (
	togetherAtMost      = logbook.Millis(10 * 60000)
	togetherUnderTheSky = logbook.Millis(2 * 60000)
)

func together(m, o *Reading) bool {
	switch m.Sky {
	case "", "inside", "night":
		return ApartInTime(m, o) <= togetherAtMost
	}
	return ApartInTime(m, o) <= togetherUnderTheSky
}

// LearntOfMeter compares a meter with every other. Errors wrap ErrNoRecord.
func LearntOfMeter(b *logbook.Book, meter logbook.ID, now logbook.Millis) (MeterLearnt, error) {
	v, err := logbook.FindRecord(b, kinds.Meter, "record", meter)
	if err != nil {
		return MeterLearnt{}, err
	}
	out := MeterLearnt{Meter: v.ID, Name: v.Text("name"), FloorXY: floorOf(b, v.ID), Others: []MeterDifference{}}
	l := NewLearner(b)
	for _, other := range b.Records(kinds.Meter) {
		if d, ok := l.Meters(v.ID, other.ID, now); ok {
			out.Others = append(out.Others, d)
			if out.Words != "" {
				out.Words += "; "
			}
			out.Words += d.Words
		}
	}
	if len(out.Others) == 0 {
		out.Words = "no light was read by it and by another meter at the same time"
	}
	return out, nil
}

// floorOf is how finely a meter can be trusted in x and y.
func floorOf(b *logbook.Book, meter logbook.ID) float64 {
	v, ok := b.RecordOf(kinds.Meter, meter)
	if !ok {
		return defaultFloor("")
	}
	if f, ok := v.Number("floorXY"); ok {
		return f
	}
	return defaultFloor(v.Text("meterKind"))
}

// Meters compares two meters where both read in one set-up; ok is false where they
// never read one light together.
func (l *Learner) Meters(meter, other logbook.ID, now logbook.Millis) (d MeterDifference, ok bool) {
	if meter == other || meter.IsZero() || other.IsZero() {
		return d, false
	}
	var all []lesson
	var more, lux float64
	for _, setUp := range l.whereBoth(meter, other) {
		for _, p := range metersTogether(l.book, l.readings(setUp), meter, other) {
			a, err := p[0].Color.CCTDuv()
			if err != nil {
				continue
			}
			b, err := p[1].Color.CCTDuv()
			if err != nil {
				continue
			}
			floor, too := p[0].floor(), p[1].floor()
			all = append(all, lesson{
				cast: colorimetry.CastOf(a, b), floor: colorimetry.Cast{Mired: floor.Mired + too.Mired, Duv: floor.Duv + too.Duv},
				at: max(p[0].TakenAt, p[1].TakenAt), readings: []logbook.ID{p[0].Reading, p[1].Reading},
			})
			if p[0].IlluminanceLux != nil && p[1].IlluminanceLux != nil && *p[1].IlluminanceLux > 0 {
				more, lux = more + *p[0].IlluminanceLux / *p[1].IlluminanceLux, lux+1
			}
		}
	}
	if len(all) == 0 {
		return d, false
	}
	v, _ := l.book.RecordOf(kinds.Meter, other)
	d = MeterDifference{Meter: v.ID, Name: v.Text("name"), Learnt: learn(all, now)}
	if lux > 0 {
		d.Illuminance = figure.Rounded(more/lux, 2)
	}
	apart := figure.Difference{Mired: &d.Learnt.Mired, Duv: &d.Learnt.Duv}
	d.Words = fmt.Sprintf("against %s %s (%s, spread %g mired and %.4f)", d.Name, apart.InWords(),
		figure.Counted(d.Learnt.Count, "comparison"), d.Learnt.SpreadMired, d.Learnt.SpreadDuv)
	return d, true
}

func (l *Learner) whereBoth(meter, other logbook.ID) (setUps []logbook.ID) {
	in := func(meter logbook.ID) logbook.IDSet {
		all := logbook.IDSet{}
		for _, v := range l.book.Referring(kinds.Reading, "meter", meter) {
			all.Add(v.Ref("setUp"))
		}
		return all
	}
	first, second := in(meter), in(other)
	for id := range first {
		if !second[id] || l.date != "" && DateOf(l.book, id) > l.date {
			delete(first, id)
		}
	}
	return first.Sorted()
}

// metersTogether pairs each reading by one meter with the nearest in time by the
// other: of the same, at the same place, through the same gel, with the lights set
// the same. Each reading is used once.
func metersTogether(b *logbook.Book, all []*Reading, meter, other logbook.ID) (pairs [][2]*Reading) {
	used := map[*Reading]bool{}
	for _, m := range all {
		if m.Meter != meter || m.Color == nil {
			continue
		}
		var best *Reading
		for _, o := range all {
			if o.Meter != other || o.Color == nil || used[o] || !together(m, o) || !SameThing(b, m, o) {
				continue
			}
			if best == nil || ApartInTime(m, o) < ApartInTime(m, best) {
				best = o
			}
		}
		if best != nil {
			used[best] = true
			pairs = append(pairs, [2]*Reading{m, best})
		}
	}
	return pairs
}

// SameThing reports whether two readings are of one thing in one state.
func SameThing(b *logbook.Book, m, o *Reading) bool {
	if m.Of != o.Of || m.Position != o.Position || m.Sky != o.Sky || !slices.Equal(m.Lights, o.Lights) ||
		m.view.Ref("throughGel") != o.view.Ref("throughGel") {
		return false
	}
	lights := m.Lights
	if m.Of == "everything" {
		for _, v := range b.Referring(kinds.Light, "setUp", m.SetUp) {
			lights = append(lights, v.ID)
		}
	}
	for _, id := range lights {
		light, ok := b.RecordOf(kinds.Light, id)
		if !ok {
			continue
		}
		lit := m.Of != "everything" || cmp.Or(m.Snapshot(light, "on"), "true") == cmp.Or(o.Snapshot(light, "on"), "true")
		if !lit || !SameState(light, m, o) {
			return false
		}
	}
	return true
}

// SameMeter reports whether nothing says that two readings were made by two
// meters: one that is not in the log is the last one that was.
func SameMeter(a, b logbook.ID) bool { return a == b || a.IsZero() || b.IsZero() }

// CountedWords says of a difference that it was counted with that of two meters.
func (l *Learnt) CountedWords() string {
	if l == nil {
		return ""
	}
	return fmt.Sprintf(", counted with what the two meters differ by: %g ± %g mired", math.Abs(l.Mired), l.SpreadMired)
}
