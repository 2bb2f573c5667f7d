package name

import (
	"errors"
	"log/slog"
	"net/netip"
	"strings"
	"testing"
	"time"

	"golang.org/x/net/dns/dnsmessage"
)

// A machine may answer first by IPv6, and tell nothing there but its link-local address.
func TestWhoHasANameIsNamedAsPeopleKnowIt(t *testing.T) {
	t.Parallel()
	links := loopback(t, "127.0.0.10")
	for _, c := range []struct {
		name, want string
		answers    [][]string // to one question after the other; to more of them as to the last
	}{
		{"the better answer comes last", "127.0.0.9", [][]string{{"fe80::9"}, {"fe80::9"}, {"fe80::9"}, {"fe80::9"}, {"127.0.0.9"}}},
		{"it tells both at once", "127.0.0.9", [][]string{{"fe80::9", "127.0.0.9"}}},
		{"it tells all one by one", "127.0.0.9 and fd00::9", [][]string{{"fd00::9"}, {"127.0.0.9"}}},
		{"it has no other", "fe80::9", [][]string{{"fe80::9"}}},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			label := someLabel()
			w := listenHere(t, label)
			go func() { // until the test ends
				for n := 0; ; {
					select {
					case p := <-w.net.in:
						m, err := read(p.bytes, w.name)
						if err != nil || len(m.claims) == 0 || p.at != links[0].places()[0] {
							continue
						}
						told := answer(w.name, addressesOf(c.answers[min(n, len(c.answers)-1)]...))
						b, err := told.Pack()
						if err == nil {
							err = w.net.send(b, p.at)
						}
						if err != nil {
							t.Error(err)
						}
						n++
					case <-w.net.done:
						return
					}
				}
			}()
			_, err := claimHere(t, label, links)
			var taken *Taken
			if !errors.As(err, &taken) {
				t.Fatalf("got %v, want a *Taken", err)
			}
			if join(taken.By) != c.want || taken.Proposal != label+"-2" {
				t.Errorf("got %+v, want it taken by %s, and %s-2 proposed", taken, c.want, label)
			}
		})
	}
}

// Of a rival that is noticed later all addresses are kept, and the log waits for one by which people know it.
func TestARivalIsNamedAsPeopleKnowIt(t *testing.T) {
	t.Parallel()
	var log strings.Builder
	label := someLabel()
	links := loopback(t, "127.0.0.10")
	s, err := open()
	if err != nil {
		t.Fatal(err)
	}
	defer s.close()
	name, err := dnsName(label)
	if err != nil {
		t.Fatal(err)
	}
	teller := &Teller{label: label, name: name, links: links, net: s, log: slog.New(slog.NewTextHandler(&log, nil)),
		own: map[netip.Addr]time.Time{}, last: map[place]time.Time{}, mute: map[string]error{}}
	hear := func(addresses ...string) {
		teller.compare(links[0], heardAs(t, answer(name, addressesOf(addresses...)), name))
	}
	hear("fe80::9")
	if strings.Contains(log.String(), "fe80") {
		t.Errorf("the log names it by its link-local address at once: %s", &log)
	}
	hear("127.0.0.9")
	hear("fe80::9")
	teller.lookForRival()
	if w := teller.Warnings(); len(w) != 1 || !strings.HasPrefix(w[0], "another device on this network, 127.0.0.9, calls itself") {
		t.Errorf("it warns of %q", w)
	}
	if n := strings.Count(log.String(), "addresses=127.0.0.9"); n != 1 || strings.Contains(log.String(), "fe80") {
		t.Errorf("the log, which should name 127.0.0.9 once: %s", &log)
	}

	teller.rival = rival{}
	hear("fe80::9")
	teller.lookForRival()
	teller.lookForRival()
	if n := strings.Count(log.String(), "addresses=fe80::9"); n != 1 {
		t.Errorf("the log, which should name fe80::9 once as nothing better comes: %s", &log)
	}
}

func heardAs(t *testing.T, m dnsmessage.Message, name dnsmessage.Name) message {
	t.Helper()
	read, err := read(packed(t, m), name)
	if err != nil {
		t.Fatal(err)
	}
	return read
}
