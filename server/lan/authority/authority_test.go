package authority

import (
	"bytes"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"encoding/pem"
	"errors"
	"net"
	"net/netip"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"evenwhite/logbook/needed"
)

// noon is when the authorities of these tests are drawn.
var noon = time.Date(2031, time.March, 4, 12, 0, 0, 0, time.UTC)

func draw(t testing.TB, host string) *Authority {
	t.Helper()
	a, err := Draw(host, noon)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func addresses(list ...string) (out []netip.Addr) {
	for _, a := range list {
		out = append(out, netip.MustParseAddr(a))
	}
	return out
}

// leafOf issues a leaf as whoever stole the key could: for any name and address.
func (a *Authority) leafOf(t testing.TB, names []string, at ...string) *x509.Certificate {
	t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	c := &x509.Certificate{SerialNumber: drawSerial(), DNSNames: names, NotBefore: noon.Add(-time.Hour), NotAfter: noon.Add(time.Hour),
		KeyUsage: x509.KeyUsageDigitalSignature, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth}}
	for _, ip := range at {
		c.IPAddresses = append(c.IPAddresses, net.ParseIP(ip))
	}
	leaf, err := sign(c, a.issuing, &key.PublicKey, a.key)
	if err != nil {
		t.Fatal(err)
	}
	return leaf
}

// verifiers are two that know nothing of each other.
var verifiers = []struct {
	name   string
	verify func(t *testing.T, root, issuing, leaf *x509.Certificate, host string, at time.Time) error
}{
	{"Go", func(_ *testing.T, root, issuing, leaf *x509.Certificate, host string, at time.Time) error {
		roots, others := x509.NewCertPool(), x509.NewCertPool()
		roots.AddCert(root)
		others.AddCert(issuing)
		_, err := leaf.Verify(x509.VerifyOptions{Roots: roots, Intermediates: others, DNSName: host, CurrentTime: at})
		return err
	}},
	{"openssl", byOpenSSL},
}

func byOpenSSL(t *testing.T, root, issuing, leaf *x509.Certificate, host string, at time.Time) error {
	needed.Tool(t, "openssl")
	folder := t.TempDir()
	write := func(name string, c *x509.Certificate) string {
		path := filepath.Join(folder, name)
		if err := os.WriteFile(path, pem.EncodeToMemory(&pem.Block{Type: certificateType, Bytes: c.Raw}), 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	name := []string{"-verify_hostname", host}
	if net.ParseIP(host) != nil {
		name[0] = "-verify_ip"
	}
	words := append([]string{"verify", "-x509_strict", "-purpose", "sslserver", "-attime", strconv.FormatInt(at.Unix(), 10),
		"-CAfile", write("root.pem", root), "-untrusted", write("issuing.pem", issuing)}, name...)
	out, err := exec.Command("openssl", append(words, write("leaf.pem", leaf))...).CombinedOutput()
	if err != nil {
		return errors.New(string(out))
	}
	return nil
}

func TestWhatTheAuthorityIssuesHoldsForItsNameAlone(t *testing.T) {
	a, other := draw(t, "set7.local"), draw(t, "set7.local")
	l, err := a.Leaves(func() time.Time { return noon }, addresses("192.168.1.7", "fd00::7", "203.0.113.1", "fe80::1"))
	if err != nil {
		t.Fatal(err)
	}
	leaf := l.Current()
	for _, c := range []struct {
		name string
		root *x509.Certificate
		leaf *x509.Certificate
		host string
		at   time.Time
		want [2]string // what Go and openssl say; "" where it is accepted
	}{
		{"its name", a.root, leaf, "set7.local", noon, [2]string{}},
		{"its address", a.root, leaf, "192.168.1.7", noon, [2]string{}},
		{"its address of IPv6", a.root, leaf, "fd00::7", noon, [2]string{}},
		{"a phone whose clock is three days behind", a.root, leaf, "set7.local", noon.Add(-72 * time.Hour), [2]string{}},
		{"another name", a.root, leaf, "set8.local", noon, [2]string{"not set8.local", "error 62"}},
		{"another address", a.root, leaf, "192.168.1.8", noon, [2]string{"not 192.168.1.8", "error 64"}},
		{"a leaf for another name of the network", a.root, a.leafOf(t, []string{"set8.local"}), "set8.local", noon, [2]string{"not permitted", "error 47"}},
		{"a leaf for a name of the internet", a.root, a.leafOf(t, []string{"example.org"}), "example.org", noon, [2]string{"not permitted", "error 47"}},
		{"a leaf for a public address", a.root, a.leafOf(t, nil, "203.0.113.1"), "203.0.113.1", noon, [2]string{"not permitted", "error 47"}},
		{"a leaf for a public address of IPv6", a.root, a.leafOf(t, nil, "2001:db8::1"), "2001:db8::1", noon, [2]string{"not permitted", "error 47"}},
		{"a leaf for this machine's loopback", a.root, a.leafOf(t, nil, "127.0.0.1"), "127.0.0.1", noon, [2]string{"not permitted", "error 47"}},
		{"a root that is not trusted", other.root, leaf, "set7.local", noon, [2]string{"unknown authority", "error 20|error 7|error 30"}},
		{"after its end", a.root, leaf, "set7.local", leaf.NotAfter.Add(time.Second), [2]string{"expired", "error 10"}},
		{"before its beginning", a.root, leaf, "set7.local", leaf.NotBefore.Add(-time.Second), [2]string{"not yet valid", "error 9"}},
	} {
		for i, v := range verifiers {
			t.Run(v.name+" on "+c.name, func(t *testing.T) {
				err := v.verify(t, c.root, a.issuing, c.leaf, c.host, c.at)
				if c.want[i] == "" {
					if err != nil {
						t.Errorf("refused: %v", err)
					}
					return
				}
				if err == nil {
					t.Fatal("accepted")
				}
				for want := range strings.SplitSeq(c.want[i], "|") {
					if strings.Contains(err.Error(), want) {
						return
					}
				}
				t.Errorf("got %v, want %s", err, c.want[i])
			})
		}
	}
}

func TestAStolenKeyMakesNoFurtherAuthority(t *testing.T) {
	a := draw(t, "set7.local")
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	below, err := sign(template("set7.local", noon, ", below"), a.issuing, &key.PublicKey, a.key)
	if err != nil {
		t.Fatal(err)
	}
	thief := &Authority{host: a.host, root: a.root, issuing: below, key: key}
	leaf := thief.leafOf(t, []string{"set7.local"})
	roots, others := x509.NewCertPool(), x509.NewCertPool()
	roots.AddCert(a.root)
	others.AddCert(a.issuing)
	others.AddCert(below)
	if _, err := leaf.Verify(x509.VerifyOptions{Roots: roots, Intermediates: others, CurrentTime: noon}); err == nil {
		t.Error("an authority below the issuing one is accepted")
	}
}

func TestAnAuthorityIsReadAsItWasWritten(t *testing.T) {
	a := draw(t, "set7.local")
	b, err := a.PEM()
	if err != nil {
		t.Fatal(err)
	}
	read, err := Parse(b)
	if err != nil {
		t.Fatal(err)
	}
	again, err := read.PEM()
	if err != nil || !bytes.Equal(again, b) || read.Host() != "set7.local" || read.Fingerprint() != a.Fingerprint() {
		t.Errorf("got %q of %s (%v), want %q", again, read.Host(), err, b)
	}
	if block, _ := pem.Decode(a.RootPEM()); block == nil || !bytes.Equal(block.Bytes, a.Root()) {
		t.Error("the root in PEM is not the root in DER")
	}
	if got := Grouped("0a1b2c3d4e"); got != "0A1B 2C3D 4E" {
		t.Errorf("got %q", got)
	}
	if keys := bytes.Count(b, []byte(keyType)); keys != 2 { // begin and end of one
		t.Errorf("%d keys are written: the root's must not be", keys/2)
	}
}

func TestWhatIsNoAuthorityIsRefused(t *testing.T) {
	a, other := draw(t, "set7.local"), draw(t, "set7.local")
	for _, c := range []struct {
		name string
		of   Authority
		want string
	}{
		{"another's key", Authority{root: a.root, issuing: a.issuing, key: other.key}, "its key is not that of"},
		{"another's root", Authority{root: other.root, issuing: a.issuing, key: a.key}, "its root did not sign"},
	} {
		b, err := c.of.PEM()
		if err != nil {
			t.Fatal(err)
		}
		if _, err := Parse(b); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: got %v, want %s", c.name, err, c.want)
		}
	}
	whole, err := a.PEM()
	if err != nil {
		t.Fatal(err)
	}
	for n := range whole {
		if _, err := Parse(whole[:n]); err == nil && n < len(whole)-1 {
			t.Fatalf("the first %d of %d bytes are read as whole", n, len(whole))
		}
	}
}

func TestAClockThatCannotBeRightDrawsNoAuthority(t *testing.T) {
	if _, err := Draw("set7.local", time.Unix(0, 0)); !errors.Is(err, ErrClock) || !strings.Contains(err.Error(), "1970-01-01") {
		t.Errorf("got %v", err)
	}
}

func TestTroubleIsSaidInTime(t *testing.T) {
	a := draw(t, "set7.local")
	for _, c := range []struct {
		at   time.Time
		want string
	}{
		{time.Unix(0, 0), "says 1970-01-01"}, {noon, ""}, {noon.Add(660 * 24 * time.Hour), ""},
		{noon.Add(700 * 24 * time.Hour), "runs out on 2033-02-24"}, {noon.Add(RootLife), "ran out on 2033-02-24"},
	} {
		if got := a.Trouble(c.at); !strings.Contains(got, c.want) || (got == "") != (c.want == "") {
			t.Errorf("on %s: got %q, want %q", c.at, got, c.want)
		}
	}
}

// handshake connects by real TLS and returns what was shown.
func handshake(t *testing.T, l *Leaves, at time.Time) *x509.Certificate {
	t.Helper()
	here, there := net.Pipe()
	defer here.Close()
	go func() {
		_ = tls.Server(there, &tls.Config{GetCertificate: l.GetCertificate}).Handshake() // the client tells what is wrong
		_ = there.Close()
	}()
	roots := x509.NewCertPool()
	roots.AddCert(l.of.root)
	c := tls.Client(here, &tls.Config{RootCAs: roots, ServerName: l.of.host, Time: func() time.Time { return at }})
	if err := c.Handshake(); err != nil {
		t.Fatalf("on %s: %v", at, err)
	}
	return c.ConnectionState().PeerCertificates[0]
}

func TestALeafIsRenewedInTime(t *testing.T) {
	a, now := draw(t, "set7.local"), noon
	l, err := a.Leaves(func() time.Time { return now }, nil)
	if err != nil {
		t.Fatal(err)
	}
	first := handshake(t, l, now)
	if life := first.NotAfter.Sub(first.NotBefore); life != LeafLife {
		t.Errorf("it holds %s", life)
	}
	now = first.NotAfter.Add(-renewBefore)
	if shown := handshake(t, l, now); !shown.Equal(first) {
		t.Error("it was renewed too early")
	}
	now = now.Add(time.Second)
	if shown := handshake(t, l, now); shown.Equal(first) {
		t.Error("it was not renewed")
	}
	now = now.Add(10 * LeafLife / 9) // the machine slept meanwhile
	handshake(t, l, now)
	now = a.NotAfter().Add(-time.Hour)
	if last := handshake(t, l, now); !last.NotAfter.Equal(a.NotAfter()) {
		t.Errorf("the last leaf ends on %s, the root on %s", last.NotAfter, a.NotAfter())
	}
}

func TestALeafFollowsTheAddresses(t *testing.T) {
	a := draw(t, "set7.local")
	l, err := a.Leaves(func() time.Time { return noon }, addresses("192.168.1.7"))
	if err != nil {
		t.Fatal(err)
	}
	first := handshake(t, l, noon)
	if err := l.Reach(addresses("192.168.1.7")); err != nil || !l.Current().Equal(first) {
		t.Errorf("the same addresses made another leaf (%v)", err)
	}
	if err := l.Reach(addresses("10.0.0.9", "fd00::9")); err != nil {
		t.Fatal(err)
	}
	second := handshake(t, l, noon)
	if second.VerifyHostname("10.0.0.9") != nil || second.VerifyHostname("fd00::9") != nil || second.VerifyHostname("192.168.1.7") == nil {
		t.Errorf("it names %s", second.IPAddresses)
	}
	if err := l.Reach(nil); err != nil { // the cable was pulled
		t.Fatal(err)
	}
	if third := handshake(t, l, noon); len(third.IPAddresses) != 0 {
		t.Errorf("it names %s", third.IPAddresses)
	}
}

// A machine without a battery starts in 1970, and one whose clock was set back afterwards
// has a leaf of the future: phones, which know the time, go on.
func TestAWrongClockOfTheServerKeepsNoPhoneOut(t *testing.T) {
	a, now := draw(t, "set7.local"), time.Unix(0, 0)
	l, err := a.Leaves(func() time.Time { return now }, nil)
	if err != nil {
		t.Fatal(err)
	}
	first := handshake(t, l, noon)
	handshake(t, l, noon.Add(600*24*time.Hour))
	if !l.Current().Equal(first) {
		t.Error("the leaf is made anew at each connection")
	}
	now = noon.Add(300 * 24 * time.Hour)
	if l, err = a.Leaves(func() time.Time { return now }, nil); err != nil {
		t.Fatal(err)
	}
	now = noon
	handshake(t, l, noon)
}
