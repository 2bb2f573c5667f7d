package uplink

import (
	"context"
	"crypto/ecdsa"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"evenwhite/logbook"
)

// A Link is what this server keeps of another that it is a device of.
type Link struct {
	Address     string       `json:"address"`               // its origin
	Fingerprint string       `json:"fingerprint,omitempty"` // of its root; "": an authority that this machine knows
	Server      string       `json:"server"`                // its identity
	Device      logbook.ID   `json:"device"`                // that this server is there
	Role        string       `json:"role"`                  // the greatest that the code gave
	Only        []logbook.ID `json:"only,omitempty"`        // productions that were chosen; none: all that the code lets in
	Since       time.Time    `json:"since"`
}

// Fetches reports whether the link only fetches: its role may bring nothing.
func (l *Link) Fetches() bool { return fetches(l.Role) }

func fetches(role string) bool { return role != "owner" && role != "editor" }

// takes reports whether a production is one of the link's.
func (l *Link) takes(id logbook.ID) bool { return len(l.Only) == 0 || slices.Contains(l.Only, id) }

// A Wish is what a link is made of.
type Wish struct {
	Address     string
	Fingerprint string // "": the certificate is of an authority that this machine knows
	Code        string
	Label       string // how this server is listed there; "": as the code says
	Only        []logbook.ID
	Plain       bool // http is meant: a test, or a tunnel that is trusted
}

// ErrWish is wrapped by errors about a wish.
var ErrWish = errors.New("the link cannot be made so")

// address reads the origin of a wish.
func (w *Wish) address() (*url.URL, error) {
	u, err := url.Parse(strings.TrimSuffix(w.Address, "/"))
	if err != nil || u.Host == "" || u.User != nil || u.RawQuery != "" || u.Fragment != "" {
		return nil, fmt.Errorf("%w: the address is %q; allowed is an origin such as https://studio.example:8443", ErrWish, w.Address)
	}
	if u.Scheme != "https" && !(w.Plain && u.Scheme == "http") {
		return nil, fmt.Errorf("%w: the address begins with %q; allowed is https, for a link is never made over what others can read",
			ErrWish, u.Scheme)
	}
	return u, nil
}

// join redeems a code.
func (u *Uplinks) join(ctx context.Context, w Wish, key *ecdsa.PrivateKey) (Link, error) {
	address, err := w.address()
	if err != nil {
		return Link{}, err
	}
	fingerprint := ""
	if w.Fingerprint != "" {
		if fingerprint, err = Fingerprint(w.Fingerprint); err != nil {
			return Link{}, fmt.Errorf("%w: %w", ErrWish, err)
		}
	}
	c := newCaller(address, fingerprint, key, u.Find)
	var there struct {
		Identity string `json:"identity"`
	}
	if err := c.read(ctx, call{method: http.MethodGet, path: "/v1/server", anonymous: true}, &there); err != nil {
		return Link{}, err
	}
	if there.Identity == u.Server {
		return Link{}, fmt.Errorf("%w: %s is this very server, or a copy of its data", ErrWish, address)
	}
	said := map[string]string{"code": w.Code}
	if w.Label != "" {
		said["label"] = w.Label
	}
	body, err := json.Marshal(said)
	if err != nil {
		return Link{}, err
	}
	var admitted struct {
		Device string `json:"device"`
		Role   string `json:"role"`
	}
	q := call{method: http.MethodPost, path: "/v1/pairing", anonymous: true, body: body,
		header: map[string]string{"Content-Type": "application/json"}}
	if err := c.read(ctx, q, &admitted); err != nil {
		return Link{}, err
	}
	l := Link{Address: address.String(), Fingerprint: fingerprint, Server: there.Identity, Role: admitted.Role, Only: w.Only,
		Since: u.Now().UTC()}
	l.Device, err = logbook.ParseID(admitted.Device)
	return l, err
}
