package name

import (
	"errors"
	"net/netip"
	"slices"
	"strings"

	"golang.org/x/net/dns/dnsmessage"
)

// lifetime is for how many seconds others may keep what they were told. RFC 6762 proposes
// 120; a phone that missed the packet of a change would be lost for that long.
const lifetime = 10

const (
	flush    dnsmessage.Class = 1 << 15 // of a record: forget the older ones of this name and type (§10.2)
	unicast  dnsmessage.Class = 1 << 15 // of a question: an answer to the asker alone will do (§5.4)
	typeNSEC dnsmessage.Type  = 47      // which types a name has; whoever asks for another need not wait (§6.1)
)

// suffix is the domain of names by multicast DNS.
const suffix = ".local."

func dnsName(label string) (dnsmessage.Name, error) { return dnsmessage.NewName(label + suffix) }

// records are the addresses of a name, for so many seconds.
func records(name dnsmessage.Name, addresses []netip.Addr, class dnsmessage.Class, seconds uint32) (list []dnsmessage.Resource) {
	for _, a := range addresses {
		h := dnsmessage.ResourceHeader{Name: name, Class: class, TTL: seconds}
		if a.Is4() {
			list = append(list, dnsmessage.Resource{Header: h, Body: &dnsmessage.AResource{A: a.As4()}})
		} else {
			list = append(list, dnsmessage.Resource{Header: h, Body: &dnsmessage.AAAAResource{AAAA: a.As16()}})
		}
	}
	return list
}

// noOthers says that a name has no records but those of its addresses.
func noOthers(name dnsmessage.Name, addresses []netip.Addr, class dnsmessage.Class) dnsmessage.Resource {
	var data []byte
	for label := range strings.SplitSeq(name.String(), ".") { // the last one is empty, and ends the name
		data = append(append(data, byte(len(label))), label...)
	}
	bits := make([]byte, 4) // one bit a type, from the highest of the first byte on
	for _, a := range addresses {
		t := typeOf(a)
		bits[t/8] |= 0x80 >> (t % 8)
	}
	data = append(append(data, 0, byte(len(bits))), bits...)
	return dnsmessage.Resource{Header: dnsmessage.ResourceHeader{Name: name, Class: class, TTL: lifetime},
		Body: &dnsmessage.UnknownResource{Type: typeNSEC, Data: data}}
}

func typeOf(a netip.Addr) dnsmessage.Type {
	if a.Is4() {
		return dnsmessage.TypeA
	}
	return dnsmessage.TypeAAAA
}

// answer is the packet that tells all addresses of a name.
func answer(name dnsmessage.Name, addresses []netip.Addr) dnsmessage.Message {
	class := dnsmessage.ClassINET | flush
	return dnsmessage.Message{Header: dnsmessage.Header{Response: true, Authoritative: true},
		Answers:     records(name, addresses, class, lifetime),
		Additionals: []dnsmessage.Resource{noOthers(name, addresses, class)}}
}

// goodbye is the packet that takes addresses of a name back.
func goodbye(name dnsmessage.Name, addresses []netip.Addr) dnsmessage.Message {
	return dnsmessage.Message{Header: dnsmessage.Header{Response: true, Authoritative: true},
		Answers: records(name, addresses, dnsmessage.ClassINET, 0)}
}

// question is the packet that asks for all that there is of some names.
func question(names ...dnsmessage.Name) dnsmessage.Message {
	var m dnsmessage.Message
	for _, n := range names {
		m.Questions = append(m.Questions, dnsmessage.Question{Name: n, Type: dnsmessage.TypeALL, Class: dnsmessage.ClassINET})
	}
	return m
}

// probe is the question of one who means to take one of some names, with what it would tell
// (§8.1). It asks for answers to all, because a port that several programs share gives an
// answer to one of them only.
func probe(addresses []netip.Addr, names ...dnsmessage.Name) dnsmessage.Message {
	m := question(names...)
	for _, n := range names {
		m.Authorities = append(m.Authorities, records(n, addresses, dnsmessage.ClassINET, lifetime)...)
	}
	return m
}

// A message is what a packet says of one name.
type message struct {
	header dnsmessage.Header
	asked  []dnsmessage.Question
	told   []told       // in a question: what the asker knows already
	claims []netip.Addr // what somebody who means to take the name would tell
}

type told struct {
	address netip.Addr
	seconds uint32 // 0: no longer
}

var errNotPlain = errors.New("no plain question and no answer to one")

// read takes what concerns a name out of a packet. What is not about it is passed over and
// not understood, because others may write it in ways that the parser refuses.
func read(b []byte, name dnsmessage.Name) (m message, err error) {
	var p dnsmessage.Parser
	if m.header, err = p.Start(b); err != nil {
		return m, err
	}
	if m.header.OpCode != 0 || m.header.RCode != 0 {
		return m, errNotPlain
	}
	for {
		q, err := p.Question()
		if errors.Is(err, dnsmessage.ErrSectionDone) {
			break
		}
		if err != nil {
			return m, err
		}
		if same(q.Name, name) && (internet(q.Class) || q.Class&^unicast == dnsmessage.ClassANY) {
			m.asked = append(m.asked, q)
		}
	}
	if m.told, err = addresses(&p, name, p.AnswerHeader, p.SkipAnswer); err != nil {
		return m, err
	}
	claims, err := addresses(&p, name, p.AuthorityHeader, p.SkipAuthority)
	for _, c := range claims {
		m.claims = append(m.claims, c.address)
	}
	if err != nil || !m.header.Response {
		return m, err
	}
	more, err := addresses(&p, name, p.AdditionalHeader, p.SkipAdditional)
	m.told = append(m.told, more...)
	return m, err
}

// addresses reads one section of a packet.
func addresses(p *dnsmessage.Parser, name dnsmessage.Name,
	header func() (dnsmessage.ResourceHeader, error), skip func() error) (list []told, err error) {
	for {
		h, err := header()
		if errors.Is(err, dnsmessage.ErrSectionDone) {
			return list, nil
		}
		if err != nil {
			return list, err
		}
		ours := same(h.Name, name) && internet(h.Class)
		switch {
		case ours && h.Type == dnsmessage.TypeA:
			var r dnsmessage.AResource
			if r, err = p.AResource(); err == nil {
				list = append(list, told{netip.AddrFrom4(r.A), h.TTL})
			}
		case ours && h.Type == dnsmessage.TypeAAAA:
			var r dnsmessage.AAAAResource
			if r, err = p.AAAAResource(); err == nil {
				list = append(list, told{netip.AddrFrom16(r.AAAA), h.TTL})
			}
		default:
			err = skip()
		}
		if err != nil {
			return list, err
		}
	}
}

func internet(c dnsmessage.Class) bool { return c&^flush == dnsmessage.ClassINET }

func same(a, b dnsmessage.Name) bool { return strings.EqualFold(a.String(), b.String()) }

// knows reports whether an asker has all that it asks for, and will have it for long enough
// (§7.1).
func (m message) knows(addresses []netip.Addr) bool {
	for _, q := range m.asked {
		if q.Type != dnsmessage.TypeA && q.Type != dnsmessage.TypeAAAA && q.Type != dnsmessage.TypeALL {
			return false
		}
		any := false
		for _, a := range addresses {
			if q.Type != dnsmessage.TypeALL && q.Type != typeOf(a) {
				continue
			}
			any = true
			if !slices.ContainsFunc(m.told, func(t told) bool { return t.address == a && t.seconds >= lifetime/2 }) {
				return false
			}
		}
		if !any {
			return false // it must be told that there is none
		}
	}
	return true
}

// unicastWanted reports whether each question may be answered to the asker alone.
func (m message) unicastWanted() bool {
	return !slices.ContainsFunc(m.asked, func(q dnsmessage.Question) bool { return q.Class&unicast == 0 })
}
