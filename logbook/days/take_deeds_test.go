package days_test

import (
	"fmt"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
)

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
