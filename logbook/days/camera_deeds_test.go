package days_test

import (
	"fmt"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
)

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
