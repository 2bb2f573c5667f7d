package doctor

import (
	"errors"
	"fmt"
	"net/netip"
	"slices"
	"strings"

	"evenwhite/server/lan"
	"evenwhite/server/lan/name"
)

// Findings judges what was found, in the order in which a phone meets it.
func (f Facts) Findings() (list []Finding) {
	list = append(list, f.server()...)
	if f.named() {
		list = append(list, f.name())
		if f.Seen != nil {
			list = append(list, f.multicast())
		}
		list = append(list, f.port(), f.certificate())
	}
	list = append(list, f.clock(), f.disk(), f.folder(), f.backup())
	return append(list, f.links()...)
}

func (f Facts) server() []Finding {
	if f.Server == nil {
		return []Finding{{About: "server", Saw: "none runs on these data: what follows is what a phone would meet if one did"}}
	}
	list := []Finding{{About: "server", Saw: fmt.Sprintf("process %d serves %s", f.Server.Process, f.Server.Serves)}}
	for _, warning := range f.Server.Warnings {
		list = append(list, Finding{About: "server", Saw: "it warns", Do: warning})
	}
	return list
}

func (f Facts) links() (list []Finding) {
	if f.Server == nil {
		return nil
	}
	for _, l := range f.Server.Links {
		one := Finding{About: "link", Saw: l.Saw}
		if l.Ails != "" {
			one.Saw += ". It does not exchange: " + l.Ails
			one.Do = "nothing is lost, and it is tried again by itself. If it stays so: see to what it says, or evenwhite unlink"
		}
		list = append(list, one)
	}
	return list
}

// notFound is what a phone meets where a name leads nowhere.
const notFound = "its browser says that the server cannot be found. What it holds stays there, and is sent once it is found again"

// wrongOne is what it meets where a name leads elsewhere.
const wrongOne = "it may reach that one, which it does not trust, and sends nothing. What it holds stays there"

func (f Facts) name() Finding {
	host := f.Origin.Host()
	n := Finding{About: "name"}
	told := f.Resolved
	if f.Seen != nil {
		told = f.Seen.Told
	}
	var here, elsewhere []netip.Addr
	for _, a := range told {
		if slices.Contains(f.Own, a) {
			here = append(here, a)
		} else {
			elsewhere = append(elsewhere, a)
		}
	}
	switch {
	case len(elsewhere) > 0 && f.Seen == nil:
		n.Saw, n.Phone = fmt.Sprintf("%s leads to %s, which is not this machine", host, words(elsewhere)), wrongOne
		n.Do = "correct the name server, or give this machine that address"
	case len(elsewhere) > 0:
		n.Saw, n.Phone = fmt.Sprintf("another device, %s, calls itself %s", words(elsewhere), host), wrongOne
		n.Do = "switch that device off, or give it another name. Only before phones know this server by it: evenwhite serve --name OTHER --rename"
	case f.Server != nil && len(f.Server.NameWarnings) > 0:
		n.Saw, n.Phone = f.Server.NameWarnings[0], notFound
		n.Do = "as it says"
	case f.SeenErr != nil && f.Seen != nil:
		n.Saw, n.Phone = fmt.Sprintf("whether %s is told could not be heard: %v", host, f.SeenErr), notFound
		n.Do = "end the program that holds the port, or have it share"
	case len(here) > 0:
		n.Saw = fmt.Sprintf("%s is told as %s, and by nobody else", host, words(here))
	case f.Seen == nil:
		n.Saw, n.Phone = fmt.Sprintf("this machine's system does not find %s, and the server does not tell it", host), notFound
		n.Do = "enter the name where the network's names are kept; or start without --no-mdns"
	case f.Server == nil:
		n.Saw = fmt.Sprintf("nobody tells %s; the server will, when it runs", host)
	default:
		n.Saw, n.Phone = fmt.Sprintf("the server tells %s, and nothing of it was heard", host), notFound
		n.Do = "see multicast"
	}
	return n
}

func (f Facts) multicast() Finding {
	m := Finding{About: "multicast"}
	if len(f.Links) == 0 {
		m.Saw = "no network interface is up with a private address"
		m.Phone, m.Do = notFound, "plug a cable in, or join the network; nothing need be started again"
		return m
	}
	var through, not []string
	var off string
	for _, l := range f.Links {
		switch err := f.Seen.Sent[l.Name]; {
		case errors.Is(err, name.ErrNoMulticast):
			off = l.Name
			not = append(not, "multicast is switched off on "+l.Name)
		case err != nil:
			not = append(not, fmt.Sprintf("nothing can be sent on %s (%v)", l.Name, err))
		case !f.Seen.Heard[l.Name]:
			not = append(not, fmt.Sprintf("what is sent on %s does not come back to this machine", l.Name))
		default:
			through = append(through, l.Name)
		}
	}
	if len(not) > 0 {
		m.Saw, m.Phone = strings.Join(not, "; "), notFound
		m.Do = "let UDP port 5353 to 224.0.0.251 and ff02::fb through, in the firewall of this machine, both ways"
		if off != "" {
			m.Do = "switch it on: ip link set " + off + " multicast on"
		}
		return m
	}
	m.Saw = fmt.Sprintf("it goes out and comes in on %s; ", strings.Join(through, ", "))
	if n := len(f.Seen.Others); n > 0 {
		m.Saw += fmt.Sprintf("heard from others too: %s", words(f.Seen.Others[:min(n, mostNamed)]))
		if n > mostNamed {
			m.Saw += fmt.Sprintf(" and %d more", n-mostNamed)
		}
		return m
	}
	m.Saw += "no other device was heard"
	m.Phone = "only it can know whether the access point lets it through: many keep devices apart. Its trust page tries the name"
	return m
}

// mostNamed is how many other devices are named.
const mostNamed = 5

func (f Facts) port() Finding {
	p := Finding{About: "port"}
	var open, closed []string
	for _, at := range f.Ports {
		if at.Err != nil {
			closed = append(closed, fmt.Sprintf("%s (%v)", at.Address, at.Err))
		} else {
			open = append(open, at.Address)
		}
	}
	switch {
	case len(closed) > 0 && f.Server == nil:
		p.Saw, p.Do = "another program has it: "+strings.Join(closed, ", "), "stop that program before the server is started"
	case len(closed) > 0:
		p.Saw, p.Do = "nobody answers at "+strings.Join(closed, ", "), "let the port through in the firewall of this machine"
		p.Phone = "its browser waits, and then says that the server does not answer"
	case f.Server == nil:
		p.Saw = fmt.Sprintf("%d is free", f.Origin.Port)
	case len(f.Links) == 0:
		p.Saw = "there is no address at which it could be called"
	default:
		p.Saw = "answers at " + strings.Join(open, ", ")
		p.Phone = fmt.Sprintf("only it can know whether it gets through: open http://%s on it",
			netip.AddrPortFrom(lan.Addresses(f.Links)[0], uint16(f.Server.DeskPort)))
	}
	return p
}

func words(list []netip.Addr) string {
	var out []string
	for _, a := range list {
		out = append(out, a.String())
	}
	return strings.Join(out, ", ")
}
