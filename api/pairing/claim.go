package pairing

import (
	"errors"
	"fmt"

	"evenwhite/logbook"
)

// An empty server knows no device. A phone that pairs with it says which id it had, so that
// its edits go on under it; but anybody who is invited could say so. It works at once under
// an id that is drawn, and an owner answers whether it is the one.

// A Claim is the id that a device says it had, and how it says it was called.
type Claim struct {
	Device logbook.ID `json:"device"`
	Label  string     `json:"label"`
}

// claimable refuses the id of a device that was ever admitted here: it has its key, or is
// out for good.
func (a *Auth) claimable(id logbook.ID) error {
	a.mu.RLock()
	_, known := a.devices[id]
	a.mu.RUnlock()
	if known || id == a.own || a.register.revoked(a.own, id) {
		return fmt.Errorf("%w: device %s was admitted here, and its id cannot be claimed", ErrPaired, id)
	}
	return nil
}

// AnswerClaim lets a device have the id that it claims, or not. It returns the id that the
// device has from now on; its token stays good.
func (a *Auth) AnswerClaim(id logbook.ID, agreed bool) (logbook.ID, error) {
	a.changing.Lock()
	defer a.changing.Unlock()
	d, err := a.Standing(id)
	if errors.Is(err, ErrUnknown) {
		return id, fmt.Errorf("%w: %s", ErrNoDevice, id)
	}
	if err != nil {
		return id, err
	}
	if d.Claims.Device.IsZero() {
		return id, fmt.Errorf("%w: %s", ErrNoClaim, id)
	}
	claimed := d.Claims
	if !agreed {
		d.Claims = Claim{}
		return id, a.store(d)
	}
	if err := a.claimable(claimed.Device); err != nil {
		return id, err
	}
	d.ID, d.Claims = claimed.Device, Claim{}
	if err := a.store(d); err != nil { // first the new: finishClaims ends what a crash leaves
		return id, err
	}
	a.sightings.move(id, d.ID)
	a.log.Info("a device has the id that it claimed", "was", id.String(), "device", d.ID.String(), "label", d.Label)
	return d.ID, a.drop(id)
}

// drop forgets a device whose id is another now.
func (a *Auth) drop(id logbook.ID) error {
	if err := a.keep.Keep(keptDevice+id.String(), nil); err != nil {
		return err
	}
	a.mu.Lock()
	delete(a.devices, id)
	delete(a.asKept, id)
	a.mu.Unlock()
	return nil
}

// finishClaims ends a claim that was agreed to while the process was killed.
func (a *Auth) finishClaims() error {
	for id, d := range a.devices {
		if is, ok := a.devices[d.Claims.Device]; ok && d.key != "" && is.key == d.key {
			if err := a.drop(id); err != nil {
				return err
			}
		}
	}
	return nil
}

// revoked reports whether the register knows a device of a server as out for good.
func (r *Register) revoked(server, device logbook.ID) bool {
	if r == nil {
		return false
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	for _, n := range r.notes {
		if n.Server == server && n.Device == device && n.What == NoteRevoked {
			return true
		}
	}
	return false
}
