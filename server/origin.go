package main

import (
	"crypto/tls"
	"errors"
	"fmt"
	"net"
	"strings"
	"time"

	"evenwhite/api/pairing"
	"evenwhite/logbook"
	"evenwhite/server/command"
	"evenwhite/server/lan"
)

// keptOrigin is the name under which the store keeps the origin. There, and not in a file
// beside it, because it goes into backups: a restored server must be found under the same one.
const keptOrigin = "lan/origin"

// Where nobody says otherwise.
const (
	usualName     = "evenwhite"
	usualPort     = 8443
	usualDeskPort = 8480
)

// readOrigin reads the origin that the data have; ok is false before their first start.
func readOrigin(store logbook.Store) (o lan.Origin, ok bool, err error) {
	b, err := store.Kept(keptOrigin)
	if err != nil || b == nil {
		return o, false, err
	}
	err = o.UnmarshalBinary(b)
	return o, err == nil, err
}

// checkNames refuses a command line whose name or ports cannot be.
func (o *serveOptions) checkNames() (err error) {
	if o.listen != "" && (o.name != "" || o.port >= 0 || o.rename || o.keysFile != "") {
		return command.Misuse("serve", "--listen serves at one address, without a name: --name, --port, --rename and --keys do not go with it")
	}
	if o.keysFile != "" && o.cert != "" {
		return command.Misuse("serve", "--keys brings its own certificates: --tls-cert does not go with it")
	}
	for _, p := range []struct {
		option string
		port   int
	}{{"--port", o.port}, {"--desk-port", o.deskPort}} {
		if p.port > 65535 {
			return command.Misuse("serve", "%s is %d; allowed are 0 to 65535", p.option, p.port)
		}
	}
	if o.name != "" {
		if o.name, err = lan.CheckName(o.name, o.cert != ""); err != nil {
			return command.Misuse("serve", "--name: %w", err)
		}
	}
	return nil
}

// wantedOrigin is what the command line, the data and a certificate from elsewhere come to.
func (o serveOptions) wantedOrigin(kept lan.Origin, isKept bool, pair *tls.Certificate) (lan.Origin, error) {
	wanted := kept
	if !isKept {
		wanted = lan.Origin{Name: usualName, Port: usualPort}
	}
	if pair != nil && (!isKept || o.rename) && o.name == "" && len(pair.Leaf.DNSNames) > 0 {
		name, err := lan.CheckName(strings.TrimPrefix(pair.Leaf.DNSNames[0], "*."), true)
		if err != nil {
			return wanted, command.Fail(fmt.Errorf("the certificate: %w", err), "say with --name which of its names is used")
		}
		wanted.Name = name
	}
	if o.name != "" {
		wanted.Name = o.name
	}
	if o.port > 0 || o.port == 0 && !isKept {
		wanted.Port = o.port
	}
	switch {
	case pair == nil && !wanted.Local():
		return wanted, command.Fail(fmt.Errorf("the data belong to %s, for which a certificate from elsewhere was used", wanted),
			"give it with --tls-cert and --tls-key, or another name with --name and --rename")
	case pair != nil && pair.Leaf.VerifyHostname(wanted.Host()) != nil:
		names := strings.Join(pair.Leaf.DNSNames, ", ")
		return wanted, command.Fail(fmt.Errorf("the certificate is for %s, and not for %s", names, wanted.Host()),
			"give one for that name, or say with --name which of its names is used")
	}
	return wanted, nil
}

// settleOrigin decides on the origin, and refuses another one than the data have, unless
// that is wished: browsers would not find what they hold.
func (h *host) settleOrigin() error {
	kept, isKept, err := readOrigin(h.store)
	if err != nil {
		return err
	}
	if h.origin, err = h.wantedOrigin(kept, isKept, h.pair); err != nil {
		return err
	}
	if h.isKept = isKept; !isKept || h.origin == kept {
		return nil
	}
	stranded := h.stranded(kept)
	if !h.rename {
		return command.Fail(fmt.Errorf("the data belong to %s, and the command line says %s.\n%s", kept, h.origin, stranded),
			"start without --name and --port; or let every device exchange first, and then give --rename as well")
	}
	_, err = fmt.Fprintf(h.t.Err, "The origin was %s and is now %s.\n%s\n", kept, h.origin, stranded)
	return err
}

// stranded says what another origin does to the devices that are paired.
func (h *host) stranded(from lan.Origin) string {
	var out strings.Builder
	fmt.Fprintf(&out, "A browser keeps what it has not sent yet under %s: under another name or port it does not find it.\n"+
		"Nothing of it is lost, it stays in the browser, and is sent once this server is %s again.\n", from, from)
	standing := 0
	for _, d := range h.auth.Devices() {
		if d.Own || d.Script() || !d.RevokedAt.IsZero() {
			continue
		}
		if standing++; standing == 1 {
			out.WriteString("Paired there, and to be paired anew:\n")
		}
		fmt.Fprintf(&out, "    %s (%s), paired on %s%s\n", d.Label, d.ID, d.PairedAt.Local().Format(time.DateOnly), unsentOf(d.Seen))
	}
	if standing == 0 {
		out.WriteString("No device is paired.")
	}
	return strings.TrimSuffix(out.String(), "\n")
}

// unsentOf says what a device said last of what it has not sent.
func unsentOf(seen pairing.Sighting) string {
	when := ""
	if !seen.At.IsZero() {
		when = ", when it was seen last, on " + seen.At.Local().Format("2006-01-02 15:04")
	}
	switch {
	case seen.Unsent == nil:
		return ": it never said how many edits it has not sent"
	case *seen.Unsent == 0:
		return ": it had sent everything" + when
	}
	return fmt.Sprintf(": EDITS NOT SENT: %d%s", *seen.Unsent, when)
}

// keepOrigin fixes the origin with the port that was got. A full disk is no reason not to
// serve what can be read.
func (h *host) keepOrigin(l net.Listener) error {
	h.origin.Port = l.Addr().(*net.TCPAddr).Port
	if kept, isKept, err := readOrigin(h.store); err != nil || isKept && kept == h.origin {
		return err
	}
	b, err := h.origin.MarshalBinary()
	if err != nil {
		return err
	}
	err = h.store.Keep(keptOrigin, b)
	if errors.Is(err, logbook.ErrFull) {
		h.log.Warn("the origin could not be kept, for the disk is full: the next start must be told the same name and port",
			"origin", h.origin.String())
		return nil
	}
	return err
}
