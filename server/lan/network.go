package lan

import (
	"context"
	"net"
	"net/netip"
	"reflect"
	"slices"
	"strings"
	"time"
)

// An Interface is a way onto a network that is up, with the private addresses that this
// machine has there.
type Interface struct {
	Index     int
	Name      string
	Addresses []netip.Addr
}

// Ranges are the private addresses: those that no router of the internet passes on
// (RFC 1918, RFC 4193), and those that machines give themselves where nobody gives any
// (RFC 3927). IPv6 has such ones too, fe80::/10; they are left out, because they mean
// nothing without the name of an interface, which no browser takes.
var Ranges = []netip.Prefix{
	netip.MustParsePrefix("10.0.0.0/8"),
	netip.MustParsePrefix("172.16.0.0/12"),
	netip.MustParsePrefix("192.168.0.0/16"),
	netip.MustParsePrefix("169.254.0.0/16"),
	netip.MustParsePrefix("fc00::/7"),
}

// Private reports whether an address is of one of the Ranges.
func Private(a netip.Addr) bool {
	return slices.ContainsFunc(Ranges, func(p netip.Prefix) bool { return p.Contains(a) })
}

// Interfaces lists what is up and running and has a private address, in the system's
// order. Loopback is none, nor is a tunnel to another place.
func Interfaces() ([]Interface, error) {
	all, err := net.Interfaces()
	if err != nil {
		return nil, err
	}
	const wanted = net.FlagUp | net.FlagRunning
	var out []Interface
	for _, i := range all {
		if i.Flags&wanted != wanted || i.Flags&(net.FlagLoopback|net.FlagPointToPoint) != 0 {
			continue
		}
		addresses, err := i.Addrs()
		if err != nil {
			continue // it went away in between
		}
		if private := privateOf(addresses); len(private) > 0 {
			out = append(out, Interface{Index: i.Index, Name: i.Name, Addresses: private})
		}
	}
	return out, nil
}

func privateOf(addresses []net.Addr) (out []netip.Addr) {
	for _, a := range addresses {
		text, _, _ := strings.Cut(a.String(), "/")
		if at, err := netip.ParseAddr(text); err == nil && Private(at.Unmap()) {
			out = append(out, at.Unmap())
		}
	}
	slices.SortFunc(out, netip.Addr.Compare) // IPv4 first
	return slices.Compact(out)
}

// Addresses are those of all interfaces, IPv4 first, each once.
func Addresses(list []Interface) (out []netip.Addr) {
	for _, i := range list {
		out = append(out, i.Addresses...)
	}
	slices.SortFunc(out, netip.Addr.Compare)
	return slices.Compact(out)
}

// WatchEvery is a good time between two looks at the interfaces: a look costs well under a
// millisecond, and a phone should not wait long for a new address.
const WatchEvery = time.Second

// Watch looks at the interfaces at each tick and tells of them when they are not those of
// the look before; first is what was found before it began. It returns when ctx ends. A look that
// fails is passed over: the next one will do.
func Watch(ctx context.Context, first []Interface, ticks <-chan time.Time, look func() ([]Interface, error), told func([]Interface)) {
	for {
		select {
		case <-ctx.Done():
			return
		case <-ticks:
		}
		now, err := look()
		if err != nil || reflect.DeepEqual(now, first) {
			continue
		}
		first = now
		told(now)
	}
}
