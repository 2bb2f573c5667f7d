package pairing

import (
	"crypto/ed25519"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"fmt"
	"log/slog"
	"sync"
	"time"

	"github.com/google/uuid"

	"evenwhite/api/pairing/audit"
	"evenwhite/api/pairing/proof"
	"evenwhite/logbook"
)

// Keeper is the part of a logbook.Store that keeps the server's own values.
type Keeper interface {
	Keep(name string, value []byte) error
	Kept(name string) ([]byte, error)
	KeptUnder(prefix string) ([]logbook.KeptValue, error)
}

// The names under which the store keeps what belongs to admission.
const (
	keptOwn    = "server/device"
	keptDevice = "device/"
	keptSeen   = "seen/"
	// keptOldKey is where the key that signs tokens lay once, and so in every backup.
	keptOldKey = "key/jwt"
)

// Config is what admission is made of.
type Config struct {
	Keep Keeper
	// Key signs tokens. It lies outside the store, so that no backup holds it; nil where
	// no token is made or checked.
	Key ed25519.PrivateKey
	// Register is kept beside the data; nil: none is.
	Register *Register
	Now      func() time.Time
	Log      *slog.Logger
}

// Auth admits devices: it invites and pairs them, gives them tokens, and knows at
// each request which of them still stand. All its methods may be called at once.
type Auth struct {
	keep     Keeper
	register *Register
	now      func() time.Time
	log      *slog.Logger

	own logbook.ID

	changing sync.Mutex // one change of a device at a time
	mu       sync.RWMutex
	key      ed25519.PrivateKey
	devices  map[logbook.ID]Device
	asKept   map[logbook.ID][]byte // where other processes change them as well
	byKey    map[string]logbook.ID // by thumbprint
	byScript map[string]logbook.ID // by the hash of the token
	changed  logbook.Signal        // a device was admitted or revoked

	nonces    *proof.Nonces
	verified  verified
	pairing   pairingDesk
	audit     *audit.List
	sightings sightings
	shared    *shared // nil where one process has the store
}

// OpenAuth reads the devices from a store. At the first start it draws the server's
// own id. A key that still lies in the store is void, and not moved: whoever has a
// backup has it too.
func OpenAuth(c Config) (*Auth, error) {
	a := &Auth{keep: c.Keep, register: c.Register, now: c.Now, log: c.Log, key: c.Key,
		devices: map[logbook.ID]Device{}, asKept: map[logbook.ID][]byte{}, byKey: map[string]logbook.ID{}, byScript: map[string]logbook.ID{}}
	a.nonces = proof.NewNonces(drawSecret, nil)
	if sharing := logbook.SharingOf(c.Keep); sharing != nil {
		a.shared = &shared{Sharing: sharing, auth: a}
		a.nonces = proof.NewNonces(drawSecret, a.shared)
	}
	id, err := keptOrDrawn(a.keep, keptOwn, func() []byte { id := drawID(); return id[:] }, len(logbook.ID{}))
	if err != nil {
		return nil, err
	}
	copy(a.own[:], id)
	if err := a.dropOldKey(); err != nil {
		return nil, err
	}
	values, err := a.keep.KeptUnder(keptDevice)
	if err != nil {
		return nil, err
	}
	for _, v := range values {
		d, err := readDevice(v.Value)
		if err != nil {
			return nil, fmt.Errorf("the kept value %s: %w", v.Name, err)
		}
		a.devices[d.ID], a.asKept[d.ID] = d, v.Value
	}
	if a.audit, err = audit.Open(a.keep, a.log); err != nil {
		return nil, err
	}
	if err := a.finishClaims(); err != nil {
		return nil, err
	}
	for _, d := range a.devices {
		a.index(d)
	}
	if err := a.readSightings(); err != nil {
		return nil, err
	}
	if err := a.follow(); err != nil || a.shared == nil {
		return a, err
	}
	return a, a.shared.follow()
}

// index makes a device findable by its key. The caller holds the lock, or is alone.
func (a *Auth) index(d Device) {
	switch {
	case d.key != "":
		a.byKey[d.key] = d.ID
	case d.Script():
		a.byScript[string(d.secretHash)] = d.ID
	}
}

func keptOrDrawn(keep Keeper, name string, draw func() []byte, size int) ([]byte, error) {
	value, err := keep.Kept(name)
	if err != nil {
		return nil, err
	}
	if value == nil {
		value = draw()
		if done, err := swap(keep, name, nil, value); err != nil || done {
			return value, err
		}
		return keptOrDrawn(keep, name, draw, size)
	}
	if len(value) != size {
		return nil, fmt.Errorf("the kept value %s has %d bytes; allowed: %d", name, len(value), size)
	}
	return value, nil
}

func (a *Auth) dropOldKey() error {
	old, err := a.keep.Kept(keptOldKey)
	if err != nil || old == nil {
		return err
	}
	a.log.Warn("the key that signed tokens lay in the data and in its backups: it is void; " +
		"paired devices get new tokens with their secrets")
	if err := a.keep.Keep(keptOldKey, nil); err != nil { // it counts for nothing, wherever it lies
		a.log.Warn("it could not be removed: the next start tries again", "error", err)
	}
	return nil
}

// Rekey has tokens signed by another key from now on; those that the old one signed
// are void.
func (a *Auth) Rekey(key ed25519.PrivateKey) {
	a.mu.Lock()
	a.key = key
	a.mu.Unlock()
	a.changed.Wake()
	a.log.Info("tokens are signed by a new key: those of before are void")
}

func (a *Auth) signing() ed25519.PrivateKey {
	a.mu.RLock()
	defer a.mu.RUnlock()
	return a.key
}

// Own is the server's own device: the one that changes made by REST are written
// under.
func (a *Auth) Own() logbook.ID { return a.own }

// Audit is the list of what was done.
func (a *Auth) Audit() *audit.List { return a.audit }

// Changed returns a channel that is closed when, after the call, a device is admitted or
// revoked, or tokens become void.
func (a *Auth) Changed() <-chan struct{} { return a.changed.Next() }

func (a *Auth) ownDevice() Device {
	return Device{ID: a.own, Label: "this server", Grants: Grants{Everywhere: Owner}, Own: true}
}

// Chance. crypto/rand never fails: it ends the program where the system has none.

func drawBytes(n int) []byte {
	b := make([]byte, n)
	_, _ = rand.Read(b)
	return b
}

// drawSecret returns 256 bits: too many to guess, so that a plain hash of them
// may be kept.
func drawSecret() string { return base64.RawURLEncoding.EncodeToString(drawBytes(32)) }

func hashSecret(secret string) []byte {
	h := sha256.Sum256([]byte(secret))
	return h[:]
}

// DrawKey draws a key that signs tokens.
func DrawKey() ed25519.PrivateKey { return ed25519.NewKeyFromSeed(drawBytes(ed25519.SeedSize)) }

func drawID() logbook.ID { return logbook.ID(uuid.Must(uuid.NewV7())) }
