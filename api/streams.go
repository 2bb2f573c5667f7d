package api

import (
	"sync"

	"evenwhite/api/quota"
	"evenwhite/logbook"
)

// How many event streams may be open at once. A phone that lost its network leaves
// streams behind of which the server does not know yet, so that its newest counts.
const (
	streamsPerDevice  = 4
	streamsPerAddress = 256
)

// openStreams are the open event streams. All its methods may be called at once.
type openStreams struct {
	mu        sync.Mutex
	byDevice  map[logbook.ID][]*listening // oldest first
	byAddress map[string]int
}

// listening is one open stream; over is closed when it has to end.
type listening struct {
	device  logbook.ID
	address string
	over    chan struct{}
}

// enter opens a stream. The oldest of a device that has too many is ended; of an address
// that has, the new one is refused.
func (s *openStreams) enter(device logbook.ID, address string) (*listening, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.byDevice == nil {
		s.byDevice, s.byAddress = map[logbook.ID][]*listening{}, map[string]int{}
	}
	if s.byAddress[address] >= streamsPerAddress {
		return nil, quota.ErrBusy
	}
	l := &listening{device, address, make(chan struct{})}
	s.byAddress[address]++
	open := append(s.byDevice[device], l)
	if len(open) > streamsPerDevice {
		close(open[0].over)
		open = open[1:]
	}
	s.byDevice[device] = open
	return l, nil
}

func (s *openStreams) leave(l *listening) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.byAddress[l.address]--; s.byAddress[l.address] == 0 {
		delete(s.byAddress, l.address)
	}
	open := s.byDevice[l.device]
	for i, other := range open {
		if other == l {
			open = append(open[:i:i], open[i+1:]...)
		}
	}
	if s.byDevice[l.device] = open; len(open) == 0 {
		delete(s.byDevice, l.device)
	}
}
