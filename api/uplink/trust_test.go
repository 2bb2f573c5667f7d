package uplink

import (
	"context"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"errors"
	"net/http"
	"net/http/httptest"
	"net/netip"
	"net/url"
	"strings"
	"testing"
	"time"

	"evenwhite/server/lan/authority"
)

// shown is a server with a certificate of an authority of its own, and its fingerprint.
func shown(t *testing.T, host string, now time.Time) (*httptest.Server, string) {
	t.Helper()
	a, err := authority.Draw(host, now)
	if err != nil {
		t.Fatal(err)
	}
	leaves, err := a.Leaves(func() time.Time { return now }, []netip.Addr{})
	if err != nil {
		t.Fatal(err)
	}
	s := httptest.NewUnstartedServer(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) { _, _ = w.Write([]byte(`{}`)) }))
	s.Listener = tls.NewListener(s.Listener, &tls.Config{GetCertificate: leaves.GetCertificate})
	s.Config.ErrorLog = nil
	s.Start()
	t.Cleanup(s.Close)
	return s, a.Fingerprint()
}

// TestACertificateCountsByItsRootAlone: whoever stands between shows another root, another name or
// an old leaf, and is told nothing.
func TestACertificateCountsByItsRootAlone(t *testing.T) {
	now := time.Now()
	s, fingerprint := shown(t, "set7.local", now)
	stranger, other := shown(t, "set7.local", now)
	old, oldFingerprint := shown(t, "set7.local", now.Add(-200*24*time.Hour))
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	ask := func(host, fingerprint string, to ...*httptest.Server) error {
		at := &url.URL{Scheme: "https", Host: host + ":8443"}
		c := newCaller(at, fingerprint, key, func(context.Context, string) (all []string, err error) {
			for _, s := range to {
				all = append(all, s.Listener.Addr().String())
			}
			return all, nil
		})
		var into struct{}
		return c.read(context.Background(), call{method: http.MethodGet, path: "/v1/server", anonymous: true}, &into)
	}
	if err := ask("set7.local", fingerprint, s); err != nil {
		t.Errorf("the right root: %v", err)
	}
	if err := ask("set7.local", fingerprint, stranger, old, s); err != nil {
		t.Errorf("the right root behind others of the name: %v", err)
	}
	for name, c := range map[string]struct {
		err  error
		want string
	}{
		"another root":              {ask("set7.local", other, s), ErrFingerprint.Error()},
		"others of the name alone":  {ask("set7.local", fingerprint, stranger, old), ErrFingerprint.Error()},
		"no fingerprint":            {ask("set7.local", "", s), "unknown authority"},
		"another name":              {ask("set8.local", fingerprint, s), "set8.local"},
		"a leaf that has run out":   {ask("set7.local", oldFingerprint, old), "expired"},
		"the fingerprint of a leaf": {ask("set7.local", leafOf(t, s), s), ErrFingerprint.Error()},
	} {
		if c.err == nil || !strings.Contains(c.err.Error(), c.want) {
			t.Errorf("%s: got %v, want an error about %q", name, c.err, c.want)
		}
	}
}

// leafOf is the fingerprint of the leaf that a server shows.
func leafOf(t *testing.T, s *httptest.Server) string {
	t.Helper()
	connection, err := tls.Dial("tcp", s.Listener.Addr().String(), &tls.Config{InsecureSkipVerify: true})
	if err != nil {
		t.Fatal(err)
	}
	defer connection.Close()
	return fingerprintOf(connection.ConnectionState().PeerCertificates[0])
}

func TestAFingerprintIsReadAsPeopleWriteIt(t *testing.T) {
	want := strings.Repeat("4d9d3a3c", 8)
	for _, text := range []string{want, strings.ToUpper(want), strings.Repeat("4D9D 3A3C ", 8), strings.Repeat("4d:9d:3a:3c:", 8)} {
		if got, err := Fingerprint(text); err != nil || got != want {
			t.Errorf("%q: got %q and %v", text, got, err)
		}
	}
	for _, text := range []string{"", want[1:], want + "00", strings.Repeat("xy", 32)} {
		if got, err := Fingerprint(text); err == nil {
			t.Errorf("%q: got %q, want an error", text, got)
		}
	}
}

// TestNothingFollowsToAnotherAddress: a proof is made for one.
func TestNothingFollowsToAnotherAddress(t *testing.T) {
	elsewhere := httptest.NewServer(http.HandlerFunc(func(http.ResponseWriter, *http.Request) { t.Error("it was asked elsewhere") }))
	defer elsewhere.Close()
	s := httptest.NewServer(http.RedirectHandler(elsewhere.URL, http.StatusTemporaryRedirect))
	defer s.Close()
	at, err := url.Parse(s.URL)
	if err != nil {
		t.Fatal(err)
	}
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	var into struct{}
	err = newCaller(at, "", key, nil).read(context.Background(), call{method: http.MethodGet, path: "/v1/server", anonymous: true}, &into)
	var refusal *Refusal
	if !errors.As(err, &refusal) || refusal.Status != http.StatusTemporaryRedirect {
		t.Errorf("got %v", err)
	}
}
