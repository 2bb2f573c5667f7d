package days_test

import (
	"fmt"
)

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
