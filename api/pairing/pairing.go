package pairing

import (
	"crypto/subtle"
	"encoding/base64"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"
	"unicode"
	"unicode/utf8"

	"evenwhite/logbook"
)

// InvitationLife is how long a code is good for.
const InvitationLife = 5 * time.Minute

// codeLetters are easy to read out and to type, and spell no words (RFC 8628,
// section 6.1).
const (
	codeLetters = "BCDFGHJKLMNPQRSTVWXZ"
	codeLength  = 8
)

// Limits of what people type, and of what is kept for them.
const (
	labelLongest    = 64
	labelBytes      = 200 // the label is the author of edits: what an edit can hold
	mostInvitations = 100
)

// An Invitation lets one device in, once, by the code that is typed or by the secret that
// is scanned. It is kept in memory only, or sealed where several processes share it.
type Invitation struct {
	Code       string
	Secret     string // 128 bits in base64url
	Role       Role
	Label      string     // whom it is for
	Production logbook.ID `json:",omitzero"` // zero: the whole server, or with New none
	New        bool       // lets its device bring productions that are not here
	By         string
	ExpiresAt  time.Time

	asKept logbook.KeptValue // where it is shared
}

// Is reports whether a code, as somebody typed it, is that of the invitation.
func (i Invitation) Is(code string) bool { return i.Code == plainCode(code) }

// A Request is what a device says when it redeems an invitation.
type Request struct {
	Address string // where it calls from, for the limits
	Code    string // or the secret that was scanned
	Label   string // how the device is called; empty: as the invitation says
	Shown   Credentials
	Claims  Claim // the id that it had at a server that is lost
}

// pairingDesk holds the open invitations and counts the tries.
type pairingDesk struct {
	mu       sync.Mutex
	open     []Invitation
	tries    tries
	failures failures
	voided   Voided // the last time
}

// Voided says that all invitations were withdrawn, and who sent the wrong codes.
type Voided struct {
	At   time.Time
	From string // addresses with how many each sent
}

// Voided tells of the last time within the last hour; ok is false where there was none.
func (a *Auth) Voided() (v Voided, ok bool) {
	a.pairing.mu.Lock()
	defer a.pairing.mu.Unlock()
	v = a.pairing.voided
	return v, !v.At.IsZero() && a.now().Sub(v.At) < time.Hour
}

// Invite makes an invitation. Whether the inviter may is the caller's to check.
func (a *Auth) Invite(by string, role Role, label string, production logbook.ID) (Invitation, error) {
	if !Owner.Includes(role) {
		return Invitation{}, refused("role", string(role), roleNames)
	}
	return a.invite(Invitation{By: by, Role: role, Label: label, Production: production})
}

// InviteNew makes an invitation for an editor that brings new productions; of those that are here it
// lets in to the one that is named, or to none.
func (a *Auth) InviteNew(by string, role Role, label string, production logbook.ID) (Invitation, error) {
	if role != Editor {
		return Invitation{}, refused("role", string(role), "editor, of who brings new productions: an owner may, and others bring none")
	}
	return a.invite(Invitation{By: by, Role: role, Label: label, Production: production, New: true})
}

func (a *Auth) invite(inv Invitation) (Invitation, error) {
	label, err := checkLabel(inv.Label)
	if err != nil {
		return Invitation{}, err
	}
	now := a.now()
	d := &a.pairing
	d.mu.Lock()
	defer d.mu.Unlock()
	d.expire(now)
	if len(d.open) >= mostInvitations {
		return Invitation{}, &TooMany{After: d.open[0].ExpiresAt.Sub(now)}
	}
	inv.Code, inv.Secret, inv.Label = drawCode(), base64.RawURLEncoding.EncodeToString(drawBytes(16)), label
	inv.ExpiresAt = now.Add(InvitationLife).UTC()
	if a.shared != nil {
		if inv, err = a.shared.keepInvitation(inv); err != nil {
			return Invitation{}, err
		}
	}
	d.open = append(d.open, inv)
	a.log.Info("a device was invited", "role", string(inv.Role), "label", label, "by", inv.By)
	return inv, nil
}

// Invitations lists those that are still good, oldest first.
func (a *Auth) Invitations() []Invitation {
	d := &a.pairing
	d.mu.Lock()
	defer d.mu.Unlock()
	d.expire(a.now())
	return slices.Clone(d.open)
}

// Withdraw ends an invitation before it is used.
func (a *Auth) Withdraw(code string) error {
	d := &a.pairing
	d.mu.Lock()
	defer d.mu.Unlock()
	d.expire(a.now())
	at := d.find(code)
	if at < 0 {
		return ErrNoInvitation
	}
	if a.shared != nil {
		if err := a.keep.Keep(d.open[at].asKept.Name, nil); err != nil {
			return err
		}
	}
	d.open = slices.Delete(d.open, at, at+1)
	return nil
}

// Pair redeems an invitation: the device, which proves to hold a key, gets an id and a token.
// An invitation that cannot be used for want of something else stays good.
func (a *Auth) Pair(req Request) (Admission, error) {
	if len(req.Shown.Proofs) == 0 {
		return Admission{}, fmt.Errorf("%w: a device pairs with a key of its own; a script, which has none, is let in by evenwhite token",
			ErrNoProof)
	}
	shown, err := a.prove(req.Shown, "")
	if err != nil {
		return Admission{}, err
	}
	d := &a.pairing
	d.mu.Lock()
	defer d.mu.Unlock()
	now := a.now()
	if wait := d.tries.take(req.Address, now); wait > 0 {
		return Admission{}, &TooMany{After: wait}
	}
	d.expire(now)
	at := d.find(req.Code)
	if at < 0 {
		return Admission{}, a.failed(now, req.Address)
	}
	inv := d.open[at]
	if a.shared != nil {
		if mine, err := a.shared.Swap(inv.asKept.Name, inv.asKept.Value, nil); err != nil {
			return Admission{}, err
		} else if !mine { // another process let somebody in by it
			return Admission{}, a.failed(now, req.Address)
		}
	}
	device, err := a.admit(inv, req, shown.Thumbprint)
	if err != nil && a.shared != nil {
		err = errors.Join(err, a.shared.giveBack(inv))
	}
	if err != nil {
		return Admission{}, err
	}
	d.open = slices.Delete(d.open, at, at+1)
	out, err := a.admission(device)
	out.As = inv.Role
	a.log.Info("a device was paired", "device", device.ID.String(), "label", device.Label, "role", string(inv.Role), "address", req.Address)
	return out, err
}

// admit makes the device of an invitation, or adds the role to the one whose key it is.
func (a *Auth) admit(inv Invitation, req Request, key string) (d Device, err error) {
	a.changing.Lock()
	defer a.changing.Unlock()
	d, err = a.byItsKey(key)
	switch {
	case err == nil:
		d = d.with(inv)
	case errors.Is(err, ErrUnknown):
		d, err = a.newDevice(inv, req, key)
	}
	if err != nil {
		return Device{}, err
	}
	return d, a.store(d)
}

// with is the device with the roles of one more invitation.
func (d Device) with(inv Invitation) Device {
	grants := maps.Clone(d.Grants)
	for grant, role := range inv.grants() {
		if rank[role] > rank[grants[grant]] {
			grants[grant] = role
		}
	}
	d.Grants = grants
	return d
}

// grants are the roles that an invitation gives.
func (i Invitation) grants() Grants {
	if !i.New {
		return Grants{grantFor(i.Production): i.Role}
	}
	given := Grants{New: i.Role}
	if !i.Production.IsZero() {
		given[grantFor(i.Production)] = i.Role
	}
	return given
}

// newDevice is one that was not admitted before.
func (a *Auth) newDevice(inv Invitation, req Request, key string) (d Device, err error) {
	d = Device{ID: drawID(), Label: req.Label, PairedAt: a.now().UTC(), key: key, Grants: inv.grants()}
	if strings.TrimSpace(d.Label) == "" {
		d.Label = inv.Label
	}
	if d.Label, err = checkLabel(d.Label); err != nil {
		return Device{}, err
	}
	if req.Claims.Device.IsZero() {
		return d, nil
	}
	if err := a.claimable(req.Claims.Device); err != nil {
		return Device{}, err
	}
	if d.owner() { // who may answer a claim needs no other's answer
		d.ID = req.Claims.Device
		return d, nil
	}
	if !printable(req.Claims.Label) {
		return Device{}, refused("claims/label", strconv.Quote(shortened(req.Claims.Label)), printableWords)
	}
	d.Claims = req.Claims
	return d, nil
}

// failed counts a wrong code while one is open; too many of them end all invitations,
// because then somebody is guessing. The caller holds the desk.
func (a *Auth) failed(now time.Time, address string) error {
	d := &a.pairing
	if len(d.open) == 0 {
		return ErrCode
	}
	if a.shared != nil {
		a.shared.tellFailure(address)
	}
	return a.countFailure(now, address)
}

// countFailure counts a wrong code, wherever it was tried. The caller holds the desk.
func (a *Auth) countFailure(now time.Time, address string) error {
	d := &a.pairing
	if !d.failures.add(now, address) {
		return ErrCode
	}
	if a.shared != nil {
		a.shared.dropInvitations(d.open)
	}
	d.voided = Voided{now, d.failures.from()}
	d.open, d.failures = nil, nil
	a.log.Warn("ALL INVITATIONS WERE WITHDRAWN: somebody guesses codes", "wrong", failuresUntilVoid, "from", d.voided.From,
		"advice", "look who that is, then invite anew: evenwhite pair")
	return fmt.Errorf("%w; after %d wrong codes all invitations were withdrawn, ask for a new one", ErrCode, failuresUntilVoid)
}

func (d *pairingDesk) expire(now time.Time) {
	d.open = slices.DeleteFunc(d.open, func(inv Invitation) bool { return !now.Before(inv.ExpiresAt) })
}

// find compares with every open code and secret and does not stop early, so that its time
// gives nothing away.
func (d *pairingDesk) find(code string) int {
	typed, scanned := []byte(plainCode(code)), []byte(code)
	at := -1
	for i, inv := range d.open {
		if subtle.ConstantTimeCompare(typed, []byte(inv.Code))|subtle.ConstantTimeCompare(scanned, []byte(inv.Secret)) == 1 {
			at = i
		}
	}
	return at
}

// plainCode takes out what people put between letters.
func plainCode(code string) string {
	return strings.Map(func(r rune) rune {
		if r == '-' || unicode.IsSpace(r) {
			return -1
		}
		return unicode.ToUpper(r)
	}, code)
}

func drawCode() string {
	code := make([]byte, 0, codeLength)
	const fair = 256 - 256%len(codeLetters) // beyond it some letters would come more often
	for len(code) < codeLength {
		if b := int(drawBytes(1)[0]); b < fair {
			code = append(code, codeLetters[b%len(codeLetters)])
		}
	}
	return string(code)
}

func checkLabel(label string) (string, error) {
	label = strings.TrimSpace(label)
	bad := !utf8.ValidString(label) || strings.ContainsFunc(label, unicode.IsControl)
	if n := utf8.RuneCountInString(label); bad || n == 0 || n > labelLongest || len(label) > labelBytes {
		return "", refused("label", strconv.Quote(shortened(label)), "1 to "+strconv.Itoa(labelLongest)+
			" characters without control characters, at most "+strconv.Itoa(labelBytes)+" bytes of UTF-8")
	}
	return label, nil
}
