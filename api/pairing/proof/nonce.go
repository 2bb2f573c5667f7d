package proof

import (
	"crypto/sha256"
	"sync"
	"time"
)

// How long a nonce is given out, and how many proofs are remembered with it. It is good
// for as long again, so that a phone which was asleep for a few minutes need not ask twice.
const (
	nonceTime  = 5 * time.Minute
	mostProofs = 1 << 16
)

// Nonces give out what makes a proof fresh. They are drawn anew by each process, so that
// no proof outlives what is remembered of it. All methods may be called at once.
type Nonces struct {
	draw   func() string // 128 bits of chance or more
	shared Shared        // nil: one process has them

	mu           sync.Mutex
	this, before round
}

// A round is one nonce, and the proofs that were shown with it.
type round struct {
	nonce string
	since time.Time
	shown map[[16]byte]struct{}
}

// Shared is how several processes have the same nonces and proofs. Neither call may wait.
type Shared interface {
	Drawn(nonce string)                 // it is given out from now on
	Spent(nonce string, proof [16]byte) // it was shown here
}

// NewNonces takes where nonces are drawn, and who tells other processes; nil: there are none.
func NewNonces(draw func() string, shared Shared) *Nonces { return &Nonces{draw: draw, shared: shared} }

// Hear learns the nonce that is given out by all processes; "": the time of the last is over.
func (n *Nonces) Hear(nonce string, now time.Time) {
	n.mu.Lock()
	defer n.mu.Unlock()
	switch {
	case nonce == "":
		n.next(n.draw(), now)
		n.shared.Drawn(n.this.nonce)
	case n.of(nonce) == nil:
		n.next(nonce, now)
	}
}

// HearSpent learns of a proof that another process was shown.
func (n *Nonces) HearSpent(nonce string, proof [16]byte) {
	n.mu.Lock()
	defer n.mu.Unlock()
	if r := n.of(nonce); r != nil {
		r.shown[proof] = struct{}{}
	}
}

func (n *Nonces) next(nonce string, now time.Time) {
	n.before, n.this = n.this, round{nonce, now, map[[16]byte]struct{}{}}
}

// Current is the nonce for the next proof.
func (n *Nonces) Current(now time.Time) string {
	n.mu.Lock()
	defer n.mu.Unlock()
	n.turn(now)
	return n.this.nonce
}

// turn begins another round when this one is old, or remembers as much as it may: proofs
// that are forgotten have a nonce that is no longer good. A clock that was set back ends
// the rounds of the future. The caller holds the lock.
func (n *Nonces) turn(now time.Time) {
	age := now.Sub(n.this.since)
	if n.shared != nil { // which tells when it is time, by one clock
		if n.this.nonce == "" || len(n.this.shown) >= mostProofs {
			n.next(n.draw(), now)
			n.shared.Drawn(n.this.nonce)
		}
		return
	}
	if n.this.nonce != "" && age >= 0 && age < nonceTime && len(n.this.shown) < mostProofs {
		return
	}
	n.before = n.this
	if age < 0 || age >= 2*nonceTime {
		n.before = round{}
	}
	n.this = round{n.draw(), now, map[[16]byte]struct{}{}}
}

// holds reports whether a nonce is good.
func (n *Nonces) holds(nonce string, now time.Time) bool {
	n.mu.Lock()
	defer n.mu.Unlock()
	n.turn(now)
	return n.of(nonce) != nil
}

func (n *Nonces) of(nonce string) *round {
	switch {
	case nonce == "":
		return nil
	case nonce == n.this.nonce:
		return &n.this
	case nonce == n.before.nonce:
		return &n.before
	}
	return nil
}

// spend remembers a proof by its key and jti; a proof counts once.
func (n *Nonces) spend(nonce, proof string, now time.Time) error {
	sum := sha256.Sum256([]byte(proof))
	name := [16]byte(sum[:])
	n.mu.Lock()
	defer n.mu.Unlock()
	n.turn(now)
	r := n.of(nonce)
	if r == nil || len(r.shown) >= mostProofs {
		return ErrNonce
	}
	if _, shown := r.shown[name]; shown {
		return wrong("it was shown before: make one for each request")
	}
	r.shown[name] = struct{}{}
	if n.shared != nil {
		n.shared.Spent(nonce, name)
	}
	return nil
}
