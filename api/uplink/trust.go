package uplink

import (
	"crypto/sha256"
	"crypto/tls"
	"crypto/x509"
	"encoding/hex"
	"errors"
	"fmt"
	"strings"
)

// ErrFingerprint says that the other server's certificate is not of the root that was named.
var ErrFingerprint = errors.New("the certificate that the other server shows is not of the root with the fingerprint that was given")

// Fingerprint reads the SHA-256 fingerprint of a root as people write it: 64 hexadecimal digits,
// with or without spaces and colons.
func Fingerprint(text string) (string, error) {
	digits := strings.ToLower(strings.NewReplacer(" ", "", ":", "").Replace(text))
	if b, err := hex.DecodeString(digits); err != nil || len(b) != sha256.Size {
		return "", fmt.Errorf("fingerprint is %q; allowed are 64 hexadecimal digits, as the other server shows them", text)
	}
	return digits, nil
}

// trusting verifies a server by the authorities that this machine knows or, where a fingerprint is
// given, by the root of that fingerprint alone, which the server shows with its certificate.
func trusting(host, fingerprint string) *tls.Config {
	config := &tls.Config{MinVersion: tls.VersionTLS12, ServerName: host}
	if fingerprint == "" {
		return config
	}
	config.InsecureSkipVerify = true // for VerifyConnection does it
	config.VerifyConnection = func(state tls.ConnectionState) error {
		return verify(state.PeerCertificates, host, fingerprint)
	}
	return config
}

func fingerprintOf(c *x509.Certificate) string {
	sum := sha256.Sum256(c.Raw)
	return hex.EncodeToString(sum[:])
}

// verify checks a chain up to the root of a fingerprint.
func verify(chain []*x509.Certificate, host, fingerprint string) error {
	o := x509.VerifyOptions{Roots: x509.NewCertPool(), Intermediates: x509.NewCertPool(), DNSName: host}
	found := false
	for _, c := range chain {
		if c.IsCA && fingerprintOf(c) == fingerprint {
			o.Roots.AddCert(c)
			found = true
		} else {
			o.Intermediates.AddCert(c)
		}
	}
	if !found || len(chain) == 0 {
		return ErrFingerprint
	}
	_, err := chain[0].Verify(o)
	return err
}
