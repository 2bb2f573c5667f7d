package days_test

import (
	"evenwhite/logbook"
)

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
