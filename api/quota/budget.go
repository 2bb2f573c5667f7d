package quota

import (
	"errors"
	"sync"
)

// ErrBusy is wrapped where a budget is spent: the same may be asked again soon.
var ErrBusy = errors.New("too much is asked of this server at once: ask again in some seconds")

// A Budget is how much all together may hold, and how much each of them. All its methods
// may be called at once.
type Budget struct {
	most, each int64

	mu    sync.Mutex
	total int64
	held  map[string]int64
}

// NewBudget makes a budget of which nothing is held.
func NewBudget(most, each int64) *Budget {
	return &Budget{most: most, each: each, held: map[string]int64{}}
}

// Take takes n for a name, or nothing.
func (b *Budget) Take(name string, n int64) bool {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.total+n > b.most || b.held[name]+n > b.each {
		return false
	}
	b.total += n
	b.held[name] += n
	return true
}

// Give gives back what was taken.
func (b *Budget) Give(name string, n int64) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.total -= n
	if b.held[name] -= n; b.held[name] <= 0 {
		delete(b.held, name)
	}
}
