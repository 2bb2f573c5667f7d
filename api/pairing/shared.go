package pairing

import (
	"crypto/aes"
	"crypto/cipher"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"sync"
	"time"

	"evenwhite/logbook"
)

// Several processes admit devices by one store: what one does holds at all of them within a second.
// What lives for minutes alone ends by the store's clock, since theirs may lie apart.
const (
	briefNonce  = logbook.BriefUnder + "nonce"
	briefProofs = logbook.BriefUnder + "proofs/"
	briefInvite = logbook.BriefUnder + "invitation/"
	briefFailed = logbook.BriefUnder + "failed/"

	nonceTime  = 5 * time.Minute  // a nonce is good for as long again
	proofTime  = 15 * time.Minute // longer than its nonce
	tellProofs = 200 * time.Millisecond
)

// shared is what an Auth tells other processes, and hears of them.
type shared struct {
	logbook.Sharing
	auth *Auth

	mu      sync.Mutex
	spent   map[string][]byte // proofs that are not told yet, by nonce
	telling bool
	own     map[string]bool // failures that are counted already
}

// swap is a Keep that other processes do not overtake.
func swap(keep Keeper, name string, old, value []byte) (done bool, err error) {
	if s := logbook.SharingOf(keep); s != nil {
		return s.Swap(name, old, value)
	}
	return true, keep.Keep(name, value)
}

// follow begins to hear.
func (s *shared) follow() error {
	for _, one := range []struct {
		prefix string
		hear   func(logbook.KeptValue)
	}{{keptDevice, s.hearDevice}, {briefNonce, s.hearNonce}, {briefProofs, s.hearProofs}, {briefInvite, s.hearInvitation},
		{briefFailed, s.hearFailure}} {
		if err := s.Follow(one.prefix, one.hear); err != nil {
			return err
		}
	}
	s.auth.Nonce() // where there is none yet it is drawn
	return nil
}

// hearDevice learns a device as it is kept. Who is out is out, whatever is told late.
func (s *shared) hearDevice(v logbook.KeptValue) {
	a := s.auth
	if v.Value == nil {
		if id, err := logbook.ParseID(strings.TrimPrefix(v.Name, keptDevice)); err == nil {
			a.mu.Lock()
			delete(a.devices, id)
			delete(a.asKept, id)
			a.mu.Unlock()
		}
		return
	}
	d, err := readDevice(v.Value)
	if err != nil {
		a.log.Error("a device that another process keeps cannot be read", "name", v.Name, "error", err)
		return
	}
	a.mu.RLock()
	was, same := a.devices[d.ID], string(a.asKept[d.ID]) == string(v.Value)
	a.mu.RUnlock()
	if same || !was.RevokedAt.IsZero() && d.RevokedAt.IsZero() {
		return
	}
	if a.register != nil {
		if err := a.register.Add(changes(a.own, was, d, a.now())...); err != nil {
			a.log.Error("the register of devices cannot be written: the next start tries again", "error", err)
		}
	}
	a.know(d, v.Value)
}

// Drawn implements proof.Shared.
func (s *shared) Drawn(nonce string) {
	go func() {
		if err := s.KeepFor(briefNonce, []byte(nonce), nonceTime); err != nil {
			s.auth.log.Warn("other processes could not be told a nonce: devices ask them twice", "error", err)
		}
	}()
}

func (s *shared) hearNonce(v logbook.KeptValue) { s.auth.nonces.Hear(string(v.Value), s.auth.now()) }

// Spent implements proof.Shared: proofs are told together.
func (s *shared) Spent(nonce string, proof [16]byte) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.spent == nil {
		s.spent = map[string][]byte{}
	}
	s.spent[nonce] = append(s.spent[nonce], proof[:]...)
	if !s.telling {
		s.telling = true
		time.AfterFunc(tellProofs, s.tellSpent)
	}
}

func (s *shared) tellSpent() {
	s.mu.Lock()
	spent := s.spent
	s.spent, s.telling = nil, false
	s.mu.Unlock()
	for nonce, proofs := range spent {
		value := append([]byte(nonce+" "), proofs...)
		if err := s.KeepFor(briefProofs+hex.EncodeToString(drawBytes(8)), value, proofTime); err != nil {
			s.auth.log.Warn("other processes could not be told which proofs were used", "error", err)
		}
	}
}

func (s *shared) hearProofs(v logbook.KeptValue) {
	nonce, proofs, _ := strings.Cut(string(v.Value), " ")
	for ; len(proofs) >= 16; proofs = proofs[16:] {
		s.auth.nonces.HearSpent(nonce, [16]byte([]byte(proofs[:16])))
	}
}

// sealer seals invitations with what follows from the key that signs tokens, which is in no store.
func (s *shared) sealer() (cipher.AEAD, error) {
	h := hmac.New(sha256.New, s.auth.signing().Seed())
	h.Write([]byte("invitations"))
	block, err := aes.NewCipher(h.Sum(nil))
	if err != nil {
		return nil, err
	}
	return cipher.NewGCM(block)
}

// keepInvitation lets other processes know an invitation.
func (s *shared) keepInvitation(inv Invitation) (Invitation, error) {
	text, err := json.Marshal(inv)
	if err != nil {
		return inv, err
	}
	seal, err := s.sealer()
	if err != nil {
		return inv, err
	}
	nonce := drawBytes(seal.NonceSize())
	inv.asKept = logbook.KeptValue{Name: briefInvite + hex.EncodeToString(drawBytes(8)), Value: seal.Seal(nonce, nonce, text, nil)}
	return inv, s.KeepFor(inv.asKept.Name, inv.asKept.Value, InvitationLife)
}

// Mark is what names an invitation that several processes share; zero of any other.
func (i Invitation) Mark() (mark [8]byte) {
	_, _ = hex.Decode(mark[:], []byte(strings.TrimPrefix(i.asKept.Name, briefInvite)))
	return mark
}

// Marked is the invitation of a mark, unless it is over. It is read of the store, which another process may just have
// written.
func (a *Auth) Marked(mark [8]byte) (inv Invitation, ok bool, err error) {
	if a.shared == nil {
		return inv, false, nil
	}
	for _, inv := range a.Invitations() {
		if inv.Mark() == mark {
			return inv, true, nil
		}
	}
	name := briefInvite + hex.EncodeToString(mark[:])
	value, err := a.keep.Kept(name)
	if err != nil || value == nil {
		return inv, false, err
	}
	inv, err = a.shared.openInvitation(logbook.KeptValue{Name: name, Value: value})
	return inv, err == nil, err
}

// giveBack has an invitation be good again that could not be used.
func (s *shared) giveBack(inv Invitation) error {
	if left := inv.ExpiresAt.Sub(s.auth.now()); left > 0 {
		return s.KeepFor(inv.asKept.Name, inv.asKept.Value, left)
	}
	return nil
}

func (s *shared) openInvitation(v logbook.KeptValue) (inv Invitation, err error) {
	seal, err := s.sealer()
	if err != nil {
		return inv, err
	}
	if len(v.Value) < seal.NonceSize() {
		return inv, fmt.Errorf("it has %d bytes", len(v.Value))
	}
	text, err := seal.Open(nil, v.Value[:seal.NonceSize()], v.Value[seal.NonceSize():], nil)
	if err == nil {
		err = json.Unmarshal(text, &inv)
	}
	inv.asKept = v
	inv.ExpiresAt = s.auth.now().Add(InvitationLife).UTC() // at the latest: the store says when
	return inv, err
}

func (s *shared) hearInvitation(v logbook.KeptValue) {
	d := &s.auth.pairing
	d.mu.Lock()
	defer d.mu.Unlock()
	at := slices.IndexFunc(d.open, func(inv Invitation) bool { return inv.asKept.Name == v.Name })
	switch {
	case v.Value == nil && at >= 0:
		d.open = slices.Delete(d.open, at, at+1)
	case v.Value == nil || at >= 0:
	default:
		inv, err := s.openInvitation(v)
		if err != nil {
			s.auth.log.Warn("an invitation of another process cannot be read: do all have the same keys?", "error", err)
			return
		}
		d.open = append(d.open, inv)
	}
}

// dropInvitations ends invitations at all processes.
func (s *shared) dropInvitations(all []Invitation) {
	for _, inv := range all {
		go func() {
			if err := s.auth.keep.Keep(inv.asKept.Name, nil); err != nil {
				s.auth.log.Warn("an invitation that is withdrawn may still be good at other processes", "error", err)
			}
		}()
	}
}

// tellFailure has a wrong code count at all processes.
func (s *shared) tellFailure(address string) {
	name := briefFailed + hex.EncodeToString(drawBytes(8))
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.own == nil {
		s.own = map[string]bool{}
	}
	s.own[name] = true
	go func() { _ = s.KeepFor(name, []byte(address), failureTime) }()
}

func (s *shared) hearFailure(v logbook.KeptValue) {
	s.mu.Lock()
	own := s.own[v.Name]
	if v.Value == nil {
		delete(s.own, v.Name)
	} else if !own {
		if s.own == nil {
			s.own = map[string]bool{}
		}
		s.own[v.Name] = true // it is told again where a watch broke
	}
	s.mu.Unlock()
	if v.Value == nil || own {
		return
	}
	d := &s.auth.pairing
	d.mu.Lock()
	defer d.mu.Unlock()
	_ = s.auth.countFailure(s.auth.now(), string(v.Value))
}
