package logbook

import "sync"

// A Signal wakes everybody who waits for a change. It says that there is
// something new, never what: whoever waits takes the channel first, then looks,
// then waits. The zero Signal is ready.
type Signal struct {
	mu   sync.Mutex
	next chan struct{}
}

// Next returns a channel that is closed at the next change.
func (s *Signal) Next() <-chan struct{} {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.next == nil {
		s.next = make(chan struct{})
	}
	return s.next
}

// Wake wakes all who wait.
func (s *Signal) Wake() {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.next != nil {
		close(s.next)
		s.next = nil
	}
}
