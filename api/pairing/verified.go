package pairing

import (
	"crypto/sha256"
	"sync"
	"time"

	"evenwhite/logbook"
)

// mostVerified bounds how many tokens are remembered: many more than devices stand.
const mostVerified = 4096

// verified remembers tokens whose signature was checked: checking one takes as long
// as all else that a push needs. Whether a device still stands is asked at each
// request all the same.
type verified struct {
	mu     sync.Mutex
	tokens map[[sha256.Size]byte]verifiedToken
}

type verifiedToken struct {
	device  logbook.ID
	expires time.Time
}

// find returns the device of a token that was checked and has not run out.
func (v *verified) find(token string, now time.Time) (logbook.ID, bool) {
	name := sha256.Sum256([]byte(token))
	v.mu.Lock()
	defer v.mu.Unlock()
	known, ok := v.tokens[name]
	return known.device, ok && now.Before(known.expires)
}

// keep remembers a token. Where there are too many, all are checked again.
func (v *verified) keep(token string, device logbook.ID, expires time.Time) {
	name := sha256.Sum256([]byte(token))
	v.mu.Lock()
	defer v.mu.Unlock()
	if v.tokens == nil || len(v.tokens) >= mostVerified {
		v.tokens = map[[sha256.Size]byte]verifiedToken{}
	}
	v.tokens[name] = verifiedToken{device, expires}
}
