package name

import (
	"context"
	"fmt"
	"math/rand/v2"
	"net/netip"
	"slices"
	"time"

	"golang.org/x/net/dns/dnsmessage"
)

// Taken says that another machine has a name.
type Taken struct {
	Name     string       // one label
	By       []netip.Addr // its addresses
	Proposal string       // a name that nobody has; "" where none was found
}

func (t *Taken) Error() string {
	return fmt.Sprintf("the name %s.local is taken on this network by another device, %s", t.Name, join(t.By))
}

const (
	probes   = 3                      // §8.1
	probeGap = 250 * time.Millisecond // after each
	lostGap  = time.Second            // before the next try of one who asked at the same time as another (§8.2)
	tries    = 5
)

// ask asks whether another machine has the name. Two that ask at once compare what they
// would tell: the later in order goes on, the other waits and then finds it taken.
func (t *Teller) ask(ctx context.Context) error {
	if len(t.links) == 0 {
		return nil
	}
	var first []netip.Addr
	for range tries {
		_, err := t.listen(ctx, time.Duration(rand.Int64N(int64(probeGap))))
		first = nil
		for i := 0; i < probes && err == nil && first == nil; i++ {
			for _, l := range t.links {
				t.say(l, probe(l.Addresses, t.name))
			}
			first, err = t.listen(ctx, probeGap)
		}
		if err != nil || first == nil {
			return err
		}
		if _, err = t.listen(ctx, lostGap); err != nil {
			return err
		}
	}
	return t.taken(ctx, first)
}

// listen takes packets in for a time. It returns what another machine would tell that asks for
// the name at the same time and goes before this one; the error is a *Taken when one has it.
func (t *Teller) listen(ctx context.Context, d time.Duration) (first []netip.Addr, err error) {
	over := time.After(d)
	for {
		select {
		case p := <-t.net.in:
			m, err := read(p.bytes, t.name)
			i := slices.IndexFunc(t.links, func(l Link) bool { return l.Index == p.at.link })
			if err != nil || i < 0 {
				continue
			}
			if strangers := t.strangers(m); m.header.Response && len(strangers) > 0 {
				return nil, t.taken(ctx, strangers)
			}
			if !m.header.Response && t.before(t.links[i].Addresses, m.claims) {
				first = m.claims
			}
		case <-over:
			return first, nil
		case <-ctx.Done():
			return nil, ctx.Err()
		}
	}
}

// before reports whether other claims go before one's own (§8.2): those that are later in
// order. Those of this machine, which come back to it, do not count.
func (t *Teller) before(own, claims []netip.Addr) bool {
	if !slices.ContainsFunc(claims, t.strange) {
		return false
	}
	own, claims = slices.Clone(own), slices.Clone(claims)
	slices.SortFunc(own, netip.Addr.Compare) // A before AAAA, as the types are numbered
	slices.SortFunc(claims, netip.Addr.Compare)
	return slices.CompareFunc(own, claims, netip.Addr.Compare) < 0
}

// strange reports whether an address is none of this machine.
func (t *Teller) strange(a netip.Addr) bool {
	gone, own := t.own[a]
	return !own || !gone.IsZero() && time.Since(gone) > afterward
}

// strangers are the addresses that a message tells and that are none of this machine.
func (t *Teller) strangers(m message) (list []netip.Addr) {
	for _, a := range m.told {
		if a.seconds > 0 && t.strange(a.address) {
			list = append(list, a.address)
		}
	}
	return known(list)
}

// known leaves link-local addresses of IPv6 out where there are others: nobody knows a
// machine by them.
func known(list []netip.Addr) []netip.Addr {
	if hasKnown(list) {
		list = slices.DeleteFunc(list, linkLocal)
	}
	return list
}

func hasKnown(list []netip.Addr) bool {
	return slices.ContainsFunc(list, func(a netip.Addr) bool { return !linkLocal(a) })
}

func linkLocal(a netip.Addr) bool { return a.Is6() && a.IsLinkLocalUnicast() }

// proposals is how many further names are tried.
const proposals = 8

// more is how often the machine that has the name is asked again while nothing but link-local
// addresses of it are known: by IPv6, and so perhaps first, it may tell those alone.
const more = 12

// taken makes the error of a taken name, with another that nobody answers for. It asks for
// the taken one again as well, so that it names all addresses of who has it.
func (t *Teller) taken(ctx context.Context, by []netip.Addr) error {
	err := &Taken{Name: t.label, By: by}
	names, free := []dnsmessage.Name{t.name}, []string{""}
	for i := range proposals {
		end := fmt.Sprint("-", i+2)
		label := t.label[:min(len(t.label), longestLabel-len(end))] + end
		if n, e := dnsName(label); e == nil {
			names, free = append(names, n), append(free, label)
		}
	}
	for i := 0; i < probes || i < probes+more && !hasKnown(err.By); i++ {
		for _, l := range t.links {
			t.say(l, probe(l.Addresses[:1], names...))
		}
		if e := t.gather(ctx, names, free, err); e != nil {
			return e
		}
	}
	if i := slices.IndexFunc(free, func(l string) bool { return l != "" }); i >= 0 {
		err.Proposal = free[i]
	}
	return err
}

// gather takes answers in until it is time to ask again: who has the first of the names, and
// which of the others are not free.
func (t *Teller) gather(ctx context.Context, names []dnsmessage.Name, free []string, err *Taken) error {
	over := time.After(probeGap)
	for {
		select {
		case p := <-t.net.in:
			for i, n := range names {
				m, e := read(p.bytes, n)
				if e != nil || !m.header.Response {
					continue
				}
				strangers := t.strangers(m)
				if i == 0 {
					err.By = joined(err.By, strangers)
				} else if len(strangers) > 0 {
					free[i] = ""
				}
			}
		case <-over:
			return nil
		case <-ctx.Done():
			return ctx.Err()
		}
	}
}

// joined are the addresses by which one machine is known, in order.
func joined(list, more []netip.Addr) []netip.Addr {
	list = append(slices.Clone(list), more...)
	slices.SortFunc(list, netip.Addr.Compare)
	return known(slices.Compact(list))
}

// longestLabel is the longest label of DNS, in bytes.
const longestLabel = 63

// compare looks whether another machine tells the name as well. If so, this one tells it
// once more: a machine that can have another name will then take one (§9).
func (t *Teller) compare(l Link, m message) {
	if len(t.strangers(m)) == 0 {
		return
	}
	t.readOwn() // one may be new, and told by another program of this machine
	strangers := t.strangers(m)
	if len(strangers) == 0 {
		return
	}
	now := time.Now()
	t.mu.Lock()
	t.rival.addresses = joined(t.rival.addresses, strangers)
	t.rival.heard = now
	say := !t.rival.said && hasKnown(t.rival.addresses)
	t.rival.said = t.rival.said || say
	rival := join(t.rival.addresses)
	defend := now.Sub(t.rival.defended) >= rivalEvery
	if defend {
		t.rival.defended = now
	}
	t.mu.Unlock()
	if say {
		t.logRival(rival)
	}
	if defend {
		t.announce([]Link{l})
	}
}

func (t *Teller) logRival(addresses string) {
	t.log.Warn("another device on this network has the same name: devices may reach that one, and refuse it",
		"name", t.label+".local", "addresses", addresses)
}

// lookForRival asks for the name while another machine has it as well, and forgets that
// machine once it is no longer heard.
func (t *Teller) lookForRival() {
	t.mu.Lock()
	known, gone := !t.rival.heard.IsZero(), time.Since(t.rival.heard) > rivalGone
	say := known && !gone && !t.rival.said // nothing better than a link-local address was heard since
	t.rival.said = t.rival.said || say
	addresses := join(t.rival.addresses)
	if known && gone {
		t.rival = rival{}
	}
	t.mu.Unlock()
	if say {
		t.logRival(addresses)
	}
	switch {
	case known && gone:
		t.log.Info("no other device on this network has the name any more", "name", t.label+".local")
	case known:
		for _, l := range t.links {
			t.say(l, question(t.name))
		}
	}
}
