package days_test

import (
	"fmt"
	"slices"
	"strings"

	"evenwhite/logbook"
	"evenwhite/logbook/deviation"
	"evenwhite/logbook/glance"
	"evenwhite/logbook/kinds"
)

// quietDeeds are what happens where nothing is off, with gaps in what is known.
var quietDeeds = []deed{
	{"take", 40, (*job).takeOne}, {"clip without a take", 2, (*job).clipAlone}, {"chart", 2, (*job).chart},
	{"false start", 2, (*job).falseStart}, {"series", 2, (*job).seriesOfTakes}, {"take from paper", 4, (*job).takeFromPaper},
	{"note", 1, (*job).note}, {"off or on", 4, (*job).offOrOn}, {"new light", 6, (*job).newLight},
	{"read one", 22, (*job).readOne}, {"read everything", 6, (*job).readEverything}, {"compare meters", 2, (*job).compareMeters},
	{"quiet white", 8, (*job).quietWhite}, {"quiet card", 4, (*job).quietCard},
	{"quiet swap", 3, (*job).quietSwap}, {"next set-up", 2, (*job).nextSetUp}, {"other phone", 5, (*job).otherPhone},
	{"a clock goes wrong", 3, (*job).clockWrong}, {"forget a body's dials", 3, (*job).forgetDials}, {"forget a lamp", 3, (*job).forgetLamp},
}

func newQuietJob() *job {
	j := newJob()
	j.quiet = true
	return j
}

func playQuiet(events []event) *played { return playOn(newQuietJob(), events) }

// readAgain measures what was measured, before it grows too old.
func (j *job) readAgain() {
	for _, l := range j.here.lights {
		if l.on && !l.last.IsZero() && j.clock-l.lastAt > 40*minute {
			j.meter(l, &dice{})
		}
	}
}

// quietWhite chooses what the set has: a nominal white, a reading, or the mix.
func (j *job) quietWhite(d *dice) string {
	rule := nominal(5600)
	switch key := j.here.lights[0].last; d.pick(4) {
	case 1:
		rule = `{"as":"mix"}`
	case 2:
		if !key.IsZero() {
			rule = fmt.Sprintf(`{"as":"readings","readings":[{"reading":%s}]}`, ref(key))
		}
	case 3:
		rule = fmt.Sprintf(`{"as":"cameraSetting","camera":%s,"kelvin":5600}`, ref(j.cameras[d.pick(2)]))
	}
	from, _ := j.from(oneOf(d, starts), d)
	fields := []string{"appliesFrom", from}
	if before := j.inForce(); !before.IsZero() {
		fields = append(fields, "supersedes", ref(before))
	}
	j.here.whites = append(j.here.whites, j.white(rule, fields...))
	return did
}

func (j *job) quietCard(d *dice) string {
	i := d.pick(2)
	l := oneOf(d, j.here.lights)
	if l.last.IsZero() {
		j.happened["a card in a light that was not read"]++
	}
	j.samples = append(j.samples, j.card(i, 5600, l.mired, float64(d.pick(3)-1), l.last))
	return did
}

func (j *job) quietSwap(d *dice) string {
	i := d.pick(2)
	fields := []string{"label", fmt.Sprintf(`"body %d"`, 3+len(j.edits)), "whiteModes", `["kelvin","auto"]`, "kelvinRanges",
		`[{"min":2500,"max":10000,"step":100}]`, "timecode", `"none"`}
	if d.once(2) {
		fields = append(fields, "tint", plainBody, "tintZero", []string{`"blackBody"`, `"unknown"`}[d.pick(2)])
	}
	j.bodies[i] = j.add(kinds.Body, fields...)
	j.set.set(j.cameras[i], "body", fmt.Sprintf(`{"body":%s,"from":%s}`, ref(j.bodies[i]), j.ownTime()))
	return did
}

// forgetDials leaves open where a body's tint 0 lies, or what a unit of it does.
func (j *job) forgetDials(d *dice) string {
	body := j.bodies[d.pick(2)]
	if d.once(2) {
		j.set.set(body, "tint", `{"min":-10,"max":10,"step":1,"plusIs":"magenta"}`)
		return did
	}
	j.set.set(body, "tintZero", `"unknown"`)
	return did
}

func (j *job) forgetLamp(d *dice) string {
	j.set.set(oneOf(d, j.here.lights).id, "lamp", "null")
	return did
}

// notKnown are the kinds of findings that speak of what is missing.
var notKnown = []string{
	deviation.NoReading, deviation.NoWhite, deviation.WhiteUnresolved, deviation.NoChart,
	deviation.SettingsCarriedOver, deviation.NoSettings, deviation.NotLogged,
}

// quietly: on a day inside all limits there is no finding but that something is not known,
// and no reading is out of date.
var quietly = law{name: "quiet", must: []string{"a day is looked at", "a card in a light that was not read"}, holds: func(d *played) error {
	for i, m := range d.marks {
		if i == 0 || i != len(d.marks)-1 && d.events[i-1].Detail>>40%8 != 0 {
			continue
		}
		d.happened["a day is looked at"]++
		b := bookOf(d.edits[:m.edits])
		setUp := lastPlace(b)
		for _, f := range deviationsOf(b, setUp, m.at) {
			if !slices.Contains(notKnown, f.Kind) && !strings.HasPrefix(f.Words, "can't tell") {
				return fmt.Errorf("%s: %s", f.Kind, f.Words)
			}
		}
		n, err := glance.Now(b, setUp, m.at)
		if err != nil {
			return err
		}
		for _, l := range n.Lights {
			if len(l.StaleBecause) > 0 && l.On {
				return fmt.Errorf("%s is out of date: %s", l.Name, strings.Join(l.StaleBecause, "; "))
			}
		}
	}
	return nil
}}

// lastPlace is the set-up that was made last.
func lastPlace(b *logbook.Book) logbook.ID {
	all := b.Records(kinds.SetUp)
	return all[len(all)-1].ID
}
