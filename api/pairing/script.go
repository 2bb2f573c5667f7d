package pairing

import (
	"fmt"
	"time"

	"evenwhite/logbook"
)

// A script cannot sign proofs, or hardly: it has a token that works from any machine, and
// so one that ends by itself, is kept as a hash, and is told once. In the list of devices
// it stands among them, and is revoked as one of them.

// scriptPrefix tells such a token from others, for the server and for whoever finds one.
const scriptPrefix = "script."

// The bounds of how long a script's token is good.
const (
	ShortestScript = time.Hour
	LongestScript  = 366 * 24 * time.Hour
)

// A Script is a token for a program.
type Script struct {
	Device    logbook.ID // by which it is listed and revoked
	Token     string     // for Authorization: Bearer; told once
	ExpiresAt time.Time
}

// MakeScript makes a token for a script. Whether the maker may is the caller's to check.
func (a *Auth) MakeScript(role Role, label string, production logbook.ID, life time.Duration) (Script, error) {
	if !Owner.Includes(role) {
		return Script{}, refused("role", string(role), roleNames)
	}
	if life < ShortestScript || life > LongestScript {
		return Script{}, refused("hours", life.String(), fmt.Sprintf("%d to %d hours", ShortestScript/time.Hour, LongestScript/time.Hour))
	}
	label, err := checkLabel(label)
	if err != nil {
		return Script{}, err
	}
	now := a.now().UTC()
	s := Script{drawID(), scriptPrefix + drawSecret(), now.Add(life).Truncate(time.Second)}
	a.changing.Lock()
	defer a.changing.Unlock()
	d := Device{ID: s.Device, Label: label, Grants: Grants{grantFor(production): role}, PairedAt: now, ExpiresAt: s.ExpiresAt,
		secretHash: hashSecret(s.Token)}
	if err := a.store(d); err != nil {
		return Script{}, err
	}
	a.log.Info("a token for a script was made", "device", d.ID.String(), "label", label, "role", string(role), "until", s.ExpiresAt)
	return s, nil
}

// saidByScript finds whose token of a script it is.
func (a *Auth) saidByScript(b bearing) (said, error) {
	a.mu.RLock()
	id, ok := a.byScript[string(hashSecret(b.text))]
	a.mu.RUnlock()
	if !ok || b.bound {
		return said{}, ErrBadToken
	}
	return said{device: id}, nil
}

// grantFor is the key of a grant: a production, or everywhere.
func grantFor(production logbook.ID) string {
	if production.IsZero() {
		return Everywhere
	}
	return production.String()
}
