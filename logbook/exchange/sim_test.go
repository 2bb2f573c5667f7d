package exchange_test

import (
	"crypto/sha256"
	"encoding/hex"
	flags "flag"
	"fmt"
	"maps"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/amend"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/logtest"
)

var (
	simSeed = flags.Uint64("sim.seed", 0, "run this one schedule of faults, and print all of it")
	simFrom = flags.Uint64("sim.from", 0, "the seed of the first schedule; 0: by chance")
	simRuns = flags.Int("sim.runs", logtest.AtLength(300, 60), "how many schedules of faults to run")
	simTime = flags.Duration("sim.time", 0, "run schedules of faults for so long instead")
)

// TestSchedulesOfFaults runs random schedules of what can happen to phones and
// servers, and compares every node after every step with the oracle.
func TestSchedulesOfFaults(t *testing.T) {
	if *simSeed != 0 {
		steps := drawSchedule(*simSeed)
		if r := run(steps); r.err != nil {
			t.Fatalf("seed %d: %v\n%s", *simSeed, r.err, shrunk(steps))
		} else {
			t.Logf("seed %d: digest %s\n%s", *simSeed, r.digest, rowsOf(steps, r.words))
		}
		return
	}
	first := *simFrom
	if first == 0 {
		first = rand.Uint64() >> 1
	}
	t.Logf("schedules from seed %d on; run one with -sim.seed", first)
	begin := time.Now()
	n, steps, counts := 0, 0, map[string]int{}
	// What happens in few schedules may be in none of so many: some more are run then.
	more := func() bool { return n >= enoughSchedules && n < 3**simRuns && len(unmet(counts)) > 0 }
	for ; n < *simRuns || time.Since(begin) < *simTime || more(); n++ {
		seed := first + uint64(n)
		schedule := drawSchedule(seed)
		r := run(schedule)
		if r.err != nil {
			t.Fatalf("schedule %d, seed %d: %v\n%s", n+1, seed, r.err, shrunk(schedule))
		}
		steps += len(schedule)
		for what, times := range r.counts {
			counts[what] += times
		}
	}
	var table strings.Builder
	for _, what := range slices.Sorted(maps.Keys(counts)) {
		fmt.Fprintf(&table, "\n%9d  %s", counts[what], what)
	}
	t.Logf("%d schedules of %d steps; what happened, and how often:%s", n, steps, table.String())
	if n < enoughSchedules {
		return
	}
	for _, what := range unmet(counts) {
		t.Errorf("%q happened in none of %d schedules: they do not test it", what, n)
	}
}

// unmet are the happenings that never came.
func unmet(counts map[string]int) []string {
	return slices.DeleteFunc(happenings(), func(what string) bool { return counts[what] > 0 })
}

// enoughSchedules is from when on each thing must have happened.
const enoughSchedules = 200

// TestAScheduleIsItsSteps: what a schedule does follows from the list of its steps
// alone, also when some are cut from it. Without that, nothing that is found could
// be cut down or kept.
func TestAScheduleIsItsSteps(t *testing.T) {
	for seed := range uint64(logtest.AtLength(20, 5)) {
		steps := drawSchedule(seed)
		cut := rand.New(rand.NewPCG(seed, 8))
		for len(steps) > 10 {
			a, b := run(steps), run(steps)
			if a.err != nil || b.err != nil {
				t.Fatalf("seed %d, %d steps left: %v, %v", seed, len(steps), a.err, b.err)
			}
			if a.digest != b.digest || !slices.Equal(a.words, b.words) {
				t.Fatalf("seed %d, %d steps left: got %s and then %s", seed, len(steps), a.digest, b.digest)
			}
			from := cut.IntN(len(steps))
			steps = slices.Delete(slices.Clone(steps), from, min(len(steps), from+len(steps)/3+1))
		}
	}
}

// outcome is what came of a schedule.
type outcome struct {
	err    error
	digest string // of what all nodes show at the end
	words  []string
	counts map[string]int
}

// run plays a schedule: its steps, then exchanges of all with all until nothing
// moves any more. A panic is a failure like any other.
func run(steps []step) (out outcome) {
	s := newSim()
	defer func() {
		if r := recover(); r != nil {
			out.err = fmt.Errorf("panic: %v", r)
		}
		out.words, out.counts = s.words, s.counts
	}()
	for i, st := range steps {
		words := s.play(st)
		s.words = append(s.words, words)
		if out.err = s.check(); out.err != nil {
			out.err = fmt.Errorf("after step %d (%s): %w", i+1, words, out.err)
			return out
		}
	}
	if out.err = s.converge(); out.err == nil {
		out.digest = s.digest()
	}
	return out
}

// play does one step and says in words what came of it.
func (s *sim) play(st step) string {
	d, ok := deedNamed(st.Do)
	if !ok {
		panic("there is no step " + st.Do)
	}
	dice := &dice{uint64(st.Detail)}
	s.clock += logbook.Millis(dice.pick(4)) * 20000 // 0: as early as the step before
	s.at = st
	words := d.do(s, dice)
	if words == "" {
		return "nothing"
	}
	s.counts[st.Do]++
	return words
}

// digest is a hash over all that each node shows: values, heads, conflicts, what
// is refused and which twins are asked about.
func (s *sim) digest() string {
	h := sha256.New()
	for _, b := range s.books() {
		fmt.Fprintf(h, "%s\n", everything(b))
	}
	return hex.EncodeToString(h.Sum(nil)[:16])
}

// everything writes down all that a book shows, and which twins are asked about.
func everything(b *logbook.Book) string {
	var all []logbook.Kind
	for _, spec := range kinds.Specs {
		all = append(all, spec.Kind)
	}
	for _, kind := range b.Kinds() {
		if _, ok := kinds.Of(kind); !ok {
			all = append(all, kind)
		}
	}
	var twins strings.Builder
	for _, t := range amend.Twins(b) {
		fmt.Fprintf(&twins, "twins? %s %s, two %s\n", t.Kind, t.Records, t.Two)
	}
	return logtest.Records(b, all) + twins.String() + logtest.Refused(b)
}
