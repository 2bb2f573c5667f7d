package name

import (
	"context"
	"errors"
	"net"
	"net/netip"
	"slices"
	"time"

	"golang.org/x/net/dns/dnsmessage"
)

// Seen is what a look at the links found.
type Seen struct {
	Told   []netip.Addr     // the addresses that somebody tells for the name
	Others []netip.Addr     // machines that spoke by multicast, whatever they said
	Sent   map[string]error // by link, why nothing could be sent there
	Heard  map[string]bool  // by link: what this program sent came back to it
}

// services is the question to which most responders have an answer (RFC 6763 §9).
const services = "_services._dns-sd._udp.local."

// lookAgain is after which time a look asks again: nobody tells the same twice within a second.
const lookAgain = 1100 * time.Millisecond

// Look asks who tells a name on the links, and who speaks there at all. It listens until ctx
// ends, and asks twice.
func Look(ctx context.Context, label string, links []Link) (Seen, error) {
	seen := Seen{Sent: map[string]error{}, Heard: map[string]bool{}}
	name, err := dnsName(label)
	if err != nil {
		return seen, err
	}
	s, err := open()
	if err != nil {
		return seen, err
	}
	defer s.close()
	own, err := Own()
	if err != nil {
		return seen, err
	}
	l := look{name, links, own, s, &seen}
	if err := s.join(links); err != nil {
		for _, link := range links {
			seen.Sent[link.Name] = err
		}
	}
	l.mute()
	l.ask()
	again := time.After(lookAgain)
	for {
		select {
		case p := <-s.in:
			l.hear(p)
		case <-again:
			l.ask()
		case <-ctx.Done():
			seen.Told = known(seen.Told)
			slices.SortFunc(seen.Told, netip.Addr.Compare)
			slices.SortFunc(seen.Others, netip.Addr.Compare)
			return seen, nil
		}
	}
}

// A look is one in hand.
type look struct {
	name  dnsmessage.Name
	links []Link
	own   []netip.Addr
	net   *sockets
	seen  *Seen
}

// ErrNoMulticast is of an interface on which the system sends nothing to a group.
var ErrNoMulticast = errors.New("multicast is switched off on this interface")

// mute says on which links nothing can be sent at all.
func (l look) mute() {
	for _, link := range l.links {
		i, err := net.InterfaceByIndex(link.Index)
		if err == nil && i.Flags&(net.FlagMulticast|net.FlagLoopback) == 0 {
			l.seen.Sent[link.Name] = ErrNoMulticast
		}
	}
}

func (l look) ask() {
	m := question(l.name, dnsmessage.MustNewName(services))
	m.Questions[1].Type = dnsmessage.TypePTR
	b, err := m.Pack()
	for _, link := range l.links {
		for i, p := range link.places() {
			if err == nil {
				if sent := l.net.send(b, p); i == 0 && sent != nil {
					l.seen.Sent[link.Name] = reason(sent)
				}
			}
		}
	}
}

func (l look) hear(p packet) {
	i := slices.IndexFunc(l.links, func(link Link) bool { return link.Index == p.at.link })
	if i < 0 {
		return
	}
	link, own := l.links[i], slices.Contains(l.own, p.from.Addr().WithZone(""))
	m, err := read(p.bytes, l.name)
	if p.at == link.places()[0] { // by the first protocol alone, so that no machine counts twice
		if own && err == nil && !m.header.Response && len(m.asked) > 0 {
			l.seen.Heard[link.Name] = true
		}
		if a := p.from.Addr(); !own && !slices.Contains(l.seen.Others, a) {
			l.seen.Others = append(l.seen.Others, a)
		}
	}
	for _, a := range m.told {
		if err == nil && m.header.Response && a.seconds > 0 && !slices.Contains(l.seen.Told, a.address) {
			l.seen.Told = append(l.seen.Told, a.address)
		}
	}
}
