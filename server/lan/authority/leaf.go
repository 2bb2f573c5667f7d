package authority

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"net"
	"net/netip"
	"slices"
	"sync"
	"time"

	"evenwhite/server/lan"
)

// renewBefore is how long before its end a leaf is replaced: a phone whose clock is weeks
// ahead still takes it.
const renewBefore = LeafLife / 3

// Leaves hands out the certificate that the server shows, and renews it.
type Leaves struct {
	of  *Authority
	now func() time.Time

	mu        sync.Mutex
	addresses []netip.Addr
	current   *tls.Certificate
}

// Leaves makes the first leaf, for the authority's name and these private addresses.
func (a *Authority) Leaves(now func() time.Time, addresses []netip.Addr) (*Leaves, error) {
	l := &Leaves{of: a, now: now, addresses: addresses}
	var err error
	l.current, err = a.leaf(now(), addresses)
	return l, err
}

// Reach has the leaf name other addresses from now on.
func (l *Leaves) Reach(addresses []netip.Addr) error {
	l.mu.Lock()
	defer l.mu.Unlock()
	if slices.Equal(l.addresses, addresses) {
		return nil
	}
	fresh, err := l.of.leaf(l.now(), addresses)
	if err == nil {
		l.addresses, l.current = addresses, fresh
	}
	return err
}

// GetCertificate is for tls.Config. It looks at the clock at each new connection, because a
// timer would sleep while the machine does.
func (l *Leaves) GetCertificate(*tls.ClientHelloInfo) (*tls.Certificate, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	now, leaf, issuing := l.now(), l.current.Leaf, l.of.issuing
	old := now.After(leaf.NotAfter.Add(-renewBefore)) && leaf.NotAfter.Before(issuing.NotAfter)
	ahead := now.Before(leaf.NotBefore) && leaf.NotBefore.After(issuing.NotBefore) // the clock was, and is set now
	if old || ahead {
		if fresh, err := l.of.leaf(now, l.addresses); err == nil {
			l.current = fresh // else the old one is shown for as long as it holds
		}
	}
	return l.current, nil
}

// Current is the certificate that is shown.
func (l *Leaves) Current() *x509.Certificate {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.current.Leaf
}

// leaf makes a certificate for the name and addresses. It never holds longer than the
// issuing one. Where the clock is behind that, nobody here knows what day it is: then it
// holds as long, so that phones, which do know, take it.
func (a *Authority) leaf(now time.Time, addresses []netip.Addr) (*tls.Certificate, error) {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return nil, err
	}
	c := template(a.host, now, "")
	c.IsCA, c.KeyUsage = false, x509.KeyUsageDigitalSignature
	c.Subject.CommonName, c.DNSNames = a.host, []string{a.host}
	c.PermittedDNSDomainsCritical, c.PermittedDNSDomains, c.PermittedIPRanges = false, nil, nil
	c.NotAfter = c.NotBefore.Add(LeafLife)
	if now.Before(a.issuing.NotBefore) {
		c.NotBefore, c.NotAfter = a.issuing.NotBefore, a.issuing.NotAfter
	}
	if c.NotAfter.After(a.issuing.NotAfter) {
		c.NotAfter = a.issuing.NotAfter
	}
	if c.NotBefore.Before(a.issuing.NotBefore) {
		c.NotBefore = a.issuing.NotBefore
	}
	for _, at := range addresses {
		if !lan.Private(at) {
			continue // it would make the whole leaf invalid
		}
		c.IPAddresses = append(c.IPAddresses, net.IP(at.AsSlice()))
	}
	leaf, err := sign(c, a.issuing, &key.PublicKey, a.key)
	if err != nil {
		return nil, err
	}
	// The root is shown too: a server that is linked with this one knows it by its fingerprint.
	return &tls.Certificate{Certificate: [][]byte{leaf.Raw, a.issuing.Raw, a.root.Raw}, PrivateKey: key, Leaf: leaf}, nil
}
