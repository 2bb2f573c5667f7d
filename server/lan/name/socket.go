package name

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/netip"
	"syscall"

	"golang.org/x/net/ipv4"
	"golang.org/x/net/ipv6"
)

// port is where multicast DNS is spoken (§3).
const port = 5353

var (
	group4 = netip.MustParseAddr("224.0.0.251")
	group6 = netip.MustParseAddr("ff02::fb")
)

// ErrPort says that a program has the port of multicast DNS to itself.
var ErrPort = errors.New("port 5353, where names are told, is held by a program that shares it with no other")

// A Link is an interface that is up, with the addresses to tell there.
type Link struct {
	Index     int // as the system numbers interfaces
	Name      string
	Addresses []netip.Addr
}

// A place is a link as one of the two protocols sees it.
type place struct {
	link int
	six  bool
}

func (p place) group() netip.Addr {
	if p.six {
		return group6
	}
	return group4
}

// places are where a link can be spoken on. IPv6 is always tried: interfaces have
// link-local addresses, which are not told.
func (l Link) places() (list []place) {
	for _, a := range l.Addresses {
		if a.Is4() {
			return []place{{l.Index, false}, {l.Index, true}}
		}
	}
	return []place{{l.Index, true}}
}

// A packet came from somebody, who may be this program itself.
type packet struct {
	bytes []byte
	at    place
	from  netip.AddrPort
}

// sockets are the two on the port, shared with whoever else is there.
type sockets struct {
	four *ipv4.PacketConn // nil where a protocol is missing
	six  *ipv6.PacketConn
	in   chan packet
	done chan struct{}
}

// open takes the port. A multicast address has Go ask the system to share it, and to bind
// to all addresses.
func open() (*sockets, error) {
	s := &sockets{in: make(chan packet), done: make(chan struct{})}
	var lc net.ListenConfig
	four, err4 := lc.ListenPacket(context.Background(), "udp4", netip.AddrPortFrom(group4, port).String())
	six, err6 := lc.ListenPacket(context.Background(), "udp6", netip.AddrPortFrom(group6, port).String())
	if err4 == nil {
		s.four = ipv4.NewPacketConn(four)
		err4 = errors.Join(s.four.SetControlMessage(ipv4.FlagInterface|ipv4.FlagDst, true),
			s.four.SetMulticastTTL(255), s.four.SetTTL(255), s.four.SetMulticastLoopback(true)) // 255: §11
	}
	if err6 == nil {
		s.six = ipv6.NewPacketConn(six)
		err6 = errors.Join(s.six.SetControlMessage(ipv6.FlagInterface|ipv6.FlagDst, true),
			s.six.SetMulticastHopLimit(255), s.six.SetHopLimit(255), s.six.SetMulticastLoopback(true))
	}
	if errors.Is(err4, syscall.EADDRINUSE) || errors.Is(err6, syscall.EADDRINUSE) {
		s.close()
		return nil, ErrPort
	}
	if err4 != nil && err6 != nil { // one may be switched off
		s.close()
		return nil, errors.Join(err4, err6)
	}
	if s.four != nil {
		go s.receive4()
	}
	if s.six != nil {
		go s.receive6()
	}
	return s, nil
}

func (s *sockets) close() {
	close(s.done)
	if s.four != nil {
		_ = s.four.Close()
	}
	if s.six != nil {
		_ = s.six.Close()
	}
}

// longest is the longest packet that is allowed (§17).
const longest = 9000

func (s *sockets) receive4() {
	b := make([]byte, longest)
	for {
		n, c, from, err := s.four.ReadFrom(b)
		if errors.Is(err, net.ErrClosed) {
			return
		}
		if err == nil && c != nil && c.Dst.IsMulticast() {
			s.hand(b[:n], place{c.IfIndex, false}, from)
		}
	}
}

func (s *sockets) receive6() {
	b := make([]byte, longest)
	for {
		n, c, from, err := s.six.ReadFrom(b)
		if errors.Is(err, net.ErrClosed) {
			return
		}
		if err == nil && c != nil && c.Dst.IsMulticast() {
			s.hand(b[:n], place{c.IfIndex, true}, from)
		}
	}
}

// hand passes a packet on. One that was sent to this machine alone never comes so far: it
// may be from anywhere, and nobody on the link needs it.
func (s *sockets) hand(b []byte, at place, from net.Addr) {
	udp, ok := from.(*net.UDPAddr)
	if !ok {
		return
	}
	a := udp.AddrPort()
	select {
	case s.in <- packet{append([]byte(nil), b...), at, netip.AddrPortFrom(a.Addr().Unmap(), a.Port())}:
	case <-s.done:
	}
}

// join has the system let the packets of the links through. Where a link was joined before
// and has come again, the system may say so or not.
func (s *sockets) join(links []Link) error {
	var all error
	for _, l := range links {
		i := &net.Interface{Index: l.Index, Name: l.Name}
		for _, p := range l.places() {
			group := &net.UDPAddr{IP: p.group().AsSlice()}
			var err error
			switch {
			case p.six && s.six != nil:
				err = s.six.JoinGroup(i, group)
			case !p.six && s.four != nil:
				err = s.four.JoinGroup(i, group)
			}
			if err != nil && !errors.Is(err, syscall.EADDRINUSE) {
				all = errors.Join(all, fmt.Errorf("%s: %w", l.Name, err))
			}
		}
	}
	return all
}

// errNoProtocol says that the system has no sockets of the kind.
var errNoProtocol = errors.New("this system does not speak it")

// send sends a packet to everybody at a place.
func (s *sockets) send(b []byte, at place) error {
	to := &net.UDPAddr{IP: at.group().AsSlice(), Port: port}
	if at.six {
		if s.six == nil {
			return errNoProtocol
		}
		_, err := s.six.WriteTo(b, &ipv6.ControlMessage{IfIndex: at.link}, to)
		return err
	}
	if s.four == nil {
		return errNoProtocol
	}
	_, err := s.four.WriteTo(b, &ipv4.ControlMessage{IfIndex: at.link}, to)
	return err
}

// reply sends a packet to the one who asked.
func (s *sockets) reply(b []byte, p packet) error {
	to := net.UDPAddrFromAddrPort(p.from)
	if p.at.six {
		_, err := s.six.WriteTo(b, &ipv6.ControlMessage{IfIndex: p.at.link}, to)
		return err
	}
	_, err := s.four.WriteTo(b, &ipv4.ControlMessage{IfIndex: p.at.link}, to)
	return err
}
