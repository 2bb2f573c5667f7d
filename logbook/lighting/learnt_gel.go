package lighting

import (
	"fmt"
	"math"
	"slices"
	"sort"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
)

// GelLearnt is what a gel does by the log: as it is printed, and as readings of
// one light without and with it say, by family of lamps.
type GelLearnt struct {
	Gel      logbook.ID    `json:"gel"`
	Name     string        `json:"name"`
	Words    string        `json:"words"`
	Printed  *GelPrinted   `json:"printed,omitempty"` // absent where neither the record nor its name says it
	Families []GelOnFamily `json:"families"`
	Caveats  []string      `json:"caveats,omitempty"`
}

// GelPrinted is a gel by its record, else by the trade's name.
type GelPrinted struct {
	ShiftMired float64 `json:"shiftMired"` // + warmer
	CC         float64 `json:"cc"`         // + green, − magenta, in hundredths of density
	LossStops  float64 `json:"lossStops"`
	From       string  `json:"from"` // inventory or nominal
}

// GelOnFamily is a gel as it was measured on lamps of one family.
type GelOnFamily struct {
	LampFamily string  `json:"lampFamily"`
	Learnt     Learnt  `json:"learnt"`
	CC         float64 `json:"cc"` // what an ideal filter would need for that change of Duv
	// LossStops is absent where a reading has no illuminance.
	LossStops *float64        `json:"lossStops,omitempty"`
	Words     string          `json:"words"`
	Gel       colorimetry.Gel `json:"-"`
	Lossy     bool            `json:"-"` // whether the loss was measured
}

// Two readings of one light belong together, without and with a gel, when they are
// no further apart than this: a choice of this program.
const (
	pairMinutes         = 60 // of a lamp that nobody touched
	pairMinutesUnderSky = 10
)

// gelPair is one light without and with a gel.
type gelPair struct {
	family        string
	without, with *Reading
}

// LearntOfGel says what the log teaches about a gel. Errors wrap ErrNoRecord.
func LearntOfGel(b *logbook.Book, gel logbook.ID, now logbook.Millis) (GelLearnt, error) {
	v, err := logbook.FindRecord(b, kinds.Gel, "record", gel)
	if err != nil {
		return GelLearnt{}, err
	}
	out := GelLearnt{Gel: v.ID, Name: v.Text("name"), Families: []GelOnFamily{}}
	g := &GelInStock{View: v}
	if g.read(b) && g.From != "" {
		out.Printed = &GelPrinted{float64(g.Printed.Shift), g.Printed.CC, figure.RoundTo(float64(g.Printed.Loss), figure.StopsDecimals), g.From}
	}
	out.Families = append(out.Families, NewLearner(b).Gels(now)[v.ID]...)
	out.Words = "no light was read without and with it"
	if n := len(out.Families); n > 0 {
		out.Words = ""
		for i, f := range out.Families {
			if i > 0 {
				out.Words += "; "
			}
			out.Words += f.Words
		}
	}
	if v.Flag("faded", false) {
		out.Caveats = append(out.Caveats, "it is faded: what was read before it faded counts as well")
	}
	return out, nil
}

// Gels learns all gels from the whole log, by gel and family in the order of names.
func (l *Learner) Gels(now logbook.Millis) map[logbook.ID][]GelOnFamily {
	pairs := map[logbook.ID][]gelPair{}
	for _, gel := range l.book.Records(kinds.Gel) {
		pairs[gel.ID] = l.saidPairs(gel)
	}
	for _, setUp := range l.withGels() {
		for _, light := range l.book.Referring(kinds.Light, "setUp", setUp) {
			l.foundPairs(light, pairs)
		}
	}
	out := map[logbook.ID][]GelOnFamily{}
	for id, all := range pairs {
		byFamily := map[string][]gelPair{}
		for _, p := range all {
			byFamily[p.family] = append(byFamily[p.family], p)
		}
		for family, some := range byFamily {
			if f, ok := gelOn(family, some, now); ok {
				out[id] = append(out[id], f)
			}
		}
		sort.Slice(out[id], func(i, j int) bool { return out[id][i].LampFamily < out[id][j].LampFamily })
	}
	return out
}

// saidPairs are the readings that the record of a gel names.
func (l *Learner) saidPairs(gel logbook.View) (all []gelPair) {
	for _, key := range gel.Keys("measuredShifts") {
		shift := gel.Value("measuredShifts/" + key)
		p := gelPair{}
		p.family, _ = shift.Member("lampFamily").Text()
		for name, to := range map[string]**Reading{"without": &p.without, "with": &p.with} {
			id, _ := shift.Member(name).ID()
			if v, ok := l.book.RecordOf(kinds.Reading, id); ok && !Withdrawn(v) {
				*to = Read(l.book, v)
			}
		}
		if p.without != nil && p.with != nil {
			all = append(all, p)
		}
	}
	return all
}

// withGels lists the set-ups in which a light was read through a gel, or stood
// behind one.
func (l *Learner) withGels() (setUps []logbook.ID) {
	seen := logbook.IDSet{}
	for _, light := range l.book.Records(kinds.Light) {
		if light.EverSet("rigged/gels") {
			seen.Add(light.Ref("setUp"))
		}
	}
	for _, v := range l.book.Records(kinds.Reading) {
		through := !v.Ref("throughGel").IsZero()
		for _, key := range v.Keys("lightsAsSet") {
			through = through || v.Value("lightsAsSet/"+key).Member("gels") != ""
		}
		if through {
			seen.Add(v.Ref("setUp"))
		}
	}
	return seen.Sorted()
}

// foundPairs adds the pairs that the readings of a light make: each one through a
// gel with the nearest in time that lacks this gel and nothing else.
func (l *Learner) foundPairs(light logbook.View, pairs map[logbook.ID][]gelPair) {
	readings, family := l.ofLight(light), FamilyOf(l.book, light)
	if family == "" {
		return
	}
	limit := logbook.Millis(pairMinutes * 60000)
	if light.Text("sky") != "" {
		limit = pairMinutesUnderSky * 60000
	}
	gels := make([][]logbook.ID, len(readings))
	for i, m := range readings {
		gels[i] = gelsAt(m, light)
	}
	for i, with := range readings {
		var best *Reading
		var gel logbook.ID
		for k, without := range readings {
			more, ok := oneMore(gels[k], gels[i])
			if !ok || !alike(light, without, with) || ApartInTime(without, with) > limit {
				continue
			}
			if best == nil || ApartInTime(without, with) < ApartInTime(best, with) {
				best, gel = without, more
			}
		}
		said := func(p gelPair) bool { return p.with.Reading == with.Reading }
		if best == nil || slices.ContainsFunc(pairs[gel], said) {
			continue
		}
		pairs[gel] = append(pairs[gel], gelPair{family, best, with})
	}
}

func ApartInTime(a, b *Reading) logbook.Millis {
	return max(a.TakenAt-b.TakenAt, b.TakenAt-a.TakenAt)
}

// alike reports whether two readings of a light were made by one meter, at one
// place, under one sky, with its dials and level the same.
func alike(light logbook.View, a, b *Reading) bool {
	if !SameMeter(a.Meter, b.Meter) || a.Position != b.Position || a.Sky != b.Sky ||
		a.Purpose == "meterCompare" || b.Purpose == "meterCompare" {
		return false
	}
	x, y := a.setAs(light), b.setAs(light)
	x.values[gelsField] = y.values[gelsField]
	return x.same(y, true)
}

// oneMore finds the one gel that is on in the second stack and not in the first.
func oneMore(without, with []logbook.ID) (gel logbook.ID, ok bool) {
	if len(with) != len(without)+1 {
		return gel, false
	}
	left := map[logbook.ID]int{}
	for _, id := range with {
		left[id]++
	}
	for _, id := range without {
		left[id]--
	}
	for id, n := range left {
		switch {
		case n < 0 || n > 1:
			return gel, false
		case n == 1:
			gel = id
		}
	}
	return gel, true
}

// gelOn is the mean of the pairs of one family; ok is false where no pair is that
// of a gel.
func gelOn(family string, pairs []gelPair, now logbook.Millis) (f GelOnFamily, ok bool) {
	f = GelOnFamily{LampFamily: family, Lossy: true}
	var all []lesson
	var sum colorimetry.Gel
	for _, p := range pairs {
		gel, lossy, err := p.gel()
		if err != nil {
			continue
		}
		sum.CC += gel.CC
		sum.Loss += gel.Loss
		f.Lossy = f.Lossy && lossy
		floor := p.without.floor()
		one := lesson{
			cast: colorimetry.Cast{Mired: gel.Shift}, floor: floor,
			at: max(p.without.TakenAt, p.with.TakenAt), readings: []logbook.ID{p.without.Reading, p.with.Reading},
		}
		if a, err := p.without.Color.CCTDuv(); err == nil {
			if b, err := p.with.Color.CCTDuv(); err == nil {
				one.cast.Duv = b.Duv - a.Duv
			}
		}
		all = append(all, one)
	}
	if len(all) == 0 {
		return f, false
	}
	n := float64(len(all))
	f.Learnt = learn(all, now)
	f.Gel = colorimetry.Gel{Shift: f.Learnt.Cast.Mired, CC: sum.CC / n, Loss: sum.Loss / colorimetry.Stops(n)}
	f.CC = figure.RoundTo(f.Gel.CC, 1)
	f.Words = fmt.Sprintf("on %s %+g mired, Duv %+.4f", familyWords[family], f.Learnt.Mired, f.Learnt.Duv)
	if f.Lossy {
		f.LossStops = figure.Rounded(float64(f.Gel.Loss), figure.StopsDecimals)
		f.Words += fmt.Sprintf(", %g stops", *f.LossStops)
	}
	f.Words += fmt.Sprintf(" (%s, spread %g mired, the newest %s old)",
		figure.Counted(f.Learnt.Count, "pair"), f.Learnt.SpreadMired, figure.AgeWords(f.Learnt.AgeMinutes))
	return f, true
}

// gel is what a pair says; an error where the two are not of one lamp with a gel.
func (p gelPair) gel() (gel colorimetry.Gel, lossy bool, err error) {
	if p.without.Color == nil || p.with.Color == nil {
		return gel, false, fmt.Errorf("%w: a reading has no colour", figure.ErrUnknown)
	}
	without, err := p.without.Color.CCTDuv()
	if err != nil {
		return gel, false, err
	}
	with, err := p.with.Color.CCTDuv()
	if err != nil {
		return gel, false, err
	}
	lossy = p.without.IlluminanceLux != nil && p.with.IlluminanceLux != nil
	a, b := colorimetry.Lux(1), colorimetry.Lux(1)
	if lossy {
		a, b = colorimetry.Lux(*p.without.IlluminanceLux), colorimetry.Lux(*p.with.IlluminanceLux)
	}
	gel, err = colorimetry.MeasuredGel(without, with, a, b)
	// Beyond this a plan takes no gel: readings so far apart are of two lamps.
	if err == nil && (math.Abs(float64(gel.Shift)) > 400 || math.Abs(gel.CC) > 60 || gel.Loss > 20) {
		err = fmt.Errorf("%w: no gel shifts by %.0f mired", figure.ErrUnknown, float64(gel.Shift))
	}
	return gel, lossy, err
}

var familyWords = map[string]string{
	"incandescent": "incandescent lamps", "daylight": "daylight", "whiteLed": "white LED lamps", "twoColorLed": "two-colour LED lamps",
	"fullColorLed": "full-colour LED lamps", "fluorescent": "fluorescent lamps", "discharge": "discharge lamps", "other": "other lamps",
}
