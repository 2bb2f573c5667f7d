package exchange_test

import (
	"fmt"
	"strings"
)

// shrunk cuts a failing schedule down and writes it as a case to keep.
func shrunk(steps []step) string {
	steps, err := shrink(steps, func(steps []step) error { return run(steps).err })
	return fmt.Sprintf("cut down to %d steps it fails with: %v\nto keep it, put this into sim_kept_test.go:\n%s",
		len(steps), err, rowsOf(steps, run(steps).words))
}

// rowsOf writes a schedule as a row of the kept ones, each step with what came of it.
func rowsOf(steps []step, words []string) string {
	var out strings.Builder
	for i, st := range steps {
		what := "not reached"
		if i < len(words) {
			what = words[i]
		}
		fmt.Fprintf(&out, "\t{%q, %d, %d, %d}, // %s\n", st.Do, st.Phone, st.Server, st.Detail, what)
	}
	return out.String()
}

// shrink cuts steps from a schedule that fails and makes those that are left
// plainer, as long as it still fails, and returns it with how it fails then.
func shrink(steps []step, fails func([]step) error) ([]step, error) {
	last := fails(steps)
	if last == nil {
		return steps, nil
	}
	try := func(now []step) bool {
		err := fails(now)
		if err != nil {
			steps, last = now, err
		}
		return err != nil
	}
	for again := true; again; {
		again = false
		for size := (len(steps) + 1) / 2; size > 0; size /= 2 {
			for from := 0; from < len(steps); {
				to := min(from+size, len(steps))
				if try(append(append([]step(nil), steps[:from]...), steps[to:]...)) {
					again = true
				} else {
					from = to
				}
			}
		}
		for i := range steps {
			for _, plain := range plainer(steps[i]) {
				now := append([]step(nil), steps...)
				now[i] = plain
				if try(now) {
					again = true
					break
				}
			}
		}
	}
	return steps, last
}

// plainer are steps that do less than one or the same with smaller numbers, the
// plainest first.
func plainer(st step) (all []step) {
	for _, phone := range []int{0, 1, st.Phone} {
		for _, server := range []int{0, st.Server} {
			for _, detail := range []int{0, st.Detail % 4, st.Detail % 16, st.Detail % 64, st.Detail % 256, st.Detail % 4096, st.Detail} {
				now := step{st.Do, phone, server, detail}
				if now != st && phone <= st.Phone && detail <= st.Detail {
					all = append(all, now)
				}
			}
		}
	}
	return all
}
