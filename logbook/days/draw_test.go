package days_test

import (
	"flag"
	"fmt"
	"math/rand/v2"
	"runtime"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/logtest"
)

var (
	dayCount = flag.Int("days.count", logtest.AtLength(300, 20), "how many days are drawn")
	dayLaw   = flag.String("days.law", "", "look at this law alone")
	daySeed  = flag.Uint64("days.seed", 1, "the seed of the first day, 0 for one by chance")
)

// An event is one thing that happens on a day, so many minutes after the one before. Detail
// says what exactly happens; it counts round and round what there is, so that a list of
// events stays a day when some are cut from it.
type event struct {
	Do     string
	Gap    int
	Detail uint64
}

// dice reads the choices of an event out of its detail, one after another.
type dice struct{ rest uint64 }

func (d *dice) pick(n int) int {
	choice := int(d.rest % uint64(n))
	d.rest /= uint64(n)
	return choice
}

func (d *dice) once(in int) bool { return d.pick(in) == in-1 }

// oneOf picks from a list; the first where there is nothing left of the detail.
func oneOf[T any](d *dice, all []T) T { return all[d.pick(len(all))] }

// A mark is the end of an event: how many edits there were, and when it was.
type mark struct {
	edits int
	at    logbook.Millis
}

// A played day is what came of a list of events.
type played struct {
	*job
	events []event
	marks  []mark
	told   map[toldKey]*told
	late   map[toldKey]*told
}

// tellNow is all that the program says of the clips of the whole day, soon after it.
func (d *played) tellNow() map[toldKey]*told {
	if d.told == nil {
		d.told = tell(d.all(), d.soon())
	}
	return d.told
}

// tellLate is the same, asked much later.
func (d *played) tellLate() map[toldKey]*told {
	if d.late == nil {
		d.late = tell(d.all(), d.clock+muchLater)
	}
	return d.late
}

func (d *played) soon() logbook.Millis { return d.clock + minute }

func play(events []event) *played { return playOn(newJob(), events) }

func playOn(j *job, events []event) *played {
	d := &played{job: j, events: events}
	d.marks = append(d.marks, mark{len(d.edits), d.clock})
	for _, e := range events {
		d.clock += logbook.Millis(e.Gap) * minute
		if d.quiet {
			d.readAgain()
		}
		if what := deedNamed(e.Do, d.quiet).do(d.job, &dice{e.Detail}); what != "" {
			d.happened[e.Do]++
		}
		d.marks = append(d.marks, mark{len(d.edits), d.clock})
	}
	return d
}

// drawDay makes a day by chance. Most deeds are left out of some days and happen more in
// others, for what needs the same thing several times over would else never come.
func drawDay(seed uint64) []event { return drawOf(deeds, seed) }

func drawOf(deeds []deed, seed uint64) (events []event) {
	chance := rand.New(rand.NewPCG(seed, 11))
	var bag []string
	for _, d := range deeds {
		often := d.often
		if often < 8 {
			often *= []int{0, 1, 1, 3}[chance.IntN(4)]
		}
		for range often {
			bag = append(bag, d.name)
		}
	}
	for range 25 + chance.IntN(30) {
		events = append(events, event{bag[chance.IntN(len(bag))], []int{1, 3, 5, 8, 12, 25}[chance.IntN(6)], chance.Uint64() >> 1})
	}
	return events
}

// A law is what must hold of every day; it returns how one breaks it. What happened it may
// count beside the events.
type law struct {
	name string
	// must are the things that have to happen in a run that is long enough, beside the events.
	must  []string
	holds func(*played) error
}

// enough is how many days a run has in which everything must happen.
const enough = 200

// A broken law is the first day that breaks it.
type broken struct {
	day int
	err error
}

// keep draws days and looks whether they keep the laws. The first that breaks one is cut down
// and written out.
func keep(t *testing.T, laws []law, events []deed, draw func(seed uint64) []event, play func([]event) *played) {
	first := *daySeed
	if first == 0 {
		first = rand.Uint64() >> 12
	}
	t.Logf("%d days from seed %d", *dayCount, first)
	laws = slices.DeleteFunc(slices.Clone(laws), func(l law) bool {
		return *dayLaw != "" && *dayLaw != l.name
	})
	var mutex sync.Mutex
	happened, failed := map[string]int{}, map[string]broken{}
	look := func(i int) {
		d := play(draw(first + uint64(i)))
		for _, l := range laws {
			mutex.Lock()
			_, known := failed[l.name]
			mutex.Unlock()
			if known {
				continue
			}
			if err := l.holds(d); err != nil {
				mutex.Lock()
				if was, known := failed[l.name]; !known || i < was.day {
					failed[l.name] = broken{i, err}
				}
				mutex.Unlock()
			}
		}
		mutex.Lock()
		for what, n := range d.happened {
			happened[what] += n
		}
		mutex.Unlock()
	}
	var next atomic.Int64
	var workers sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		workers.Go(func() {
			for i := int(next.Add(1)) - 1; i < *dayCount; i = int(next.Add(1)) - 1 {
				look(i)
			}
		})
	}
	workers.Wait()
	must := []string{}
	if len(laws) > 1 {
		must = alsoMust()
	}
	for _, d := range events {
		must = append(must, d.name)
	}
	for _, l := range laws {
		t.Run(l.name, func(t *testing.T) {
			if b, ok := failed[l.name]; ok {
				seed := first + uint64(b.day)
				t.Errorf("day %d, seed %d: %v", b.day, seed, b.err)
				events, err := shrinkDay(draw(seed), func(events []event) error { return l.holds(play(events)) })
				t.Fatalf("cut down to %d events it fails with: %v\n%s", len(events), err, written(events))
			}
		})
		if _, ok := failed[l.name]; !ok {
			must = append(must, l.must...)
		}
	}
	for _, what := range must {
		if happened[what] == 0 && *dayCount >= enough {
			t.Errorf("it never happened: %s", what)
		}
	}
	t.Logf("what happened: %v", happened)
}

// laws are what every day must keep.
var laws = []law{inAnyOrder, ownTimeOnly, findingsKeepTime, wrappedStays, pastStays, oneTruth, onePicture,
	frozen, asStatedTwice, asRigged, whatIsOpen}

func TestDaysKeepTheLaws(t *testing.T) { keep(t, laws, deeds, drawDay, play) }

// alsoMust are the ways of the events that must come as well.
func alsoMust() (must []string) {
	for _, form := range whiteForms {
		must = append(must, "white from "+form)
	}
	for _, start := range starts {
		must = append(must, "white from its "+start)
	}
	return append(must, "lux is missing")
}

func TestQuietDays(t *testing.T) {
	keep(t, []law{quietly}, quietDeeds, func(seed uint64) []event { return drawOf(quietDeeds, seed) }, playQuiet)
}

func written(events []event) string {
	var out strings.Builder
	for _, e := range events {
		fmt.Fprintf(&out, "\t{%q, %d, %d},\n", e.Do, e.Gap, e.Detail)
	}
	return out.String()
}

// shrinkDay cuts events from a day that fails, as long as it fails, and returns it with how
// it fails then.
func shrinkDay(events []event, fails func([]event) error) ([]event, error) {
	last := fails(events)
	for again := last != nil; again; {
		again = false
		for size := (len(events) + 1) / 2; size > 0; size /= 2 {
			for from := 0; from < len(events); {
				to := min(from+size, len(events))
				now := append(append([]event(nil), events[:from]...), events[to:]...)
				if err := fails(now); err != nil {
					events, last, again = now, err, true
				} else {
					from = to
				}
			}
		}
		for i := range events {
			for _, detail := range []uint64{0, events[i].Detail % 4, events[i].Detail % 64, events[i].Detail % 4096} {
				if detail == events[i].Detail {
					break
				}
				now := append([]event(nil), events...)
				now[i].Detail = detail
				if err := fails(now); err != nil {
					events, last, again = now, err, true
					break
				}
			}
		}
	}
	return events, last
}
