// Package name tells a server's name on the local network by multicast DNS (RFC 6762, whose
// sections the comments name): it asks first whether another machine has the name, answers
// whoever asks, announces itself at the start and whenever addresses change, and says goodbye.
package name

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"maps"
	"net"
	"net/netip"
	"slices"
	"strings"
	"sync"
	"syscall"
	"time"

	"golang.org/x/net/dns/dnsmessage"
)

// A Config says what to tell where.
type Config struct {
	Name  string // one label, such as set7, which is told as set7.local
	Links []Link
	Log   *slog.Logger
}

// A Teller has a name and answers for it until it is stopped.
type Teller struct {
	label string
	name  dnsmessage.Name
	log   *slog.Logger
	net   *sockets
	moved chan func()
	stop  chan struct{}
	ended sync.WaitGroup

	// Of the goroutine that runs alone.
	links []Link
	own   map[netip.Addr]time.Time // this machine's addresses; since when they are no more, or zero
	last  map[place]time.Time      // when the name was last told to all at a place

	mu    sync.Mutex
	rival rival
	mute  map[string]error // by link, why nothing could be sent
	none  bool             // no link is up
}

// A rival is another machine that tells the name as well.
type rival struct {
	addresses []netip.Addr
	heard     time.Time // zero: none is known
	said      bool      // in the log
	defended  time.Time
}

// Claim asks for a name on the links for up to a second and, when no other machine has
// it, begins to tell it. A taken name is a *Taken. Where no link is up there is nobody to
// ask; it tells the name on those that come.
func Claim(ctx context.Context, c Config) (*Teller, error) {
	name, err := dnsName(c.Name)
	if err != nil {
		return nil, err
	}
	t := &Teller{label: c.Name, name: name, log: c.Log, links: c.Links, moved: make(chan func()), stop: make(chan struct{}),
		own: map[netip.Addr]time.Time{}, last: map[place]time.Time{}, mute: map[string]error{}}
	if t.net, err = open(); err != nil {
		return nil, err
	}
	t.see(c.Links)
	if err := t.ask(ctx); err != nil {
		t.net.close()
		return nil, err
	}
	t.ended.Go(t.run)
	return t, nil
}

// Move says that the links or their addresses are others now, and returns when everybody
// has been told. What was told and is so no more is taken back.
func (t *Teller) Move(links []Link) {
	done := make(chan struct{})
	select {
	case t.moved <- func() { t.move(links); close(done) }:
		<-done
	case <-t.stop:
	}
}

// Stop says goodbye, so that nobody keeps the name, and ends. It may be called once.
func (t *Teller) Stop() {
	close(t.stop)
	t.ended.Wait()
}

// Warnings says what keeps others from finding the name, a sentence each.
func (t *Teller) Warnings() (list []string) {
	t.mu.Lock()
	defer t.mu.Unlock()
	if t.none {
		list = append(list, fmt.Sprintf("no network interface is up with an address of its own: no device finds %s.local. "+
			"Nothing is lost; connect the network, and the name is told by itself", t.label))
	}
	for _, link := range slices.Sorted(maps.Keys(t.mute)) {
		list = append(list, fmt.Sprintf("%s.local cannot be told on %s: %v. Devices there do not find this server by name: "+
			"let multicast through (UDP port 5353)", t.label, link, t.mute[link]))
	}
	if !t.rival.heard.IsZero() {
		list = append(list, fmt.Sprintf("another device on this network, %s, calls itself %s.local as well: devices may reach that one, "+
			"and their browsers then refuse it. Nothing is lost; give that device another name", join(t.rival.addresses), t.label))
	}
	return list
}

func join(addresses []netip.Addr) string {
	var words []string
	for _, a := range addresses {
		words = append(words, a.String())
	}
	return strings.Join(words, " and ")
}

const (
	announceAgain = time.Second      // §8.3
	rivalEvery    = 10 * time.Second // between two looks whether a rival is still there
	rivalGone     = 25 * time.Second // since one was last heard
	leastBetween  = time.Second      // between two packets that tell all at a place the same (§6)
	probeBetween  = 250 * time.Millisecond
	afterward     = 2 * lifetime * time.Second // how long an address that is gone still counts as this machine's
)

// run tells the name until the teller is stopped.
func (t *Teller) run() {
	defer t.net.close()
	t.announce(t.links)
	again := time.After(announceAgain)
	look := time.NewTicker(rivalEvery)
	defer look.Stop()
	for {
		select {
		case p := <-t.net.in:
			t.hear(p)
		case move := <-t.moved:
			move()
			again = time.After(announceAgain)
		case <-again:
			t.announce(t.links)
		case <-look.C:
			t.lookForRival()
		case <-t.stop:
			for _, l := range t.links {
				t.say(l, goodbye(t.name, l.Addresses))
			}
			return
		}
	}
}

// readOwn reads which addresses this machine has. Those that are not told by this program
// may be told by another one here.
func (t *Teller) readOwn() {
	now := time.Now()
	for a, gone := range t.own {
		switch {
		case gone.IsZero():
			t.own[a] = now
		case now.Sub(gone) > afterward:
			delete(t.own, a)
		}
	}
	all, err := Own()
	if err != nil {
		t.log.Warn("the addresses of this machine cannot be read", "error", err)
	}
	for _, a := range all {
		t.own[a] = time.Time{}
	}
	for _, l := range t.links {
		for _, a := range l.Addresses {
			t.own[a] = time.Time{}
		}
	}
}

// Own are all addresses that this machine has, also those that are told to nobody.
func Own() (list []netip.Addr, err error) {
	all, err := net.InterfaceAddrs()
	for _, a := range all {
		if n, ok := a.(*net.IPNet); ok {
			if own, ok := netip.AddrFromSlice(n.IP); ok {
				list = append(list, own.Unmap())
			}
		}
	}
	return list, err
}

// see takes links for those that are up.
func (t *Teller) see(links []Link) {
	t.links = links
	t.readOwn()
	if err := t.net.join(links); err != nil {
		t.log.Warn("multicast cannot be heard on an interface: devices there may not find this server by name", "error", err)
	}
	t.mu.Lock()
	defer t.mu.Unlock()
	clear(t.mute)
	if t.none = len(links) == 0; t.none {
		t.log.Warn("no network interface is up: nobody can find this server by name until one is", "name", t.label+".local")
	}
}

// move takes back what is so no more, and tells the rest. It also asks: on another network
// the name may be taken. It is told all the same, because a server's name never changes
// under the phones that know it.
func (t *Teller) move(links []Link) {
	for _, before := range t.links {
		var gone []netip.Addr
		for _, a := range before.Addresses {
			if !slices.ContainsFunc(links, func(l Link) bool { return l.Index == before.Index && slices.Contains(l.Addresses, a) }) {
				gone = append(gone, a)
			}
		}
		if len(gone) > 0 {
			t.say(before, goodbye(t.name, gone))
		}
	}
	t.see(links)
	t.announce(links)
	for _, l := range links {
		t.say(l, question(t.name))
	}
}

func (t *Teller) announce(links []Link) {
	for _, l := range links {
		t.say(l, answer(t.name, l.Addresses))
		for _, p := range l.places() {
			t.last[p] = time.Now()
		}
	}
}

// say sends a message to everybody on a link.
func (t *Teller) say(l Link, m dnsmessage.Message) {
	b, err := m.Pack()
	if err != nil {
		t.log.Error("a packet that tells the name could not be made", "error", err)
		return
	}
	places := l.places()
	for i, p := range places {
		if err := t.net.send(b, p); i == 0 {
			t.heed(l, err) // by the first protocol; the second may be missing on a link
		}
	}
}

// heed remembers whether something could be sent on a link.
func (t *Teller) heed(l Link, err error) {
	t.mu.Lock()
	_, before := t.mute[l.Name]
	if err == nil {
		delete(t.mute, l.Name)
	} else {
		t.mute[l.Name] = reason(err)
	}
	t.mu.Unlock()
	if err != nil && !before {
		t.log.Warn("the name cannot be told: multicast is not let through", "name", t.label+".local", "interface", l.Name, "error", err)
	}
}

// reason is the word of the system for why a packet could not be sent.
func reason(err error) error {
	var said syscall.Errno
	if errors.As(err, &said) {
		return said
	}
	return err
}

// hear takes a packet in.
func (t *Teller) hear(p packet) {
	m, err := read(p.bytes, t.name)
	if err != nil {
		return // anybody may send anything
	}
	i := slices.IndexFunc(t.links, func(l Link) bool { return l.Index == p.at.link })
	switch {
	case i < 0:
	case m.header.Response:
		t.compare(t.links[i], m)
	case len(m.asked) > 0:
		t.answer(t.links[i], p, m)
	}
}

// answer answers a question: to all on the link, and to the asker alone where it asked for
// that or speaks from another port, as simple programs do (§6.7).
func (t *Teller) answer(l Link, p packet, m message) {
	if m.knows(l.Addresses) {
		return
	}
	reply := answer(t.name, l.Addresses)
	if p.from.Port() != port {
		reply.ID, reply.Questions, reply.Additionals = m.header.ID, m.asked, nil
		reply.Answers = records(t.name, l.Addresses, dnsmessage.ClassINET, lifetime)
		t.to(p, reply)
		return
	}
	quiet := leastBetween
	switch {
	case len(m.claims) > 0: // somebody is about to take the name
		quiet = probeBetween
	case m.unicastWanted():
		quiet = lifetime * time.Second / 4
		t.to(p, reply)
	}
	if time.Since(t.last[p.at]) < quiet {
		return
	}
	if b, err := reply.Pack(); err == nil && t.net.send(b, p.at) == nil {
		t.last[p.at] = time.Now()
	}
}

func (t *Teller) to(p packet, m dnsmessage.Message) {
	if b, err := m.Pack(); err == nil {
		_ = t.net.reply(b, p) // it asks again
	}
}
