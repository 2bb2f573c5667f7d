package pairing

import (
	"cmp"
	"crypto/subtle"
	"encoding/json"
	"errors"
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
	ExpiresAt  time.Time // zero for a device: only the token of a script ends by itself
	Own        bool      // the server itself
	Claims     Claim     // zero: none that waits for an answer
	Seen       Sighting  // as Devices tells it
	key        string    // thumbprint of the key by which it proves itself; "": it has none yet
	secretHash []byte    // of the secret by which it asks for new tokens, or of a script's token
}

// Keyed reports whether the device proves itself by a key, and not by a secret that works
// from any machine.
func (d Device) Keyed() bool { return d.key != "" }

// Script reports whether it is no device but the token of a script.
func (d Device) Script() bool { return !d.ExpiresAt.IsZero() }

// owner reports whether the device stands and may invite others to the server.
func (d Device) owner() bool {
	return d.RevokedAt.IsZero() && !d.Script() && d.Grants[Everywhere] == Owner
}

// deviceAtRest is how the store keeps a device.
type deviceAtRest struct {
	ID         string     `json:"id"`
	Label      string     `json:"label"`
	Grants     Grants     `json:"grants"`
	PairedAt   time.Time  `json:"pairedAt"`
	RevokedAt  *time.Time `json:"revokedAt,omitempty"`
	ExpiresAt  time.Time  `json:"expiresAt,omitzero"`
	Claims     Claim      `json:"claims,omitzero"`
	Key        string     `json:"key,omitempty"`
	SecretHash []byte     `json:"secretHash,omitempty"`
}

func (d Device) atRest() deviceAtRest {
	rest := deviceAtRest{d.ID.String(), d.Label, d.Grants, d.PairedAt, nil, d.ExpiresAt, d.Claims, d.key, d.secretHash}
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
	d := Device{ID: id, Label: rest.Label, Grants: rest.Grants, PairedAt: rest.PairedAt, ExpiresAt: rest.ExpiresAt,
		Claims: rest.Claims, key: rest.Key, secretHash: rest.SecretHash}
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

// proven finds a standing device that knows its secret.
func (a *Auth) proven(id logbook.ID, secret string) (Device, error) {
	a.mu.RLock()
	d, ok := a.devices[id]
	a.mu.RUnlock()
	if !ok || d.Script() || subtle.ConstantTimeCompare(hashSecret(secret), d.secretHash) != 1 {
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
	slices.SortFunc(list, byPairing)
	for i := range list {
		list[i].Seen = a.sightings.of(list[i].ID)
	}
	return append([]Device{a.ownDevice()}, list...)
}

func byPairing(x, y Device) int {
	return cmp.Or(x.PairedAt.Compare(y.PairedAt), slices.Compare(x.ID[:], y.ID[:]))
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
func (a *Auth) Paired() bool { return a.owners() > 0 }

// owners counts the devices that stand and own the server.
func (a *Auth) owners() (n int) {
	a.mu.RLock()
	defer a.mu.RUnlock()
	for _, d := range a.devices {
		if d.owner() {
			n++
		}
	}
	return n
}

// Revoke ends a device's admission, for good. A second call changes nothing. The last
// owner of the server stays unless that is meant.
func (a *Auth) Revoke(id logbook.ID, lastToo bool) error {
	return a.change(id, func(d *Device) error {
		if !lastToo && d.owner() && a.owners() == 1 {
			return fmt.Errorf("%w: without one, only who is at the machine can invite (evenwhite pair); "+
				"repeat it with lastOwner=true where that is meant", ErrLastOwner)
		}
		d.RevokedAt = a.now().UTC()
		return nil
	})
}

// Brought makes a device that brings new productions the owner of one that it brought.
func (a *Auth) Brought(id, production logbook.ID) error {
	return a.change(id, func(d *Device) error {
		if d.Grants[New] != "" {
			d.Grants = maps.Clone(d.Grants)
			d.Grants[production.String()] = Owner
		}
		return nil
	})
}

// RevokeWhere takes the roles of a device away in the productions of which the caller is
// owner; one that has no other is revoked.
func (a *Auth) RevokeWhere(id logbook.ID, caller Caller) error {
	return a.change(id, func(d *Device) error {
		left := Grants{}
		for production, role := range d.Grants {
			if !caller.Owns(production) {
				left[production] = role
			}
		}
		switch {
		case len(left) == len(d.Grants) && left[Everywhere] != "":
			return fmt.Errorf("%w: the device has its role on the whole server, whose owner can revoke it", ErrRole)
		case len(left) == len(d.Grants):
			return fmt.Errorf("%w: %s", ErrNoDevice, id) // what is not the caller's is not told
		case len(left) == 0:
			d.RevokedAt = a.now().UTC()
		default:
			d.Grants = left
		}
		return nil
	})
}

// change stores what how makes of a device that stands.
func (a *Auth) change(id logbook.ID, how func(*Device) error) error {
	if id == a.own {
		return ErrOwnDevice
	}
	a.changing.Lock()
	defer a.changing.Unlock()
	var d Device
	for {
		a.mu.RLock()
		is, ok := a.devices[id]
		a.mu.RUnlock()
		if !ok {
			return fmt.Errorf("%w: %s", ErrNoDevice, id)
		}
		if !is.RevokedAt.IsZero() {
			return nil
		}
		if err := how(&is); err != nil {
			return err
		}
		d = is
		err := a.store(d)
		if errors.Is(err, errOvertaken) {
			continue // by another process, of which this one knows now
		}
		if err != nil {
			return err
		}
		break
	}
	if d.RevokedAt.IsZero() {
		a.log.Info("a device was changed", "device", id.String(), "label", d.Label)
	} else {
		a.log.Info("a device was revoked", "device", id.String(), "label", d.Label)
	}
	return nil
}

// store keeps a device durably before any request is judged by it, and notes what
// became of it: a device that cannot be noted as revoked is revoked all the same. The
// caller holds a.changing.
func (a *Auth) store(d Device) error {
	if a.register != nil {
		a.mu.RLock()
		was := a.devices[d.ID]
		a.mu.RUnlock()
		if err := a.register.Add(changes(a.own, was, d, a.now())...); err != nil {
			a.log.Error("the register of devices cannot be written: the next start tries again", "error", err)
		}
	}
	return a.keepDevice(d)
}

func (a *Auth) keepDevice(d Device) error {
	b, err := json.Marshal(d.atRest())
	if err != nil {
		return err
	}
	name := keptDevice + d.ID.String()
	a.mu.RLock()
	old := a.asKept[d.ID]
	a.mu.RUnlock()
	done, err := swap(a.keep, name, old, b)
	if err != nil {
		return err
	}
	if !done {
		is, err := a.keep.Kept(name)
		if err != nil {
			return err
		}
		a.shared.hearDevice(logbook.KeptValue{Name: name, Value: is})
		return fmt.Errorf("%w: %s", errOvertaken, d.ID)
	}
	a.know(d, b)
	return nil
}

// know has requests judged by a device as it is kept.
func (a *Auth) know(d Device, asKept []byte) {
	a.mu.Lock()
	a.devices[d.ID] = d
	a.asKept[d.ID] = asKept
	a.index(d)
	a.mu.Unlock()
	a.changed.Wake()
}
