package main

import (
	"crypto/tls"
	"fmt"
	"io"
	"net"
	"net/netip"
	"net/url"
	"os"
	"time"

	"evenwhite/api/pairing"
	"evenwhite/logbook"
	"evenwhite/server/demo"
	"evenwhite/server/lan"
	"evenwhite/server/lan/authority"
	"evenwhite/server/qr"
)

// address is where the server listens, and how to call it from this machine.
type address struct {
	listen *net.TCPAddr
	pair   *tls.Certificate
}

func (a address) url() string {
	u := url.URL{Scheme: "http"}
	host := a.listen.IP.String()
	if a.listen.IP.IsUnspecified() {
		host = "127.0.0.1"
	}
	if a.pair != nil {
		u.Scheme = "https"
		if names := a.pair.Leaf.DNSNames; len(names) > 0 {
			host = names[0]
		}
	}
	u.Host = net.JoinHostPort(host, fmt.Sprint(a.listen.Port))
	return u.String()
}

// welcome says where the server listens and what to do next.
func (h *host) welcome() error {
	a := h.at
	data := h.folder
	if at := h.serveOptions.store.url; at != "" {
		data = at + ", and its keys in " + h.folder
	}
	fmt.Fprintf(h.t.Out, "evenwhite listens on %s and keeps its data in %s\n", a.url(), data)
	h.keep.describe(h.t.Out)
	if h.listen == "" {
		h.describeNetwork()
	} else if a.pair == nil && !a.listen.IP.IsLoopback() {
		fmt.Fprintln(h.t.Err, "caution: without TLS anybody on this network can read along: give --tls-cert and --tls-key, or no --listen")
	}
	next := "To invite another device"
	if !h.auth.Paired() {
		inv, err := h.auth.Invite("this machine", pairing.Owner, "owner", logbook.ID{})
		if err != nil {
			return err
		}
		fmt.Fprint(h.t.Out, "\nNo owner has been paired yet. ")
		invited{Code: inv.Code, Role: string(inv.Role), Label: inv.Label, ExpiresAt: inv.ExpiresAt}.print(h.t.Out, h.folder)
		next = "\nWhen the code has run out"
	}
	if h.demo {
		fmt.Fprintf(h.t.Out, "\nWhat is off in the invented production:\n\n    TOKEN=$(evenwhite token --data %s)\n"+
			"    curl -s %s/v1/productions/%s/deviations -H \"Authorization: Bearer $TOKEN\"\n", h.folder, a.url(), demo.Production)
	}
	_, err := fmt.Fprintf(h.t.Out, "%s: evenwhite pair --data %s\nTo stop: Ctrl-C\n", next, h.folder)
	return err
}

// describeNetwork says how this machine and the phones reach the server.
func (h *host) describeNetwork() {
	fmt.Fprintf(h.t.Out, "\nOpen on this machine:  %s\n", h.deskURL())
	addresses := lan.Addresses(h.reach)
	if len(addresses) > 0 && !h.auth.Paired() {
		_ = qr.Write(h.t.Out, h.trustPage(addresses[0]), isTerminal(h.t.Out)) // the address stands below as well
	}
	for i, at := range addresses {
		label := "Scan with a phone:"
		if i > 0 {
			label = "or, by another way:"
		}
		fmt.Fprintf(h.t.Out, "%-22s %s\n", label, h.trustPage(at))
	}
	if len(addresses) == 0 {
		fmt.Fprintln(h.t.Err, "caution: this machine has no private address on a network, such as 192.168.1.7 (one of IPv6 that "+
			"begins with fe80 will not do): no phone can reach it. Join a network or plug one in; nothing need be started again")
	}
	fmt.Fprintf(h.t.Out, "Phones then know it as %s\n", h.origin)
	if h.authority != nil {
		fmt.Fprintf(h.t.Out, "Its root certificate:  %s\n", authority.Grouped(h.authority.Fingerprint()))
		if trouble := h.authority.Trouble(time.Now()); trouble != "" {
			fmt.Fprintln(h.t.Err, "caution: "+trouble)
		}
	}
}

// trustPage is where a phone begins that does not trust this server yet.
func (h *host) trustPage(at netip.Addr) string {
	return "http://" + netip.AddrPortFrom(at, uint16(h.at.listen.Port)).String()
}

// isTerminal reports whether a person sees what is written, and not a file or a program.
func isTerminal(w io.Writer) bool {
	f, ok := w.(*os.File)
	if !ok {
		return false
	}
	info, err := f.Stat()
	return err == nil && info.Mode()&os.ModeCharDevice != 0
}

// named is the origin under which phones know the server; "" where it has no name.
func (h *host) named() string {
	if h.listen != "" {
		return ""
	}
	return h.origin.String()
}
