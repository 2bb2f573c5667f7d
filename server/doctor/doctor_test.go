package doctor

import (
	"crypto/x509"
	"crypto/x509/pkix"
	"errors"
	"net/netip"
	"strings"
	"testing"
	"time"

	"evenwhite/server/lan"
	"evenwhite/server/lan/authority"
	"evenwhite/server/lan/name"
)

var (
	now    = time.Date(2031, time.March, 4, 9, 30, 0, 0, time.UTC)
	own    = netip.MustParseAddr("10.9.8.1")
	theirs = netip.MustParseAddr("10.9.8.2")
)

// healthy are the facts of a server of which all is well.
func healthy(t *testing.T) Facts {
	t.Helper()
	a, err := authority.Draw("set7.local", now)
	if err != nil {
		t.Fatal(err)
	}
	leaves, err := a.Leaves(func() time.Time { return now }, []netip.Addr{own})
	if err != nil {
		t.Fatal(err)
	}
	origin := lan.Origin{Name: "set7", Port: 8443}
	return Facts{
		Now: now, Origin: origin, Server: &Server{Process: 4711, Serves: origin.String(), Origin: origin, DeskPort: 8480, Tells: true},
		Links: []lan.Interface{{Index: 2, Name: "e0", Addresses: []netip.Addr{own}}}, Own: []netip.Addr{own},
		Seen:  &name.Seen{Told: []netip.Addr{own}, Others: []netip.Addr{theirs}, Heard: map[string]bool{"e0": true}},
		Ports: []Port{{"10.9.8.1:8443", nil}, {"10.9.8.1:8480", nil}}, Authority: a, Leaf: leaves.Current(),
		Past: []Moment{{"the data were changed", now.Add(-time.Hour)}}, Free: 10 << 30, Need: leastFree,
		Backup: now.Add(-30 * time.Minute), Changed: now.Add(-time.Hour),
	}
}

func TestEachTroubleIsSaid(t *testing.T) {
	other := errors.New("operation not permitted")
	for _, c := range []struct {
		name, about string // the finding that is in trouble; "": none is
		change      func(*Facts)
		saw, do     string
	}{
		{"nothing", "", func(*Facts) {}, "", ""},
		{"no server runs", "", func(f *Facts) {
			f.Server, f.Seen.Told, f.Ports, f.Leaf = nil, nil, []Port{{":8443", nil}}, nil
		}, "", ""},
		{"a server for scripts", "", func(f *Facts) {
			f.Origin, f.Server.Origin, f.Seen, f.Ports, f.Leaf = lan.Origin{}, lan.Origin{}, nil, nil, nil
		}, "", ""},
		{"the server warns", "server", func(f *Facts) { f.Server.Warnings = []string{"the disk is full: make room"} }, "warns", "make room"},
		{"a link exchanges", "", func(f *Facts) { f.Server.Links = []Link{{Saw: "https://studio.example as editor: all exchanged"}} }, "", ""},
		{"a link does not", "link", func(f *Facts) {
			f.Server.Links = []Link{{Saw: "https://studio.example as editor: 3 edits wait here", Ails: "it cannot be reached"}}
		}, "3 edits wait here. It does not exchange: it cannot be reached", "nothing is lost"},
		{"another has the name too", "name", func(f *Facts) { f.Seen.Told = []netip.Addr{own, theirs} },
			"another device, 10.9.8.2, calls itself set7.local", "another name"},
		{"another has it while none runs", "name", func(f *Facts) { f.Server, f.Seen.Told = nil, []netip.Addr{theirs} },
			"another device, 10.9.8.2", "another name"},
		{"the name is not heard", "name", func(f *Facts) { f.Seen.Told = nil }, "nothing of it was heard", "see multicast"},
		{"the port of names is held", "name", func(f *Facts) { f.Seen.Told, f.SeenErr = nil, name.ErrPort }, "port 5353", "end the program"},
		{"the server could not tell it", "name", func(f *Facts) { f.Server.NameWarnings = []string{"devices do not find this server"} },
			"devices do not find", "as it says"},
		{"a name server has another address", "name", func(f *Facts) { f.Seen, f.Resolved = nil, []netip.Addr{theirs} },
			"leads to 10.9.8.2, which is not this machine", "correct the name server"},
		{"no name server knows it", "name", func(f *Facts) { f.Seen, f.SeenErr = nil, other }, "does not find set7.local", "--no-mdns"},
		{"nothing can be sent", "multicast", func(f *Facts) { f.Seen.Sent = map[string]error{"e0": other} },
			"nothing can be sent on e0", "port 5353"},
		{"multicast is off", "multicast", func(f *Facts) { f.Seen.Sent = map[string]error{"e0": name.ErrNoMulticast} },
			"switched off on e0", "ip link set e0 multicast on"},
		{"nothing comes back", "multicast", func(f *Facts) { f.Seen.Heard = nil }, "does not come back", "firewall"},
		{"no interface", "multicast", func(f *Facts) { f.Links = nil }, "no network interface", "cable"},
		{"the port is closed", "port", func(f *Facts) { f.Ports[0].Err = other }, "nobody answers at 10.9.8.1:8443", "firewall"},
		{"the port is held", "port", func(f *Facts) { f.Server, f.Ports = nil, []Port{{":8443", other}} }, "another program has it", "stop"},
		{"the keys are broken", "certificate", func(f *Facts) { f.Authority, f.AuthorityErr = nil, other },
			"cannot be read", "as the server says"},
		{"the root runs out", "certificate", func(f *Facts) { f.Now = f.Authority.NotAfter().Add(-time.Hour) },
			"runs out on 2033", "as it says"},
		{"the root is of another name", "certificate", func(f *Facts) { f.Origin.Name = "set8" },
			"the data belong to set8.local", "as the server says"},
		{"the leaf is wrong", "certificate", func(f *Facts) { f.LeafErr = other }, "is not good", "start the server again"},
		{"the leaf from elsewhere ran out", "certificate", func(f *Facts) {
			f.Authority, f.Leaf = nil, &x509.Certificate{NotAfter: now.Add(-time.Hour), Issuer: pkix.Name{CommonName: "someone"}}
		}, "of CN=someone, ran out on 2031-03-04", "--tls-cert"},
		{"the clock stands in 1970", "clock", func(f *Facts) { f.Now = time.Unix(60, 0) },
			"it says 1970-01-01 00:01 UTC, but the data were changed at 2031", "date -s"},
		{"little is free", "disk", func(f *Facts) { f.Free = 100 << 20 }, "100 MB are free; wanted are 500 MB", "make room"},
		{"others can read a key", "folder", func(f *Facts) { f.Open = []string{"data/keys/tokens.pem"} },
			"data/keys/tokens.pem", "chmod go= data/keys/tokens.pem"},
		{"no backup", "backup", func(f *Facts) { f.Backup = time.Time{} }, "there is none", "evenwhite backup"},
		{"an old backup", "backup", func(f *Facts) { f.Backup = now.Add(-5 * time.Hour) },
			"the data changed at 2031-03-04 08:30", "evenwhite backup"},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := healthy(t)
			c.change(&f)
			found := false
			for _, one := range f.Findings() {
				if one.Saw == "" {
					t.Errorf("%s says nothing", one.About)
				}
				switch {
				case one.Well():
				case one.About == c.about:
					found = true
					if !strings.Contains(one.Saw, c.saw) || !strings.Contains(one.Do, c.do) {
						t.Errorf("got %+v, want that it saw %q and says to do %q", one, c.saw, c.do)
					}
				case c.about == "clock" && one.About == "certificate": // both go by it
				default:
					t.Errorf("%s is in trouble as well: %+v", one.About, one)
				}
			}
			if found != (c.about != "") {
				t.Errorf("trouble with %q: %v", c.about, found)
			}
		})
	}
}

func TestFindingsAreWritten(t *testing.T) {
	var out strings.Builder
	trouble, err := Write(&out, []Finding{
		{About: "clock", Saw: "it says noon"},
		{About: "port", Saw: "nobody answers", Phone: "it waits", Do: "let it through"},
	})
	const want = `well     clock        it says noon
TROUBLE  port         nobody answers
                      A phone: it waits
                      To do: let it through
`
	if err != nil || trouble != 1 || out.String() != want {
		t.Errorf("got %d, %v and\n%s, want 1 and\n%s", trouble, err, &out, want)
	}
}
