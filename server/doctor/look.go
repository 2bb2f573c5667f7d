package doctor

import (
	"context"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"net"
	"net/netip"
	"os"
	"path/filepath"
	"strconv"
	"time"

	"evenwhite/server/lan"
	"evenwhite/server/lan/authority"
	"evenwhite/server/lan/name"
)

// A Place is where a look looks, and what is known before.
type Place struct {
	Folder, Keys, Database string // the data folder; within it the keys, and the database
	Authority              string // the file of the server's certificates
	Server                 *Server
	Origin                 lan.Origin
	Past                   []Moment
	Backup                 time.Time // the newest; zero: none
}

// How long things may take. Names are asked for twice, a second apart.
const (
	nameTime = 1800 * time.Millisecond
	dialTime = 3 * time.Second
)

// leastFree is how little of a disk is too little: room for a day's work, and for ten
// backups of the data.
const leastFree = 500 << 20

// Look looks at the network and this machine. It takes about two seconds.
func Look(ctx context.Context, p Place, now time.Time) (Facts, error) {
	f := Facts{Now: now, Server: p.Server, Origin: p.Origin, Past: p.Past, Backup: p.Backup}
	var err error
	if f.Links, err = lan.Interfaces(); err != nil {
		return f, err
	}
	if f.Own, err = name.Own(); err != nil {
		return f, err
	}
	f.lookForName(ctx)
	f.lookAtPorts()
	f.lookAtCertificate(p.Authority)
	return f, f.lookAtFiles(p)
}

// named reports whether the server has a name on the network.
func (f *Facts) named() bool { return f.Origin.Name != "" }

func (f *Facts) lookForName(ctx context.Context) {
	switch {
	case !f.named():
	case f.Server != nil && !f.Server.Tells || !f.Origin.Local():
		ctx, cancel := context.WithTimeout(ctx, dialTime)
		defer cancel()
		list, err := net.DefaultResolver.LookupNetIP(ctx, "ip", f.Origin.Host())
		f.SeenErr = err
		for _, a := range list {
			f.Resolved = append(f.Resolved, a.Unmap())
		}
	default:
		ctx, cancel := context.WithTimeout(ctx, nameTime)
		defer cancel()
		var links []name.Link
		for _, l := range f.Links {
			links = append(links, name.Link(l))
		}
		seen, err := name.Look(ctx, f.Origin.Name, links)
		f.Seen, f.SeenErr = &seen, err
	}
}

// lookAtPorts calls a running server at each address of this machine; where none runs, it
// looks whether the ports are free.
func (f *Facts) lookAtPorts() {
	if !f.named() {
		return
	}
	if f.Server == nil {
		at := ":" + strconv.Itoa(f.Origin.Port)
		l, err := net.Listen("tcp", at)
		if err == nil {
			_ = l.Close()
		}
		f.Ports = append(f.Ports, Port{at, err})
		return
	}
	for _, a := range lan.Addresses(f.Links) {
		secure, plain := netip.AddrPortFrom(a, uint16(f.Origin.Port)).String(), netip.AddrPortFrom(a, uint16(f.Server.DeskPort)).String()
		_, err := shownAt(secure, &tls.Config{InsecureSkipVerify: true}) // looked at below
		f.Ports = append(f.Ports, Port{secure, err})
		c, err := net.DialTimeout("tcp", plain, dialTime)
		if err == nil {
			_ = c.Close()
		}
		f.Ports = append(f.Ports, Port{plain, err})
	}
}

// shownAt is the certificate that is shown at an address.
func shownAt(address string, config *tls.Config) (*x509.Certificate, error) {
	c, err := tls.DialWithDialer(&net.Dialer{Timeout: dialTime}, "tcp", address, config)
	if err != nil {
		return nil, err
	}
	defer c.Close()
	return c.ConnectionState().PeerCertificates[0], nil
}

// lookAtCertificate reads the authority, and what a running server shows.
func (f *Facts) lookAtCertificate(file string) {
	brought := f.Server != nil && f.Server.Brought
	if !brought {
		b, err := os.ReadFile(file)
		if err == nil {
			f.Authority, err = authority.Parse(b)
		}
		if !errors.Is(err, os.ErrNotExist) {
			f.AuthorityErr = err
		}
	}
	if f.Server == nil || !f.named() {
		return
	}
	config := &tls.Config{ServerName: f.Origin.Host()}
	if f.Authority != nil {
		config.RootCAs = x509.NewCertPool()
		config.RootCAs.AppendCertsFromPEM(f.Authority.RootPEM())
	}
	if brought { // who vouches for it, phones know; here it is only read
		config.InsecureSkipVerify = true
	}
	if f.Leaf, f.LeafErr = shownAt(net.JoinHostPort("127.0.0.1", strconv.Itoa(f.Origin.Port)), config); f.LeafErr == nil {
		f.LeafErr = f.Leaf.VerifyHostname(f.Origin.Host())
	}
}

func (f *Facts) lookAtFiles(p Place) error {
	database, err := os.Stat(p.Database)
	f.Need = leastFree
	switch {
	case errors.Is(err, os.ErrNotExist) && p.Server != nil: // a studio's data lie elsewhere
	case err != nil:
		return err
	default:
		f.Changed = database.ModTime()
		f.Past = append(f.Past, Moment{"the data were changed", f.Changed})
		f.Need = max(f.Need, 10*uint64(database.Size()))
	}
	if !f.Backup.IsZero() {
		f.Past = append(f.Past, Moment{"the newest backup was made", f.Backup})
	}
	if f.Free, err = freeOf(p.Folder); err != nil {
		return fmt.Errorf("the disk of %s: %w", p.Folder, err)
	}
	within, err := os.ReadDir(p.Keys)
	if err != nil && !errors.Is(err, os.ErrNotExist) {
		return err
	}
	check := []string{p.Folder, p.Keys}
	for _, e := range within {
		check = append(check, filepath.Join(p.Keys, e.Name()))
	}
	for _, path := range check {
		info, err := os.Stat(path)
		if err == nil && info.Mode().Perm()&0o077 != 0 {
			f.Open = append(f.Open, path)
		}
	}
	return nil
}
