package name

import (
	"net"
	"net/netip"
	"slices"
	"testing"
	"time"

	"golang.org/x/net/dns/dnsmessage"
	"golang.org/x/net/ipv4"
)

// A wire is what everybody on the loopback interface hears of a name.
type wire struct {
	t    *testing.T
	net  *sockets
	name dnsmessage.Name
}

func listenHere(t *testing.T, label string) wire {
	t.Helper()
	s, err := open()
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(s.close)
	if err := s.join(loopback(t)); err != nil {
		t.Fatal(err)
	}
	name, err := dnsName(label)
	if err != nil {
		t.Fatal(err)
	}
	return wire{t, s, name}
}

// hears returns the next packet about the name that is as wanted.
func (w wire) hears(what string, wanted func(message, dnsmessage.Message) bool) {
	w.t.Helper()
	w.hearsAt(what, func(m message, whole dnsmessage.Message, _ place) bool { return wanted(m, whole) })
}

// hearsAt is hears for who asks too by which protocol it came.
func (w wire) hearsAt(what string, wanted func(message, dnsmessage.Message, place) bool) {
	w.t.Helper()
	for limit := time.After(time.Minute); ; {
		select {
		case p := <-w.net.in:
			var whole dnsmessage.Message
			if m, err := read(p.bytes, w.name); err == nil && whole.Unpack(p.bytes) == nil && wanted(m, whole, p.at) {
				return
			}
		case <-limit:
			w.t.Fatalf("a minute went by without %s", what)
		}
	}
}

func tells(seconds uint32, class dnsmessage.Class, addresses ...string) func(message, dnsmessage.Message) bool {
	var want []told
	for _, a := range addresses {
		want = append(want, told{netip.MustParseAddr(a), seconds})
	}
	return func(m message, whole dnsmessage.Message) bool {
		return m.header.Response && slices.Equal(m.told, want) && whole.Answers[0].Header.Class == class
	}
}

func TestEachChangeIsToldUnasked(t *testing.T) {
	t.Parallel()
	label := someLabel()
	w := listenHere(t, label)
	const flushed = dnsmessage.ClassINET | flush
	started := make(chan *Teller, 1)
	go func() {
		teller, err := claimHere(t, label, loopback(t, "127.0.0.9", "fd00::9"))
		if err != nil {
			t.Error(err)
		}
		started <- teller
	}()
	asked, told := map[place]int{}, map[place]int{}
	w.hearsAt("what it is by the name, twice", func(m message, whole dnsmessage.Message, at place) bool {
		if len(m.asked) > 0 && len(m.claims) == 2 && told[at] == 0 {
			asked[at]++
		}
		if tells(lifetime, flushed, "127.0.0.9", "fd00::9")(m, whole) {
			told[at]++
		}
		return told[at] == 2
	})
	for at := range told {
		if asked[at] != 3 { // §8.1
			t.Errorf("at %+v it asked %d times before it took the name, want 3", at, asked[at])
		}
	}

	teller := <-started
	if teller == nil {
		t.FailNow()
	}
	go teller.Move(loopback(t, "127.0.0.10", "fd00::9"))
	w.hears("that an address is no more", tells(0, dnsmessage.ClassINET, "127.0.0.9"))
	w.hears("the new one, instead of all older ones", tells(lifetime, flushed, "127.0.0.10", "fd00::9"))
	go teller.Stop()
	w.hears("a goodbye", tells(0, dnsmessage.ClassINET, "127.0.0.10", "fd00::9"))
}

// A program that asks from a port of its own gets an answer as from a plain name server.
func TestASimpleProgramIsAnswered(t *testing.T) {
	t.Parallel()
	label := someLabel()
	links := loopback(t, "127.0.0.9")
	teller, err := claimHere(t, label, links)
	if err != nil {
		t.Fatal(err)
	}
	defer teller.Stop()
	name, err := dnsName(label)
	if err != nil {
		t.Fatal(err)
	}
	ask := question(name)
	ask.ID = 4711
	ask.Questions[0].Type = dnsmessage.TypeA
	s, err := net.ListenUDP("udp4", &net.UDPAddr{}) // the system chooses which address of this machine it speaks from
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	wired := sockets{four: ipv4.NewPacketConn(s)}
	if err := wired.send(packed(t, ask), place{links[0].Index, false}); err != nil {
		t.Fatal(err)
	}
	if err := s.SetReadDeadline(time.Now().Add(time.Minute)); err != nil {
		t.Fatal(err)
	}
	b := make([]byte, longest)
	n, err := s.Read(b)
	if err != nil {
		t.Fatal(err)
	}
	var m dnsmessage.Message
	if err := m.Unpack(b[:n]); err != nil {
		t.Fatal(err)
	}
	if m.ID != 4711 || len(m.Questions) != 1 || len(m.Answers) != 1 || m.Answers[0].Header.Class != dnsmessage.ClassINET {
		t.Errorf("got %+v, want the question and a plain answer", m)
	}
}
