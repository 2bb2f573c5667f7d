package days_test

import (
	"fmt"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
)

// A deed is what an event can do. It returns what came of it, "" for nothing.
type deed struct {
	name  string
	often int
	do    func(*job, *dice) string
}

var deeds []deed

func init() { // the deeds of an apart phone look at the table
	deeds = []deed{
		{"take", 40, (*job).takeOne},
		{"clip without a take", 2, (*job).clipAlone},
		{"chart", 2, (*job).chart},
		{"false start", 2, (*job).falseStart},
		{"series", 2, (*job).seriesOfTakes},
		{"take from paper", 4, (*job).takeFromPaper},
		{"note", 1, (*job).note},

		{"relight typed before", 5, (*job).relightBefore},
		{"relight typed after", 4, (*job).relightAfter},
		{"relight typed with since", 4, (*job).relightSince},
		{"relight in the reading", 5, (*job).relightInReading},
		{"relight never typed", 6, (*job).relightNever},
		{"gel", 4, (*job).gel},
		{"level", 3, (*job).level},
		{"off or on", 4, (*job).offOrOn},
		{"new light", 4, (*job).newLight},

		{"read one", 22, (*job).readOne},
		{"read everything", 6, (*job).readEverything},
		{"reading from paper", 4, (*job).readingFromPaper},
		{"sky changes", 4, (*job).skyChanges},
		{"read the sky", 6, (*job).readSky},
		{"compare meters", 2, (*job).compareMeters},
		{"strike out a reading", 3, (*job).strikeReading},
		{"replace a reading", 4, (*job).replaceReading},

		{"white", 12, (*job).whiteByRule},
		{"whites apart", 4, (*job).whitesApart},
		{"strike out a white", 2, (*job).strikeWhite},
		{"strike out a take", 2, (*job).strikeTake},

		{"card", 4, (*job).cardToday},
		{"card of another day", 3, (*job).cardElsewhen},
		{"swap a body", 2, (*job).swap},
		{"turn a camera", 6, (*job).turnCamera},
		{"type a body anew", 2, (*job).bodyAnew},

		{"accept", 3, (*job).accept},
		{"close or open a day", 3, (*job).closeDay},
		{"reference light", 2, (*job).referenceLight},
		{"intent", 2, (*job).intent},
		{"must match", 1, (*job).mustMatch},
		{"next set-up", 3, (*job).nextSetUp},
		{"next day", 2, (*job).nextDay},
		{"second unit", 2, (*job).secondUnit},
		{"go back", 2, (*job).goBack},

		{"other phone", 5, (*job).otherPhone},
		{"a clock goes wrong", 3, (*job).clockWrong},
		{"part", 3, (*job).part},
		{"meet", 4, (*job).meet},
	}
}

func deedNamed(name string, quiet bool) deed {
	all := deeds
	if quiet {
		all = quietDeeds
	}
	for _, d := range all {
		if d.name == name {
			return d
		}
	}
	panic("no deed " + name)
}

const did = "did"

var skies = []string{"sun", "cloud", "thinCloud", "shade"}

func (j *job) newTake(number int, d *dice, more ...string) logbook.ID {
	fields := []string{"setUp", ref(j.setUp), "number", fmt.Sprint(number)}
	if !d.once(6) {
		fields = append(fields, "startedAt", j.ownTime())
	}
	if !d.once(4) {
		if white := j.inForce(); !white.IsZero() {
			fields = append(fields, "white", ref(white))
		}
	}
	if d.once(4) {
		fields = append(fields, "sky", `"`+j.here.sky+`"`)
	}
	take := j.add(kinds.Take, filled(more, fields...)...)
	j.here.takes = append(j.here.takes, take)
	return take
}

func (j *job) takeOne(d *dice) string {
	j.here.number++
	if d.once(6) {
		j.here.skipped = append(j.here.skipped, j.here.number)
		j.here.number++
	}
	j.roll(j.newTake(j.here.number, d), d)
	return did
}

func (j *job) clipAlone(d *dice) string {
	j.roll(logbook.ID{}, d)
	return did
}

func (j *job) chart(d *dice) string {
	if d.once(2) {
		j.roll(j.newTake(1+len(j.here.takes), d, "takeKind", `"chart"`), d)
		return did
	}
	j.roll(logbook.ID{}, d, "clipKind", `"chart"`)
	return did
}

func (j *job) falseStart(d *dice) string {
	j.roll(logbook.ID{}, d, "clipKind", `"falseStart"`)
	return did
}

func (j *job) seriesOfTakes(d *dice) string {
	j.here.number += 2
	first := j.newTake(j.here.number-1, d, "series", "true")
	j.clock += 2 * minute
	second := j.newTake(j.here.number, d, "series", "true")
	j.here.clips = append(j.here.clips, j.clip(0, first, "takes/"+second.String(), "{}", "kelvin", fmt.Sprint(j.here.dial[0])))
	return did
}

// takeFromPaper enters a take that was left out, with the time that somebody wrote down or
// without one.
func (j *job) takeFromPaper(d *dice) string {
	if len(j.here.skipped) == 0 {
		return ""
	}
	number := j.here.skipped[0]
	j.here.skipped = j.here.skipped[1:]
	began := ""
	if d.once(2) {
		began = stamp(j.clock - logbook.Millis(15+d.pick(30))*minute)
	}
	j.roll(j.newTake(number, &dice{}, "startedAt", began), &dice{}, "startedAt", "")
	return did
}

func (j *job) note(d *dice) string {
	about := j.setUp
	if len(j.here.takes) > 0 && d.once(2) {
		about = oneOf(d, j.here.takes)
	}
	j.add(kinds.Note, "about", ref(about), "text", `"look at this"`)
	return did
}

var dials = []float64{3200, 4300, 5600, 2900}

// other is a dial that a lamp is not at.
func (l *source) other(d *dice) float64 {
	to := oneOf(d, dials)
	if to == l.dial {
		to = 6000
	}
	return to
}

func dialled(l *source) []string { return []string{"rigged/dialKelvin", fmt.Sprint(l.dial)} }

func (j *job) aLamp(d *dice) *source {
	if all := j.lamps(); len(all) > 0 {
		return oneOf(d, all)
	}
	return nil
}

func (j *job) relightBefore(d *dice) string {
	l := j.aLamp(d)
	if l == nil {
		return ""
	}
	l.turn(l.other(d))
	j.set.set(l.id, dialled(l)...)
	if d.once(2) {
		j.clock += minute
		j.meter(l, d)
	}
	return did
}

func (j *job) relightAfter(d *dice) string {
	l := j.aLamp(d)
	if l == nil {
		return ""
	}
	l.turn(l.other(d))
	j.clock += minute
	j.meter(l, d)
	j.clock += 4 * minute
	j.set.set(l.id, dialled(l)...)
	return did
}

func (j *job) relightSince(d *dice) string {
	l := j.aLamp(d)
	if l == nil {
		return ""
	}
	l.turn(l.other(d))
	j.clock += minute
	since := j.meter(l, d)
	if d.once(2) {
		j.clock += 5 * minute
		j.takeOne(d)
	}
	j.clock += 7 * minute
	j.set.set(l.id, append(dialled(l), "since/rigged/dialKelvin", ref(since))...)
	return did
}

func (j *job) relightInReading(d *dice) string {
	l := j.aLamp(d)
	if l == nil {
		return ""
	}
	l.turn(l.other(d))
	j.meter(l, d, "lightsAsSet/"+l.id.String(), fmt.Sprintf(`{"dialKelvin":%g}`, l.dial))
	return did
}

func (j *job) relightNever(d *dice) string {
	l := j.aLamp(d)
	if l == nil {
		return ""
	}
	l.turn(l.other(d))
	if d.once(2) {
		j.clock += 2 * minute
		j.meter(l, d)
	}
	return did
}

func (j *job) gel(d *dice) string {
	l := j.aLamp(d)
	if l == nil {
		return ""
	}
	gels := "[]"
	if l.gel = d.pick(3); l.gel > 0 {
		gels = refs(j.gels[l.gel-1])
	}
	l.turn(l.dial)
	if d.once(5) {
		return did // nobody types it
	}
	j.set.set(l.id, "rigged/gels", gels)
	return did
}

func (j *job) level(d *dice) string {
	l := j.aLamp(d)
	if l == nil {
		return ""
	}
	percent := 20 + 20*d.pick(5)
	l.lux = 8 * float64(percent)
	j.set.set(l.id, "rigged/levelPercent", fmt.Sprint(percent))
	return did
}

func (j *job) offOrOn(d *dice) string {
	l := oneOf(d, j.here.lights)
	l.on = !l.on
	j.set.set(l.id, "rigged/on", fmt.Sprint(l.on))
	if j.quiet {
		j.readAgain() // who lights it again meters it
	}
	return did
}

func (j *job) newLight(d *dice) string {
	if len(j.here.lights) >= 5 {
		return ""
	}
	n := len(j.here.lights)
	switch d.pick(4) {
	case 0, 1:
		j.source(fmt.Sprintf("lamp %d", n), []string{"fill", "back"}[d.pick(2)], true, false)
	case 2:
		j.source(fmt.Sprintf("window %d", n), []string{"fill", "background", "ambient"}[d.pick(3)], false, true)
	default:
		j.source(fmt.Sprintf("practical %d", n), "practical", false, false)
	}
	return did
}

func (j *job) readOne(d *dice) string {
	l := oneOf(d, j.here.lights)
	if !l.on {
		return ""
	}
	j.meter(l, d)
	return did
}

// readEverything reads the sum of what is on.
func (j *job) readEverything(d *dice) string {
	mired, sum := 0.0, 0.0
	for _, l := range j.here.lights {
		if l.on {
			mired, sum = mired+l.mired*l.lux, sum+l.lux
		}
	}
	if sum == 0 {
		return ""
	}
	j.here.readings = append(j.here.readings, j.everything(mired/sum, lux(sum)...))
	return did
}

func (j *job) readingFromPaper(d *dice) string {
	l := oneOf(d, j.here.lights)
	j.meter(l, d, "takenAt", stamp(j.clock-logbook.Millis(10+d.pick(50))*minute))
	return did
}

func (j *job) skyChanges(d *dice) string {
	j.here.sky = oneOf(d, skies)
	found := ""
	for _, l := range j.here.lights {
		if l.sky {
			l.mired, l.lux, found = 150+float64(d.pick(60)), 400+float64(d.pick(800)), did
		}
	}
	return found
}

func (j *job) readSky(d *dice) string {
	for _, l := range j.here.lights {
		if l.sky {
			l.mired += float64(d.pick(13) - 4)
			j.meter(l, d)
			return did
		}
	}
	return ""
}

func (j *job) compareMeters(d *dice) string {
	l := oneOf(d, j.here.lights)
	for _, m := range j.meters {
		j.here.readings = append(j.here.readings, j.read(l.id, l.mired+float64(d.pick(9)), "meter", ref(m), "purpose", `"meterCompare"`))
	}
	return did
}

func (j *job) strikeReading(d *dice) string {
	if len(j.here.readings) == 0 {
		return ""
	}
	j.set.set(oneOf(d, j.here.readings), "struckOut", `{"reason":"typed wrong"}`)
	return did
}

func (j *job) replaceReading(d *dice) string {
	l := oneOf(d, j.here.lights)
	if l.last.IsZero() {
		return ""
	}
	j.meter(l, d, "supersedes", ref(l.last))
	return did
}

func (j *job) strikeWhite(d *dice) string {
	if len(j.here.whites) == 0 {
		return ""
	}
	j.set.set(oneOf(d, j.here.whites), "struckOut", `{"reason":"not this one"}`)
	return did
}

func (j *job) strikeTake(d *dice) string {
	if len(j.here.takes) == 0 {
		return ""
	}
	j.set.set(oneOf(d, j.here.takes), "deleted", "true")
	return did
}

func (j *job) cardToday(d *dice) string {
	i := d.pick(2)
	l := oneOf(d, j.here.lights)
	j.samples = append(j.samples, j.card(i, j.here.dial[i], l.mired, float64(d.pick(9)-4), l.last))
	return did
}

// cardElsewhen is of another day: of a day of the log, or of none.
func (j *job) cardElsewhen(d *dice) string {
	i := d.pick(2)
	fields := []string{"setUp", "", "takenAt", stamp(j.clock + logbook.Millis((d.pick(7)-3)*24*60+7*60)*minute)}
	if p := oneOf(d, j.places); p.day != j.day {
		fields = []string{"setUp", ref(p.setUp), "takenAt", stamp(j.clock + 17*minute)}
	}
	j.samples = append(j.samples, j.card(i, j.here.dial[i], 179, float64(d.pick(31)-15), logbook.ID{}, fields...))
	return did
}

func (j *job) swap(d *dice) string {
	i := d.pick(2)
	body := j.add(kinds.Body, "label", fmt.Sprintf(`"body %d"`, 3+len(j.edits)), "whiteModes", `["kelvin","auto"]`, "kelvinRanges",
		`[{"min":2500,"max":10000,"step":100}]`, "tint", plainBody, "tintZero", []string{`"blackBody"`, `"daylight"`, `"unknown"`}[d.pick(3)], "timecode", `"none"`)
	j.bodies[i] = body
	j.set.set(j.cameras[i], "body", fmt.Sprintf(`{"body":%s,"from":%s}`, ref(body), j.ownTime()))
	return did
}

func (j *job) turnCamera(d *dice) string {
	j.here.dial[d.pick(2)] = []float64{5600, 3200, 4300, 5400, 5000}[d.pick(5)]
	return did
}

func (j *job) bodyAnew(d *dice) string {
	j.set.set(j.bodies[d.pick(2)], "tint", fmt.Sprintf(`{"min":-8,"max":8,"step":1,"duvPerUnit":0.000%d,"plusIs":"magenta"}`, 5+d.pick(3)))
	return did
}

func (j *job) accept(d *dice) string {
	all := deviationsOf(j.known(), j.setUp, j.clock)
	for _, v := range all {
		if v.Value == nil || v.Value.Mired == nil || v.Accepted != nil {
			continue
		}
		fields := []string{"deviation", `"` + v.Kind + `"`, "subjects", refs(v.Subjects...), "scope", `"setUp"`, "reason", `"meant"`,
			"ceiling", `{"mired":300,"duv":0.05,"steps":500}`}
		if v.ComparedWith != nil && !v.ComparedWith.Record.IsZero() {
			fields = append(fields, "comparedWith", ref(v.ComparedWith.Record))
		}
		j.add(kinds.Acceptance, fields...)
		return did
	}
	return ""
}

func (j *job) closeDay(d *dice) string {
	j.set.set(j.day, "closed", fmt.Sprint(!d.once(3)))
	return did
}

func (j *job) referenceLight(d *dice) string {
	value := "null"
	if !d.once(3) {
		value = ref(oneOf(d, j.here.lights).id)
	}
	j.set.set(j.setUp, "referenceLight", value)
	return did
}

func (j *job) intent(d *dice) string {
	j.set.set(oneOf(d, j.here.lights).id, "intent", []string{`"holdOwnColor"`, `"leave"`, `"match"`}[d.pick(3)])
	return did
}

func (j *job) mustMatch(d *dice) string {
	p := oneOf(d, j.places)
	if p == j.here {
		return ""
	}
	j.set.set(j.setUp, "mustMatch", fmt.Sprintf(`{"setUp":%s}`, ref(p.setUp)))
	return did
}

func (j *job) newPlace(name string) {
	scene := j.scene
	id := j.add(kinds.SetUp, "day", ref(j.day), "scene", ref(scene), "name", `"`+name+`"`,
		"cameras/"+j.cameras[0].String()+"/inUse", "true", "cameras/"+j.cameras[1].String()+"/inUse", "true")
	j.enter(&place{setUp: id, day: j.day, dial: j.here.dial, sky: j.here.sky})
	j.source("key", "key", true, false)
}

func (j *job) nextSetUp(*dice) string {
	if len(j.places) >= 4 {
		return ""
	}
	j.newPlace(string(rune('A' + len(j.places))))
	return did
}

func (j *job) nextDay(d *dice) string {
	if len(j.places) >= 4 || j.clock > at(4*24*60) {
		return ""
	}
	into := (j.clock - dayBegins) % (24 * 60 * minute)
	j.clock += 24*60*minute - into
	j.day = j.add(kinds.Day, "number", fmt.Sprint(len(j.days)+1), "date", `"`+j.clock.Time().Format("2006-01-02")+`"`)
	j.days = append(j.days, j.day)
	j.newPlace(string(rune('A' + len(j.places))))
	return did
}

func (j *job) secondUnit(*dice) string {
	if len(j.places) >= 4 {
		return ""
	}
	j.day = j.add(kinds.Day, "number", fmt.Sprint(len(j.days)), "date", `"`+j.clock.Time().Format("2006-01-02")+`"`, "unit", `"second"`)
	j.newPlace(string(rune('A' + len(j.places))))
	return did
}

func (j *job) goBack(d *dice) string {
	if len(j.places) < 2 {
		return ""
	}
	j.goTo(oneOf(d, j.places))
	return did
}

func (j *job) otherPhone(*dice) string {
	j.hand = 1 - j.hand
	return did
}

// clockWrong: the phone in hand goes wrong by some minutes, and learns it.
func (j *job) clockWrong(d *dice) string {
	j.phones[j.hand].offset = logbook.Millis(d.pick(11)-5) * minute
	return did
}

func (j *job) part(*dice) string {
	if j.phones[0].apart {
		return ""
	}
	j.apart()
	return did
}

func (j *job) meet(*dice) string {
	if !j.phones[0].apart {
		return ""
	}
	j.together()
	return did
}
