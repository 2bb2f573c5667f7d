package main

import (
	"bytes"
	"io"
	"math/rand/v2"
	"net"
	"sync"
	"testing"
	"time"
)

// A road is the way from one server to another: what stands in between when they are far apart.
type road struct {
	to       string
	listener net.Listener

	mu      sync.Mutex
	chance  *rand.Rand
	weather weather
	open    map[net.Conn]bool
	carried int // bytes, both ways
	lost    int // calls
	held    int // event streams that somebody keeps

	lanes [2]sync.Mutex // there and back: what is slow is slow for all connections together
}

// weather is how a road is.
type weather struct {
	closed  bool // nobody comes through
	bits    int  // a second, each way; 0: as many as there are
	lossy   int  // of a hundred calls so many are cut off
	buffers bool // who stands in between passes event streams on when they have ended
}

// openRoad opens a road to an address until the test ends.
func openRoad(t testing.TB, to string, chance *rand.Rand) *road {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	r := &road{to: to, listener: l, chance: chance, open: map[net.Conn]bool{}}
	var carrying sync.WaitGroup
	carrying.Go(func() {
		for {
			c, err := l.Accept()
			if err != nil {
				return
			}
			carrying.Go(func() { r.carry(c) })
		}
	})
	t.Cleanup(func() {
		_ = l.Close()
		r.turn(weather{closed: true})
		carrying.Wait()
	})
	return r
}

func (r *road) address() string { return r.listener.Addr().String() }

// turn changes the weather: all that is on its way is lost.
func (r *road) turn(w weather) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.weather = w
	for c := range r.open {
		_ = c.Close()
	}
	clear(r.open)
}

// enter notes connections, unless the weather has turned since.
func (r *road) enter(w weather, all ...net.Conn) bool {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.weather != w || w.closed {
		return false
	}
	for _, c := range all {
		r.open[c] = true
	}
	return true
}

// carry carries one connection there and back.
func (r *road) carry(from net.Conn) {
	defer from.Close()
	r.mu.Lock()
	w := r.weather
	r.mu.Unlock()
	if w.closed {
		return
	}
	to, err := net.Dial("tcp", r.to)
	if err != nil {
		return
	}
	defer to.Close()
	if !r.enter(w, from, to) {
		return
	}
	c := &carriage{road: r, weather: w}
	var back sync.WaitGroup
	back.Go(func() {
		c.pump(from, to, &r.lanes[1], c.answer)
		_ = from.Close()
	})
	c.pump(to, from, &r.lanes[0], c.call)
	_ = to.Close()
	back.Wait()
	r.mu.Lock()
	defer r.mu.Unlock()
	delete(r.open, from)
	delete(r.open, to)
}

// A carriage is what goes over one connection.
type carriage struct {
	road    *road
	weather weather

	mu       sync.Mutex
	answered bool // since the last call began
	left     int  // of a call that is to be cut off: bytes of its answer that still pass
	doomed   bool
	keeps    bool // an event stream, of which no more is passed on
}

// pump passes on what how lets through, at the speed of the weather.
func (c *carriage) pump(to io.Writer, from io.Reader, lane *sync.Mutex, how func([]byte) (int, bool)) {
	size := 32 << 10
	if c.weather.bits > 0 {
		size = 256
	}
	for buffer := make([]byte, size); ; {
		n, err := from.Read(buffer)
		if n > 0 {
			pass, on := how(buffer[:n])
			if c.weather.bits > 0 {
				lane.Lock()
				<-time.After(time.Second * time.Duration(8*pass) / time.Duration(c.weather.bits))
				lane.Unlock()
			}
			c.road.mu.Lock()
			c.road.carried += pass
			c.road.mu.Unlock()
			if _, failed := to.Write(buffer[:pass]); failed != nil || !on {
				return
			}
		}
		if err != nil {
			return
		}
	}
}

// call says how much of what is asked passes. What is said after an answer begins another call.
func (c *carriage) call(said []byte) (pass int, on bool) {
	c.mu.Lock()
	defer c.mu.Unlock()
	begins := c.answered
	c.answered = false
	c.road.mu.Lock()
	defer c.road.mu.Unlock()
	if !begins || c.road.chance.IntN(100) >= c.weather.lossy {
		return len(said), true
	}
	c.road.lost++
	if c.road.chance.IntN(2) == 0 { // before it is there
		return c.road.chance.IntN(len(said)), false
	}
	c.doomed, c.left = true, c.road.chance.IntN(2000)
	return len(said), true
}

// answer says how much of an answer passes.
func (c *carriage) answer(said []byte) (pass int, on bool) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.answered = true
	if c.weather.buffers && !c.keeps && bytes.Contains(said, []byte("text/event-stream")) {
		c.keeps = true
		c.road.mu.Lock()
		c.road.held++
		c.road.mu.Unlock()
	}
	switch {
	case c.keeps:
		return 0, true
	case c.doomed && c.left <= len(said):
		return c.left, false
	case c.doomed:
		c.left -= len(said)
	}
	return len(said), true
}
