package pairing

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"
)

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

// The limits of pairing. All addresses together have none but the number of wrong codes
// after which every invitation is void: any other would keep out who has a right one.
const (
	triesPerAddress   = 10 // a minute
	failuresUntilVoid = 20 // in failureTime
	failureTime       = 10 * time.Minute
	mostAddresses     = 1024 // that are remembered
)

// tries limits how often codes are tried from one address. It is not locked.
type tries struct{ byAddress map[string]*window }

// take counts one try, or says how long to wait. A try that is not let through is not
// counted.
func (t *tries) take(address string, now time.Time) time.Duration {
	if t.byAddress == nil {
		t.byAddress = make(map[string]*window)
	}
	w := t.byAddress[address]
	if w == nil {
		t.makeRoom(now)
		w = &window{span: time.Minute, most: triesPerAddress}
	}
	if wait := w.free(now); wait > 0 {
		return wait
	}
	w.add(now)
	t.byAddress[address] = w
	return 0
}

// makeRoom forgets addresses that tried nothing for a minute, and where that does not do
// the one that has been quiet for longest.
func (t *tries) makeRoom(now time.Time) {
	if len(t.byAddress) < mostAddresses {
		return
	}
	last := func(address string) time.Time { times := t.byAddress[address].times; return times[len(times)-1] }
	quiet := ""
	for address, w := range t.byAddress {
		if w.free(now); len(w.times) == 0 {
			delete(t.byAddress, address)
		} else if quiet == "" || last(address).Before(last(quiet)) {
			quiet = address
		}
	}
	if len(t.byAddress) >= mostAddresses {
		delete(t.byAddress, quiet)
	}
}

// A failure is a wrong code while an invitation was open.
type failure struct {
	at      time.Time
	address string
}

// failures are the latest of them, oldest first.
type failures []failure

// add counts one, and reports whether somebody is guessing.
func (f *failures) add(now time.Time, address string) bool {
	*f = slices.DeleteFunc(*f, func(x failure) bool { return now.Sub(x.at) >= failureTime })
	*f = append(*f, failure{now, address})
	return len(*f) >= failuresUntilVoid
}

// from lists the addresses with their number of failures, the worst first.
func (f failures) from() string {
	count := map[string]int{}
	for _, x := range f {
		count[x.address]++
	}
	worst := slices.SortedFunc(maps.Keys(count), func(a, b string) int {
		return cmp.Or(cmp.Compare(count[b], count[a]), strings.Compare(a, b))
	})
	for i, address := range worst {
		worst[i] = fmt.Sprintf("%s (%d)", address, count[address])
	}
	return strings.Join(worst, ", ")
}
