package logbook

import (
	"runtime"
	"runtime/debug"
	"sync"
)

// How much garbage may lie beside what is held is decided for the whole process, by those who
// fill books, which only grow, and by those who read a large one at length.
var garbage struct {
	sync.Mutex
	filling, sparing int
	usual, spared    int // percent of what is held
}

// fillingPercent is how much may come between two collections while a book is filled: a collection
// at each doubling would look at all of it each time, a sixth of the time of a million edits.
const fillingPercent = 400

func beginFilling() (end func()) { return changeGarbage(&garbage.filling, 0) }

// Spare lets about so many bytes of garbage lie beside what is held, until end is called: usually
// as much may lie as is held, which beside a long log is more than what is read there ever needs.
// It begins with a collection and gives the system what is free.
func Spare(most int) (end func()) {
	debug.FreeOSMemory()
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return changeGarbage(&garbage.sparing, max(1, 100*most/int(m.HeapAlloc+1)))
}

// changeGarbage counts one more, with the percent that it may spare.
func changeGarbage(count *int, spared int) (end func()) {
	garbage.Lock()
	defer garbage.Unlock()
	if garbage.filling+garbage.sparing == 0 {
		garbage.usual = debug.SetGCPercent(-1)
	}
	*count++
	if spared > 0 {
		garbage.spared = spared
	}
	setGarbage()
	return sync.OnceFunc(func() {
		garbage.Lock()
		defer garbage.Unlock()
		*count--
		setGarbage()
	})
}

func setGarbage() {
	percent := garbage.usual
	if percent >= 0 && garbage.filling > 0 {
		percent = max(percent, fillingPercent)
	}
	if percent >= 0 && garbage.sparing > 0 {
		percent = min(percent, garbage.spared)
	}
	debug.SetGCPercent(percent)
}
