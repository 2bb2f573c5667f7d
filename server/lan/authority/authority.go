package authority

import (
	"bytes"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/hex"
	"encoding/pem"
	"errors"
	"fmt"
	"math/big"
	"net"
	"strings"
	"time"

	"evenwhite/server/lan"
)

// How long certificates hold. Some systems take none of a root that people installed for
// longer than 825 days.
const (
	RootLife = 2 * 365 * 24 * time.Hour
	LeafLife = 90 * 24 * time.Hour
	// backdated is how far each begins before it is made: phones whose clocks are days
	// behind take it all the same.
	backdated = 7 * 24 * time.Hour
)

// Earliest is before any clock that is right: this program is younger.
var Earliest = time.Date(2026, time.January, 1, 0, 0, 0, 0, time.UTC)

// ErrClock says that this machine's clock cannot be right.
var ErrClock = errors.New("the clock of this machine is wrong")

// An Authority issues certificates for one DNS name. It never changes.
type Authority struct {
	host          string
	root, issuing *x509.Certificate
	key           *ecdsa.PrivateKey // of the issuing certificate
}

// Draw makes a new authority for a DNS name. The root's key is forgotten before it
// returns. A clock that is before Earliest is refused with ErrClock.
func Draw(host string, now time.Time) (*Authority, error) {
	if now.Before(Earliest) {
		return nil, fmt.Errorf("%w: it says %s, and a certificate made now would have run out on every phone whose clock is right",
			ErrClock, now.UTC().Format(time.DateOnly))
	}
	rootKey, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return nil, err
	}
	a := &Authority{host: host}
	root := template(host, now, "")
	root.MaxPathLen = 1
	if a.root, err = sign(root, root, &rootKey.PublicKey, rootKey); err != nil {
		return nil, err
	}
	if a.key, err = ecdsa.GenerateKey(elliptic.P256(), rand.Reader); err != nil {
		return nil, err
	}
	issuing := template(host, now, ", issuing")
	issuing.MaxPathLenZero = true
	a.issuing, err = sign(issuing, a.root, &a.key.PublicKey, rootKey)
	return a, err
}

// template is what root and issuing certificate have in common. The time in the name tells
// two roots apart in a phone's list.
func template(host string, now time.Time, kind string) *x509.Certificate {
	c := &x509.Certificate{
		SerialNumber: drawSerial(),
		Subject: pkix.Name{
			Organization: []string{"evenwhite"},
			CommonName:   host + " of " + now.UTC().Format("2 January 2006 15:04") + kind,
		},
		NotBefore: now.Add(-backdated), NotAfter: now.Add(-backdated).Add(RootLife),
		IsCA: true, BasicConstraintsValid: true,
		KeyUsage:    x509.KeyUsageCertSign,
		ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth},

		PermittedDNSDomainsCritical: true,
		PermittedDNSDomains:         []string{host},
	}
	for _, p := range lan.Ranges {
		c.PermittedIPRanges = append(c.PermittedIPRanges,
			&net.IPNet{IP: p.Addr().AsSlice(), Mask: net.CIDRMask(p.Bits(), p.Addr().BitLen())})
	}
	return c
}

func drawSerial() *big.Int {
	b := make([]byte, 16)
	_, _ = rand.Read(b) // never fails: it ends the program where the system has no chance to give
	b[0] = b[0]&0x7f | 0x40
	return new(big.Int).SetBytes(b)
}

func sign(c, parent *x509.Certificate, public *ecdsa.PublicKey, by *ecdsa.PrivateKey) (*x509.Certificate, error) {
	der, err := x509.CreateCertificate(rand.Reader, c, parent, public, by)
	if err != nil {
		return nil, err
	}
	return x509.ParseCertificate(der)
}

// Host is the DNS name for which the authority holds.
func (a *Authority) Host() string { return a.host }

// NotAfter is when the root, and all that it signed, runs out.
func (a *Authority) NotAfter() time.Time { return a.root.NotAfter }

// Root is the root certificate in DER, as phones install it.
func (a *Authority) Root() []byte { return a.root.Raw }

// RootPEM is the root certificate in PEM.
func (a *Authority) RootPEM() []byte {
	return pem.EncodeToMemory(&pem.Block{Type: certificateType, Bytes: a.root.Raw})
}

// Fingerprint is the SHA-256 of the root certificate's DER, in hexadecimal.
func (a *Authority) Fingerprint() string {
	sum := sha256.Sum256(a.root.Raw)
	return hex.EncodeToString(sum[:])
}

// Grouped writes a fingerprint as people compare it: capitals in groups of four.
func Grouped(fingerprint string) string {
	var out []string
	for rest := strings.ToUpper(fingerprint); rest != ""; {
		n := min(4, len(rest))
		out, rest = append(out, rest[:n]), rest[n:]
	}
	return strings.Join(out, " ")
}

const (
	certificateType = "CERTIFICATE"
	keyType         = "PRIVATE KEY" // PKCS #8
)

// PEM is all that must be kept of the authority, in PEM: the issuing certificate's key,
// which is a secret, then that certificate, then the root.
func (a *Authority) PEM() ([]byte, error) {
	key, err := x509.MarshalPKCS8PrivateKey(a.key)
	if err != nil {
		return nil, err
	}
	var out bytes.Buffer
	for _, b := range []pem.Block{
		{Type: keyType, Bytes: key},
		{Type: certificateType, Bytes: a.issuing.Raw},
		{Type: certificateType, Bytes: a.root.Raw},
	} {
		if err := pem.Encode(&out, &b); err != nil {
			return nil, err
		}
	}
	return out.Bytes(), nil
}

// Parse reads what PEM gave.
func Parse(b []byte) (*Authority, error) {
	a := &Authority{}
	var certificates []*x509.Certificate
	for block, rest := pem.Decode(b); block != nil; block, rest = pem.Decode(rest) {
		switch block.Type {
		case keyType:
			key, err := x509.ParsePKCS8PrivateKey(block.Bytes)
			if err != nil {
				return nil, fmt.Errorf("its key cannot be read: %w", err)
			}
			a.key, _ = key.(*ecdsa.PrivateKey)
		case certificateType:
			c, err := x509.ParseCertificate(block.Bytes)
			if err != nil {
				return nil, fmt.Errorf("a certificate in it cannot be read: %w", err)
			}
			certificates = append(certificates, c)
		}
	}
	if a.key == nil || len(certificates) != 2 {
		return nil, fmt.Errorf("it holds %d certificates, and a P-256 key: %t; wanted are the key, the issuing certificate and the root",
			len(certificates), a.key != nil)
	}
	a.issuing, a.root = certificates[0], certificates[1]
	if err := a.issuing.CheckSignatureFrom(a.root); err != nil {
		return nil, fmt.Errorf("its root did not sign its issuing certificate: %w", err)
	}
	if !a.key.PublicKey.Equal(a.issuing.PublicKey) {
		return nil, errors.New("its key is not that of its issuing certificate")
	}
	if len(a.root.PermittedDNSDomains) != 1 {
		return nil, fmt.Errorf("its root holds for %d names; wanted is one", len(a.root.PermittedDNSDomains))
	}
	a.host = a.root.PermittedDNSDomains[0]
	return a, nil
}

// Trouble says in words what is the matter with the certificates at a moment of this
// machine's clock, and what to do; "" where nothing is.
func (a *Authority) Trouble(now time.Time) string {
	const soon = 60 * 24 * time.Hour
	day := func(t time.Time) string { return t.UTC().Format(time.DateOnly) }
	switch {
	case now.Before(a.root.NotBefore):
		return fmt.Sprintf("the clock of this machine says %s, but its certificates were made after %s: by this clock they are not yet valid. "+
			"Phones go by their own clocks and stay connected: set the clock of this machine. If it is right, it was wrong when they were made: "+
			"evenwhite keys --new-root makes others", day(now), day(a.root.NotBefore))
	case now.After(a.root.NotAfter):
		return fmt.Sprintf("the root certificate ran out on %s, and phones refuse this server: nothing is lost, they keep their edits. "+
			"If the clock is right, evenwhite keys --new-root makes another, which each phone installs once", day(a.root.NotAfter))
	case now.After(a.root.NotAfter.Add(-soon)):
		return fmt.Sprintf("the root certificate runs out on %s: before then, when phones are at hand, evenwhite keys --new-root makes another, "+
			"which each phone installs once", day(a.root.NotAfter))
	}
	return ""
}
