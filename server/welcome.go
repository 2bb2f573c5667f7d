package main

import (
	"crypto/tls"
	"fmt"
	"net"
	"net/url"

	"evenwhite/api/pairing"
	"evenwhite/logbook"
	"evenwhite/server/demo"
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
func (h *host) welcome(a address) error {
	fmt.Fprintf(h.t.Out, "evenwhite listens on %s and keeps its data in %s\n", a.url(), h.folder)
	h.keep.describe(h.t.Out)
	if a.pair == nil && !a.listen.IP.IsLoopback() {
		fmt.Fprintln(h.t.Err, "caution: without TLS anybody on this network can read along: give --tls-cert and --tls-key")
	}
	next := "To invite another device"
	if !h.auth.Paired() {
		inv, err := h.auth.Invite("this machine", pairing.Owner, "owner", logbook.ID{})
		if err != nil {
			return err
		}
		fmt.Fprint(h.t.Out, "\nNo owner has been paired yet. ")
		invited{inv.Code, string(inv.Role), inv.Label, inv.ExpiresAt, a.url(), ""}.print(h.t.Out)
		next = "\nWhen the code has run out"
	}
	if h.demo {
		fmt.Fprintf(h.t.Out, "\nWhat is off in the invented production, with the token that pairing gives:\n\n"+
			"    curl -s %s/v1/productions/%s/deviations -H \"Authorization: Bearer $TOKEN\"\n", a.url(), demo.Production)
	}
	_, err := fmt.Fprintf(h.t.Out, "%s: evenwhite pair --data %s\nTo stop: Ctrl-C\n", next, h.folder)
	return err
}
