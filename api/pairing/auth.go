package pairing

import (
	"crypto/ed25519"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"fmt"
	"log/slog"
	"strings"
	"sync"
	"time"

	"github.com/google/uuid"

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
	keptKey    = "key/jwt"
	keptDevice = "device/"
)

// Auth admits devices: it invites and pairs them, gives them tokens, and knows at
// each request which of them still stand. All its methods may be called at once.
type Auth struct {
	keep Keeper
	now  func() time.Time
	log  *slog.Logger

	own logbook.ID
	key ed25519.PrivateKey

	changing sync.Mutex // one change of a device at a time
	mu       sync.RWMutex
	devices  map[logbook.ID]Device
	changed  logbook.Signal // a device was admitted or revoked

	verified verified
	pairing  pairingDesk
}

// OpenAuth reads the devices from a store. At the first start it draws the
// server's own id and the key that signs tokens.
func OpenAuth(keep Keeper, now func() time.Time, log *slog.Logger) (*Auth, error) {
	a := &Auth{keep: keep, now: now, log: log, devices: make(map[logbook.ID]Device)}
	id, err := keptOrDrawn(keep, keptOwn, func() []byte { id := drawID(); return id[:] }, len(logbook.ID{}))
	if err != nil {
		return nil, err
	}
	copy(a.own[:], id)
	seed, err := keptOrDrawn(keep, keptKey, func() []byte { return drawBytes(ed25519.SeedSize) }, ed25519.SeedSize)
	if err != nil {
		return nil, err
	}
	a.key = ed25519.NewKeyFromSeed(seed)
	values, err := keep.KeptUnder(keptDevice)
	if err != nil {
		return nil, err
	}
	for _, v := range values {
		d, err := readDevice(v.Value)
		if err != nil {
			return nil, fmt.Errorf("the kept value %s: %w", v.Name, err)
		}
		a.devices[d.ID] = d
	}
	return a, nil
}

func keptOrDrawn(keep Keeper, name string, draw func() []byte, size int) ([]byte, error) {
	value, err := keep.Kept(name)
	if err != nil {
		return nil, err
	}
	if value == nil {
		value = draw()
		return value, keep.Keep(name, value)
	}
	if len(value) != size {
		return nil, fmt.Errorf("the kept value %s has %d bytes; allowed: %d", name, len(value), size)
	}
	return value, nil
}

// Own is the server's own device: the one that changes made by REST are written
// under.
func (a *Auth) Own() logbook.ID { return a.own }

// Changed returns a channel that is closed when a device is admitted or revoked after
// the call.
func (a *Auth) Changed() <-chan struct{} { return a.changed.Next() }

func (a *Auth) ownDevice() Device {
	return Device{ID: a.own, Label: "this server", Grants: Grants{Everywhere: Owner}, Own: true}
}

// Authenticate finds the caller from the Authorization header of a request. A
// device that was revoked is refused from the next request on, whatever its
// token says.
func (a *Auth) Authenticate(authorization string) (Caller, error) {
	scheme, token, _ := strings.Cut(authorization, " ")
	if token == "" || !strings.EqualFold(scheme, "Bearer") {
		return Caller{}, ErrNoToken
	}
	id, err := a.subject(strings.TrimSpace(token))
	if err != nil {
		return Caller{}, err
	}
	d, err := a.Standing(id)
	if err != nil {
		return Caller{}, err
	}
	return Caller{Device: d.ID, Name: d.Label, Grants: d.Grants}, nil
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

func drawID() logbook.ID { return logbook.ID(uuid.Must(uuid.NewV7())) }
