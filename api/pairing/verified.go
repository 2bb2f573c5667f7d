package pairing

import (
	"crypto/sha256"
	"sync"
	"time"
)

// mostVerified bounds how many tokens are remembered: many more than devices stand.
const mostVerified = 4096

// verified remembers tokens whose signature was checked: checking one takes as long
// as all else that a push needs. Whether a device still stands is asked at each
// request all the same.
type verified struct {
	mu     sync.Mutex
	tokens map[[sha256.Size]byte]said
}

// find returns what a token says that was checked and has not run out.
func (v *verified) find(token string, now time.Time) (said, bool) {
	name := sha256.Sum256([]byte(token))
	v.mu.Lock()
	defer v.mu.Unlock()
	known, ok := v.tokens[name]
	return known, ok && now.Before(known.expires)
}

// keep remembers a token. Where there are too many, all are checked again.
func (v *verified) keep(token string, s said) {
	name := sha256.Sum256([]byte(token))
	v.mu.Lock()
	defer v.mu.Unlock()
	if v.tokens == nil || len(v.tokens) >= mostVerified {
		v.tokens = map[[sha256.Size]byte]said{}
	}
	v.tokens[name] = s
}
