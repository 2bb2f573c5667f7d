package link

import (
	"cmp"
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"sync"
	"time"

	"github.com/google/uuid"

	"evenwhite/logbook"
)

// Keeper is the part of a logbook.Store that keeps the server's own values.
type Keeper interface {
	Keep(name string, value []byte) error
	KeptUnder(prefix string) ([]logbook.KeptValue, error)
}

// kept is how the names of links begin in the store.
const kept = "link/"

// most is how many links of one production are kept.
const most = 200

var (
	// ErrNone says that a production has no such link.
	ErrNone = errors.New("there is no such link")
	// ErrOver refuses a secret that belongs to no link, or to one that is over.
	ErrOver = errors.New("this link lets nobody in")
	// ErrMany says that a production has as many links as are kept.
	ErrMany = errors.New("there are too many links")
	// ErrBusy says that something else happens to a link just now.
	ErrBusy = errors.New("the link is in use")
)

// A Wish is what a link is to give.
type Wish struct {
	Production logbook.ID `json:"production"`
	Format     string     `json:"format"`         // csv or json
	Day        logbook.ID `json:"day,omitzero"`   // zero: all days
	SetUp      logbook.ID `json:"setUp,omitzero"` // zero: all set-ups
	Label      string     `json:"label"`          // whom it is for
	By         string     `json:"by"`             // who made it
	ExpiresAt  time.Time  `json:"expiresAt"`
}

// A Link is one that was made.
type Link struct {
	ID logbook.ID `json:"id"`
	Wish
	MadeAt     time.Time `json:"madeAt"`
	RevokedAt  time.Time `json:"revokedAt,omitzero"`
	Downloads  int       `json:"downloads"`
	LastAt     time.Time `json:"lastAt,omitzero"`
	SecretHash []byte    `json:"secretHash"`
	KeyHash    []byte    `json:"keyHash"` // of the key under which the secret was hashed
}

// Links are those of a server. All methods may be called at once.
type Links struct {
	keep Keeper
	now  func() time.Time
	key  []byte

	mu  sync.Mutex
	all map[logbook.ID]Link
}

// Open reads the links from a store. Secrets are hashed under a key that no backup holds:
// where a backup is gone back to, a link that was revoked since is not good again.
func Open(keep Keeper, key []byte, now func() time.Time) (*Links, error) {
	l := &Links{keep: keep, now: now, key: key, all: map[logbook.ID]Link{}}
	if shared := logbook.SharingOf(keep); shared != nil {
		return l, shared.Follow(kept, l.hear)
	}
	values, err := keep.KeptUnder(kept)
	if err != nil {
		return nil, err
	}
	for _, v := range values {
		var one Link
		if err := json.Unmarshal(v.Value, &one); err != nil {
			return nil, fmt.Errorf("the kept value %s: %w", v.Name, err)
		}
		l.all[one.ID] = one
	}
	return l, nil
}

// hear learns a link as another process keeps it. One that was revoked stays so.
func (l *Links) hear(v logbook.KeptValue) {
	var one Link
	l.mu.Lock()
	defer l.mu.Unlock()
	if id, err := logbook.ParseID(v.Name[len(kept):]); v.Value == nil && err == nil {
		delete(l.all, id)
	}
	if v.Value != nil && json.Unmarshal(v.Value, &one) == nil && (l.all[one.ID].RevokedAt.IsZero() || !one.RevokedAt.IsZero()) {
		l.all[one.ID] = one
	}
}

func (l *Links) hash(secret string) []byte {
	h := hmac.New(sha256.New, l.key)
	h.Write([]byte(secret))
	return h.Sum(nil)
}

// keyHash tells under which key a link was made.
func (l *Links) keyHash() []byte { return l.hash("which key this is")[:8] }

// Make makes a link; its secret of 128 bits is told here and never again.
func (l *Links) Make(w Wish) (one Link, secret string, err error) {
	drawn := make([]byte, 16)
	_, _ = rand.Read(drawn) // never fails: it ends the program where the system has no chance to give
	secret = base64.RawURLEncoding.EncodeToString(drawn)
	one = Link{ID: logbook.ID(uuid.Must(uuid.NewV7())), Wish: w, MadeAt: l.now().UTC(), SecretHash: l.hash(secret), KeyHash: l.keyHash()}
	l.mu.Lock()
	defer l.mu.Unlock()
	if err := l.makeRoom(w.Production); err != nil {
		return Link{}, "", err
	}
	return one, secret, l.store(one)
}

// makeRoom drops the oldest link that is over, where there are too many.
func (l *Links) makeRoom(production logbook.ID) error {
	of := l.of(production)
	if len(of) < most {
		return nil
	}
	for _, one := range slices.Backward(of) {
		if l.Over(one) != "" {
			delete(l.all, one.ID)
			return l.keep.Keep(kept+one.ID.String(), nil)
		}
	}
	return fmt.Errorf("%w: %d are good; revoke one first", ErrMany, len(of))
}

func (l *Links) store(one Link) error {
	b, err := json.Marshal(one)
	if err != nil {
		return err
	}
	name := kept + one.ID.String()
	if was, known := l.all[one.ID]; known && logbook.SharingOf(l.keep) != nil {
		old, err := json.Marshal(was)
		if err != nil {
			return err
		}
		done, err := logbook.SharingOf(l.keep).Swap(name, old, b)
		if err != nil {
			return err
		}
		if !done {
			return fmt.Errorf("%w: another process has just used or ended it; ask again", ErrBusy)
		}
	} else if err := l.keep.Keep(name, b); err != nil {
		return err
	}
	l.all[one.ID] = one
	return nil
}

// Of lists the links of a production, the newest first.
func (l *Links) Of(production logbook.ID) []Link {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.of(production)
}

func (l *Links) of(production logbook.ID) (list []Link) {
	for _, one := range l.all {
		if one.Production == production {
			list = append(list, one)
		}
	}
	slices.SortFunc(list, func(a, b Link) int { return cmp.Or(b.MadeAt.Compare(a.MadeAt), slices.Compare(b.ID[:], a.ID[:])) })
	return list
}

// Over says why a link lets nobody in: revoked, expired, or void where the server has another
// key now; "" while it is good.
func (l *Links) Over(one Link) string {
	switch {
	case !one.RevokedAt.IsZero():
		return "revoked"
	case !hmac.Equal(one.KeyHash, l.keyHash()):
		return "void"
	case !l.now().Before(one.ExpiresAt):
		return "expired"
	}
	return ""
}

// Revoke ends a link. A second call changes nothing.
func (l *Links) Revoke(production, id logbook.ID) error {
	l.mu.Lock()
	defer l.mu.Unlock()
	one, ok := l.all[id]
	if !ok || one.Production != production {
		return ErrNone
	}
	if !one.RevokedAt.IsZero() {
		return nil
	}
	one.RevokedAt = l.now().UTC()
	return l.store(one)
}

// Use finds what a secret gives, and counts it.
func (l *Links) Use(secret string) (Link, error) {
	hash := l.hash(secret)
	l.mu.Lock()
	defer l.mu.Unlock()
	for _, one := range l.all {
		if !hmac.Equal(one.SecretHash, hash) {
			continue
		}
		if why := l.Over(one); why != "" {
			return Link{}, fmt.Errorf("%w: it is %s; ask whoever sent it for another", ErrOver, why)
		}
		one.Downloads++
		one.LastAt = l.now().UTC()
		return one, l.store(one)
	}
	return Link{}, fmt.Errorf("%w: it is not whole, or older than the keys of this server; ask whoever sent it for another", ErrOver)
}
