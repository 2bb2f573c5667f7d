package pairing

import "time"

// A window counts what happened in the last span of time.
type window struct {
	span  time.Duration
	most  int
	times []time.Time
}

// free returns how long to wait until one more is within the limit; 0 means now.
func (w *window) free(now time.Time) time.Duration {
	old := 0
	for old < len(w.times) && now.Sub(w.times[old]) >= w.span {
		old++
	}
	w.times = w.times[old:]
	if len(w.times) < w.most {
		return 0
	}
	return w.span - now.Sub(w.times[len(w.times)-w.most])
}

func (w *window) add(now time.Time) { w.times = append(w.times, now) }

// The limits of pairing: with 20^8 codes and these, a guesser needs centuries.
const (
	triesPerAddress   = 10 // a minute
	triesOverall      = 30 // a minute
	failuresUntilVoid = 20 // in ten minutes
)

// tries limits how often codes are tried. It is not locked.
type tries struct {
	overall   window
	byAddress map[string]*window
}

// take counts one try, or says how long to wait. A try that is not let through is
// not counted, so that nobody can lock out others by insisting; and the number of
// addresses that are remembered stays bounded by the overall limit.
func (t *tries) take(address string, now time.Time) time.Duration {
	if t.byAddress == nil {
		t.byAddress = make(map[string]*window)
		t.overall = window{span: time.Minute, most: triesOverall}
	}
	for other, w := range t.byAddress {
		if w.free(now); len(w.times) == 0 {
			delete(t.byAddress, other)
		}
	}
	w := t.byAddress[address]
	if w == nil {
		w = &window{span: time.Minute, most: triesPerAddress}
	}
	if wait := max(w.free(now), t.overall.free(now)); wait > 0 {
		return wait
	}
	w.add(now)
	t.overall.add(now)
	t.byAddress[address] = w
	return 0
}
