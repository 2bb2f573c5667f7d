package days_test

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
)

// A plausible day is one as they are: mostly inside its limits, with gaps in what is known and
// a few real mistakes.
type plausible struct {
	*job
	chance *rand.Rand
	shot   int
	meant  int     // mistakes and changes that a person should be told of
	kelvin float64 // that the cameras are to be at
}

func plausibleDay(seed uint64) *plausible {
	d := &plausible{job: newJob(), chance: rand.New(rand.NewPCG(seed, 12))}
	if d.in(3) {
		d.set.set(d.bodies[1], "tintZero", `"unknown"`)
	}
	for i := range 3 {
		if i > 0 {
			d.clock += 20 * minute
			d.newPlace(string(rune('A' + i)))
		}
		d.setUpWhole()
	}
	return d
}

func (d *plausible) in(n int) bool { return d.chance.IntN(n) == 0 }

func (d *plausible) dice() *dice { return &dice{d.chance.Uint64() >> 1} }

// setUpWhole lights, reads, chooses a white, shoots a chart, and then takes.
func (d *plausible) setUpWhole() {
	key := d.here.lights[0]
	fill := d.source("fill", "fill", true, false)
	window := d.source("window", "ambient", false, true)
	fill.lux, window.lux, window.mired, d.kelvin = 300, 200, 172, 5600
	d.here.dial = [2]float64{5600, 5600}
	for _, l := range d.here.lights {
		d.clock += 2 * minute
		d.meter(l, &dice{})
	}
	d.chooseWhite(key)
	d.chart(&dice{1})
	for i := range d.cameras {
		if d.in(2) {
			d.card(i, 5600, key.mired, 2, key.last)
		}
	}
	left := 0 // takes until a mistake is noticed
	for range 4 + d.chance.IntN(5) {
		d.clock += logbook.Millis(6+d.chance.IntN(7)) * minute
		window.mired += 0.8
		d.happens(key, fill, window)
		if left--; left < 0 {
			d.here.dial = [2]float64{d.kelvin, d.kelvin}
			if d.in(12) {
				d.here.dial[1], left = 3200, d.chance.IntN(3)
				d.meant++
			}
		}
		d.shot++
		d.takeBoth()
	}
}

// takeBoth logs the next take with the clips of both cameras; now and then one is forgotten, or
// a whole take, until somebody finds it on paper.
func (d *plausible) takeBoth() {
	d.here.number++
	if d.in(15) {
		d.here.skipped = append(d.here.skipped, d.here.number)
		d.here.number++
	}
	take := d.newTake(d.here.number, &dice{})
	for i := range d.cameras {
		if i == 0 || !d.in(20) {
			d.clip(i, take, "kelvin", fmt.Sprint(d.here.dial[i]), "startedAt", d.ownTime())
		}
	}
}

func (d *plausible) chooseWhite(key *source) {
	rule := nominal(d.kelvin)
	switch n := d.chance.IntN(3); {
	case n == 0:
		rule = fmt.Sprintf(`{"as":"readings","readings":[{"reading":%s}]}`, ref(key.last))
	case n == 1 && d.kelvin == 5600: // where the window is like it
		rule = `{"as":"mix"}`
	}
	var fields []string
	if before := d.inForce(); !before.IsZero() && len(d.here.takes) > 0 {
		fields = append(fields, "supersedes", ref(before), "appliesFrom", fmt.Sprintf(`{"as":"time","at":%s}`, stamp(d.clock)))
	}
	d.white(rule, fields...)
}

// happens is what goes on between takes.
func (d *plausible) happens(key, fill, window *source) {
	switch d.chance.IntN(12) {
	case 0, 1, 2:
		d.meter(key, d.dice())
	case 3, 4:
		d.meter(window, d.dice())
	case 5: // lamps and cameras go to another white; somebody types it, or nobody
		d.kelvin = []float64{4300, 5000, 3200}[d.chance.IntN(3)]
		typed := d.in(2)
		for _, l := range []*source{key, fill} {
			l.turn(d.kelvin)
			if typed {
				d.set.set(l.id, dialled(l)...)
			}
			d.clock += minute
			d.meter(l, &dice{})
		}
		d.chooseWhite(key)
		d.meant++
	case 6:
		d.set.set(key.id, "rigged/on", "false")
		d.clock += 40 * minute
		d.set.set(key.id, "rigged/on", "true")
	case 7:
		d.fromPaper()
	case 8:
		d.otherPhone(nil)
	case 9:
		if d.in(3) {
			d.bodies[1] = d.add(kinds.Body, "label", fmt.Sprintf(`"body %d"`, len(d.edits)), "whiteModes", `["kelvin","auto"]`,
				"kelvinRanges", `[{"min":2500,"max":10000,"step":100}]`, "tint", plainBody, "timecode", `"none"`)
			d.set.set(d.cameras[1], "body", fmt.Sprintf(`{"body":%s,"from":%s}`, ref(d.bodies[1]), d.ownTime()))
		}
	}
}

func (d *plausible) fromPaper() {
	for _, number := range d.here.skipped {
		d.shot++
		d.clip(0, d.newTake(number, &dice{}, "startedAt", ""), "kelvin", fmt.Sprint(d.here.dial[0]))
	}
	d.here.skipped = nil
}

// TestFindingsOfPlausibleDays counts what a person is told of ten plausible days. It says the
// number and demands little: that nobody drowns in it.
func TestFindingsOfPlausibleDays(t *testing.T) {
	takes, found := 0, 0
	kindsFound := map[string]int{}
	for seed := range uint64(10) {
		d := plausibleDay(seed)
		b, n := d.all(), 0
		var words []string
		for _, p := range d.places {
			for _, f := range deviationsOf(b, p.setUp, d.clock+5*minute) {
				n++
				kindsFound[f.Kind]++
				words = append(words, f.Kind+": "+f.Words)
			}
		}
		t.Logf("day %d: %d findings on %d takes; mistakes and changes: %d\n  %s", seed, n, d.shot, d.meant, strings.Join(words, "\n  "))
		takes, found = takes+d.shot, found+n
	}
	var lines []string
	for kind, n := range kindsFound {
		lines = append(lines, fmt.Sprintf("%s %d", kind, n))
	}
	slices.Sort(lines)
	t.Logf("%d findings on %d takes, %.2f a take: %s", found, takes, float64(found)/float64(takes), strings.Join(lines, ", "))
	if found > 2*takes {
		t.Errorf("%d findings on %d takes: nobody reads that", found, takes)
	}
}
