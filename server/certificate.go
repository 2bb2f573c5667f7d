package main

import (
	"crypto/tls"
	"crypto/x509"

	"evenwhite/server/command"
)

func loadPair(o serveOptions) (*tls.Certificate, error) {
	if o.cert == "" {
		return nil, nil
	}
	pair, err := tls.LoadX509KeyPair(o.cert, o.key)
	if err != nil {
		return nil, command.Fail(err, "--tls-cert takes the certificate chain in PEM, --tls-key its private key")
	}
	if pair.Leaf == nil {
		if pair.Leaf, err = x509.ParseCertificate(pair.Certificate[0]); err != nil {
			return nil, err
		}
	}
	return &pair, nil
}
