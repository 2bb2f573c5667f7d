package pairing

import (
	"crypto/subtle"
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"time"

	"evenwhite/logbook"
)

// A Device is a phone or computer that was admitted. It stays listed after it was
// revoked: what it had sent keeps its author.
type Device struct {
	ID         logbook.ID
	Label      string
	Grants     Grants
	PairedAt   time.Time
	RevokedAt  time.Time // zero while the device stands
	Own        bool      // the server itself
	secretHash []byte    // of the secret by which it asks for new tokens
}

// deviceAtRest is how the store keeps a device.
type deviceAtRest struct {
	ID         string     `json:"id"`
	Label      string     `json:"label"`
	Grants     Grants     `json:"grants"`
	PairedAt   time.Time  `json:"pairedAt"`
	RevokedAt  *time.Time `json:"revokedAt,omitempty"`
	SecretHash []byte     `json:"secretHash"`
}

func (d Device) atRest() deviceAtRest {
	rest := deviceAtRest{d.ID.String(), d.Label, d.Grants, d.PairedAt, nil, d.secretHash}
	if !d.RevokedAt.IsZero() {
		rest.RevokedAt = &d.RevokedAt
	}
	return rest
}

func readDevice(b []byte) (Device, error) {
	var rest deviceAtRest
	if err := json.Unmarshal(b, &rest); err != nil {
		return Device{}, err
	}
	id, err := logbook.ParseID(rest.ID)
	if err != nil {
		return Device{}, err
	}
	d := Device{ID: id, Label: rest.Label, Grants: rest.Grants, PairedAt: rest.PairedAt, secretHash: rest.SecretHash}
	if rest.RevokedAt != nil {
		d.RevokedAt = *rest.RevokedAt
	}
	return d, nil
}

// Productions lists the ids of the productions in which the device has a role,
// sorted; Everywhere stands for all.
func (d Device) Productions() []string {
	return slices.Sorted(maps.Keys(d.Grants))
}

// Standing finds a device that has not been revoked. The server's own is none:
// nobody calls in its name.
func (a *Auth) Standing(id logbook.ID) (Device, error) {
	a.mu.RLock()
	d, ok := a.devices[id]
	a.mu.RUnlock()
	if !ok || !d.RevokedAt.IsZero() {
		return Device{}, ErrRevoked
	}
	return d, nil
}

// proven finds a standing device that knows its secret.
func (a *Auth) proven(id logbook.ID, secret string) (Device, error) {
	a.mu.RLock()
	d, ok := a.devices[id]
	a.mu.RUnlock()
	if !ok || subtle.ConstantTimeCompare(hashSecret(secret), d.secretHash) != 1 {
		return Device{}, ErrSecret
	}
	if !d.RevokedAt.IsZero() {
		return Device{}, ErrRevoked
	}
	return d, nil
}

// Devices lists all devices that were ever admitted, by the time of pairing, the
// server's own first.
func (a *Auth) Devices() []Device {
	a.mu.RLock()
	list := slices.Collect(maps.Values(a.devices))
	a.mu.RUnlock()
	slices.SortFunc(list, func(x, y Device) int {
		if c := x.PairedAt.Compare(y.PairedAt); c != 0 {
			return c
		}
		return slices.Compare(x.ID[:], y.ID[:])
	})
	return append([]Device{a.ownDevice()}, list...)
}

// Labels are the names of all devices that were ever admitted.
func (a *Auth) Labels() map[logbook.ID]string {
	labels := map[logbook.ID]string{}
	for _, d := range a.Devices() {
		labels[d.ID] = d.Label
	}
	return labels
}

// Paired reports whether any device stands that may invite others.
func (a *Auth) Paired() bool {
	a.mu.RLock()
	defer a.mu.RUnlock()
	for _, d := range a.devices {
		if d.RevokedAt.IsZero() && d.Grants[Everywhere] == Owner {
			return true
		}
	}
	return false
}

// Revoke ends a device's admission, for good. A second call changes nothing.
func (a *Auth) Revoke(id logbook.ID) error {
	if id == a.own {
		return ErrOwnDevice
	}
	a.changing.Lock()
	defer a.changing.Unlock()
	a.mu.RLock()
	d, ok := a.devices[id]
	a.mu.RUnlock()
	if !ok {
		return fmt.Errorf("%w: %s", ErrNoDevice, id)
	}
	if !d.RevokedAt.IsZero() {
		return nil
	}
	d.RevokedAt = a.now().UTC()
	if err := a.store(d); err != nil {
		return err
	}
	a.log.Info("a device was revoked", "device", id.String(), "label", d.Label)
	return nil
}

// store keeps a device durably before any request is judged by it. The caller
// holds a.changing.
func (a *Auth) store(d Device) error {
	b, err := json.Marshal(d.atRest())
	if err != nil {
		return err
	}
	if err := a.keep.Keep(keptDevice+d.ID.String(), b); err != nil {
		return err
	}
	a.mu.Lock()
	a.devices[d.ID] = d
	a.mu.Unlock()
	a.changed.Wake()
	return nil
}
