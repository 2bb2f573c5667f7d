//go:build studio

package main

import (
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"evenwhite/logbook"
	"evenwhite/logbook/bolt"
	"evenwhite/logbook/etcd"
	"evenwhite/server/command"
)

// What the program of a studio has beside that of a set.

func init() { openRemote = openStudio }

const etcdScheme = "etcd://"

// A studioStore is served by a studio.
type studioStore struct{ *etcd.Store }

// Writable implements servedStore: whether etcd answers each write is asked anew.
func (s studioStore) Writable() error { return nil }

// Lost implements copier.
func (s studioStore) Lost() int { return 0 }

// Backup implements copier, in the form that every backup has.
func (s studioStore) Backup(path string) (err error) {
	place, err := os.MkdirTemp(filepath.Dir(path), ".evenwhite-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(place)
	file := filepath.Join(place, databaseName)
	to, err := bolt.Open(file)
	if err != nil {
		return err
	}
	_, err = logbook.Copy(s, to)
	if err = errors.Join(err, to.Close()); err != nil {
		return err
	}
	return bolt.Restore(file, path)
}

func openStudio(a storeAddress) (servedStore, error) {
	members, ok := strings.CutPrefix(a.url, etcdScheme)
	if !ok || members == "" {
		return nil, command.Fail(fmt.Errorf("%s is no store that this program knows", a.url),
			"such as etcd://10.0.0.1:2379,10.0.0.2:2379,10.0.0.3:2379")
	}
	access := etcd.Access{Members: strings.Split(members, ","), User: a.user}
	if a.ca != "" || a.cert != "" {
		var err error
		if access.TLS, err = a.tls(); err != nil {
			return nil, command.Fail(err, "--store-ca, --store-cert and --store-key name files in PEM, the last with a private key")
		}
	}
	if a.user != "" {
		b, err := os.ReadFile(a.passwordFile)
		if err != nil {
			return nil, command.Fail(err, "--store-password names a file with the password of --store-user")
		}
		if access.Password = strings.TrimRight(string(b), "\r\n"); access.Password == "" {
			return nil, command.Fail(fmt.Errorf("%s is empty", a.passwordFile), "it holds the password of --store-user, on one line")
		}
	}
	s, err := etcd.Open(access, a.prefix)
	var refused *etcd.Refused
	if errors.As(err, &refused) {
		under := strings.TrimSuffix(a.prefix, "/") + "/"
		return nil, command.Fail(err, "--store-ca names the authority of the members' certificates; --store-cert and --store-key a certificate "+
			"that they take, which has not run out; --store-user and --store-password a user of etcd who may read and write all under "+
			under+" (etcdctl role grant-permission ROLE readwrite "+under+" --prefix=true)")
	}
	if err != nil {
		return nil, command.Fail(err, "etcd must be reachable, with a leader, when this program starts: "+
			"etcdctl endpoint status says how it stands; --store-ca, --store-cert and --store-user say how it is entered")
	}
	return studioStore{s}, nil
}

func (a storeAddress) tls() (*tls.Config, error) {
	c := &tls.Config{MinVersion: tls.VersionTLS12}
	if a.ca != "" {
		text, err := os.ReadFile(a.ca)
		if err != nil {
			return nil, err
		}
		if c.RootCAs = x509.NewCertPool(); !c.RootCAs.AppendCertsFromPEM(text) {
			return nil, fmt.Errorf("%s holds no certificate in PEM", a.ca)
		}
	}
	if a.cert != "" {
		if _, err := tls.LoadX509KeyPair(a.cert, a.key); err != nil {
			return nil, err
		}
		// Read at each connection: one that was renewed counts without a new start.
		c.GetClientCertificate = func(*tls.CertificateRequestInfo) (*tls.Certificate, error) {
			pair, err := tls.LoadX509KeyPair(a.cert, a.key)
			return &pair, err
		}
	}
	return c, nil
}
