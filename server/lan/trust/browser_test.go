package trust

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"fmt"
	"math/big"
	"net"
	"net/http"
	"net/http/httptest"
	"net/netip"
	"strings"
	"testing"
	"time"

	"evenwhite/server/browsertest"
)

const localName = "set7.local"

// A served site answers on this machine, plainly and under its name.
type servedSite struct {
	Site
	plain *httptest.Server
}

// serveSite serves a site whose certificate a root of its own vouches for.
func serveSite(t *testing.T) servedSite {
	t.Helper()
	rootKey, leafKey := drawKey(t), drawKey(t)
	root := &x509.Certificate{SerialNumber: big.NewInt(1), NotAfter: time.Now().Add(time.Hour), IsCA: true, BasicConstraintsValid: true,
		KeyUsage: x509.KeyUsageCertSign}
	leaf := &x509.Certificate{SerialNumber: big.NewInt(2), NotBefore: time.Now().Add(-time.Hour), NotAfter: time.Now().Add(time.Hour),
		DNSNames: []string{localName}, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth}}
	root.Subject.CommonName, leaf.Subject.CommonName = "a root", localName
	rootDER := sign(t, root, root, rootKey, rootKey)
	leafDER := sign(t, leaf, root, leafKey, rootKey)

	var s servedSite
	s.Site = Site{Name: localName, Root: rootDER, Until: root.NotAfter, Fingerprint: strings.TrimSpace(strings.Repeat("0A1B ", 16)),
		Own: func() []netip.Addr { return []netip.Addr{netip.MustParseAddr("127.0.0.1")} }}
	secure := httptest.NewUnstartedServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		s.Health(http.HandlerFunc(healthy)).ServeHTTP(w, r)
	}))
	secure.TLS = &tls.Config{Certificates: []tls.Certificate{{Certificate: [][]byte{leafDER}, PrivateKey: leafKey}}}
	secure.StartTLS()
	t.Cleanup(secure.Close)
	s.plain = httptest.NewUnstartedServer(nil)
	s.Port, s.Origin = portOf(s.plain), fmt.Sprintf("https://%s:%d", localName, portOf(secure))
	s.plain.Config.Handler = s.Handler()
	s.plain.Start()
	t.Cleanup(s.plain.Close)
	return s
}

func portOf(s *httptest.Server) int { return s.Listener.Addr().(*net.TCPAddr).Port }

func drawKey(t *testing.T) *ecdsa.PrivateKey {
	t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	return key
}

func sign(t *testing.T, c, parent *x509.Certificate, of, by *ecdsa.PrivateKey) []byte {
	t.Helper()
	der, err := x509.CreateCertificate(rand.Reader, c, parent, &of.PublicKey, by)
	if err != nil {
		t.Fatal(err)
	}
	return der
}

func TestAPhoneFindsOutWhetherItIsReady(t *testing.T) {
	const found = "MAP " + localName + " 127.0.0.1"
	s, other := serveSite(t), serveSite(t)
	stranger := httptest.NewServer(http.NotFoundHandler()) // another program, at a port of its own
	t.Cleanup(stranger.Close)
	for _, c := range []struct {
		named, hosts      string
		trusts            []byte
		name, certificate string
		ready             bool
	}{
		{"ready", found, s.Root, "yes: Found", "yes: Trusted", true},
		{"not-trusted", found, nil, "yes: Found", "no: Not yet", false},
		{"another-root", found, other.Root, "yes: Found", "no: Not yet", false},
		{"no-name", "MAP " + localName + " ^NOTFOUND", s.Root, "no: set7.local was not found", "open: Cannot be told", false},
		{"another-machine", fmt.Sprintf("MAP %s 127.0.0.1:%d", localName, portOf(stranger)), s.Root, "no: set7.local leads to another machine",
			"open: Cannot be told", false},
	} {
		t.Run(c.named, func(t *testing.T) {
			var got struct {
				Name, Certificate, Go, At string
				Wide, Small               []string
			}
			browsertest.Browser{Trusts: c.trusts, Hosts: c.hosts}.Run(t, "../../../testdata/browser/trust.mjs",
				map[string]any{"page": s.plain.URL + "/", "named": c.named, "follow": c.ready}, &got)
			if !strings.HasPrefix(got.Name, c.name) || !strings.HasPrefix(got.Certificate, c.certificate) {
				t.Errorf("it says %q and %q, want %q and %q", got.Name, got.Certificate, c.name, c.certificate)
			}
			if lit := strings.Contains(got.Go, "act"); lit != c.ready || c.ready && got.At != s.Origin+"/" {
				t.Errorf("the way on is lit: %v, and leads to %q; want %v, %s/", lit, got.At, c.ready, s.Origin)
			}
			if len(got.Wide) > 0 || len(got.Small) > 0 {
				t.Errorf("wider than the phone: %v; too small to press: %v", got.Wide, got.Small)
			}
		})
	}
}
