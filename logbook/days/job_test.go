package days_test

import (
	"fmt"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
)

// A job is a production at work: what is true on the set, and what was entered of it.
type job struct {
	*set
	places   []*place
	here     *place
	days     []logbook.ID
	gels     []logbook.ID // warm, cool
	meters   []logbook.ID
	samples  []logbook.ID
	happened map[string]int
	quiet    bool // everything is inside its limits
}

// A place is a set-up with what is known of it.
type place struct {
	setUp, day logbook.ID
	lights     []*source
	takes      []logbook.ID
	clips      []logbook.ID
	whites     []logbook.ID
	readings   []logbook.ID
	number     int        // of the last take
	skipped    []int      // numbers that were left out
	dial       [2]float64 // of the cameras
	sky        string
}

// A source is a light as it truly is.
type source struct {
	id      logbook.ID
	name    string
	mired   float64
	duv     float64
	lux     float64
	dial    float64
	gel     int // 0 none, else one of gels
	on, sky bool
	last    logbook.ID // its last reading
	lastAt  logbook.Millis
}

func newJob() *job {
	j := &job{set: newSet(), happened: map[string]int{}}
	j.days = []logbook.ID{j.day}
	for i, shift := range []int{131, -137} {
		j.gels = append(j.gels, j.add(kinds.Gel, "name", fmt.Sprintf(`"gel %d"`, i), "gelKind", []string{`"warm"`, `"cool"`}[i], "shiftMired", fmt.Sprint(shift)))
	}
	for i, kind := range []string{"spectrometer", "threeSensor"} {
		j.meters = append(j.meters, j.add(kinds.Meter, "name", fmt.Sprintf(`"meter %d"`, i), "meterKind", `"`+kind+`"`))
	}
	j.enter(&place{setUp: j.setUp, day: j.day, dial: [2]float64{5600, 5600}, sky: "sun"})
	j.source("key", "key", true, false)
	j.clock += minute
	return j
}

func (j *job) enter(p *place) {
	j.places = append(j.places, p)
	j.goTo(p)
}

func (j *job) goTo(p *place) { j.here, j.setUp, j.day = p, p.setUp, p.day }

// source puts up a light: with a lamp, of the sky, or a practical of which nothing is known.
func (j *job) source(name, role string, lamp, sky bool) *source {
	l := &source{name: name, mired: 179, lux: 800, dial: 5600, on: true, sky: sky}
	switch {
	case lamp:
		l.id = j.lamp(name, role)
	case sky:
		l.id, l.mired = j.light(name, role, "sky", `"`+j.here.sky+`"`), 170
	default:
		l.id, l.mired = j.light(name, role), 357
	}
	if j.quiet {
		l.mired = 179
	}
	j.here.lights = append(j.here.lights, l)
	return l
}

// turn sets a lamp to another kelvin, in truth.
func (l *source) turn(kelvin float64) {
	l.dial = kelvin
	l.mired = 1e6/kelvin + []float64{0, 131, -75}[l.gel]
}

// meter reads a light as it truly is, nearly.
func (j *job) meter(l *source, d *dice, more ...string) logbook.ID {
	measured := fmt.Sprintf(`{"as":"cctDuv","cctKelvin":%.1f,"duv":%.4f}`, 1e6/(l.mired+float64(d.pick(3)-1)), l.duv+float64(d.pick(3)-1)/5000)
	fields := []string{}
	if !d.once(6) {
		fields = append(fields, lux(l.lux*float64(98+d.pick(5))/100)...)
	} else {
		j.happened["lux is missing"]++
	}
	if l.sky {
		fields = append(fields, "sky", `"`+j.here.sky+`"`)
	}
	if d.once(8) {
		fields = append(fields, "meter", ref(oneOf(d, j.meters)))
	}
	l.last = j.reading(fmt.Sprintf(`{"as":"light","light":%s}`, ref(l.id)), measured, filled(more, fields...)...)
	j.here.readings, l.lastAt = append(j.here.readings, l.last), j.clock
	return l.last
}

// lamps are the lights of the set-up with a lamp.
func (j *job) lamps() (all []*source) {
	for _, l := range j.here.lights {
		if !l.lampless() {
			all = append(all, l)
		}
	}
	return all
}

func (l *source) lampless() bool { return l.sky || l.name[0] == 'p' }

// roll logs the clips of a take, or clips without one.
func (j *job) roll(take logbook.ID, d *dice, more ...string) {
	for i := range j.cameras {
		if d.once(7) {
			continue // it did not roll
		}
		fields := []string{"kelvin", fmt.Sprint(j.here.dial[i])}
		if d.once(3) {
			fields = append(fields, "settingsAre", `"carriedOver"`)
		}
		if take.IsZero() || d.once(2) {
			fields = append(fields, "startedAt", j.ownTime())
		}
		j.here.clips = append(j.here.clips, j.clip(i, take, filled(more, fields...)...))
	}
}
