package name

import (
	"encoding/hex"
	"net/netip"
	"slices"
	"testing"

	"golang.org/x/net/dns/dnsmessage"
)

func addressesOf(texts ...string) (list []netip.Addr) {
	for _, a := range texts {
		list = append(list, netip.MustParseAddr(a))
	}
	return list
}

var set7 = dnsmessage.MustNewName("set7.local.")

func packed(t testing.TB, m dnsmessage.Message) []byte {
	t.Helper()
	b, err := m.Pack()
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func TestWhatIsTold(t *testing.T) {
	m, err := read(packed(t, answer(set7, addressesOf("10.9.8.1", "fd00:9::1"))), dnsmessage.MustNewName("SET7.local."))
	want := []told{{netip.MustParseAddr("10.9.8.1"), 10}, {netip.MustParseAddr("fd00:9::1"), 10}}
	if err != nil || !m.header.Response || !m.header.Authoritative || !slices.Equal(m.told, want) {
		t.Errorf("an answer: got %+v, %v", m, err)
	}
	m, err = read(packed(t, goodbye(set7, addressesOf("10.9.8.1"))), set7)
	if err != nil || !m.header.Response || !slices.Equal(m.told, []told{{netip.MustParseAddr("10.9.8.1"), 0}}) {
		t.Errorf("a goodbye: got %+v, %v", m, err)
	}
	m, err = read(packed(t, probe(addressesOf("10.9.8.1"), set7)), set7)
	if err != nil || m.header.Response || len(m.asked) != 1 || !slices.Equal(m.claims, addressesOf("10.9.8.1")) {
		t.Errorf("a probe: got %+v, %v", m, err)
	}
	if m, err = read(packed(t, answer(set7, addressesOf("10.9.8.1"))), dnsmessage.MustNewName("set70.local.")); err != nil || len(m.told) > 0 {
		t.Errorf("of another name: got %+v, %v", m, err)
	}
}

// The layout of RFC 4034 §4.1, by hand: the name, block 0, its length, a bit each for the
// types 1 and 28.
func TestWhatANameHasNotIsTold(t *testing.T) {
	for _, c := range []struct {
		addresses []netip.Addr
		want      string
	}{
		{addressesOf("10.9.8.1", "fd00:9::1"), "0473657437056c6f63616c00" + "0004" + "40000008"},
		{addressesOf("10.9.8.1"), "0473657437056c6f63616c00" + "0004" + "40000000"},
		{addressesOf("fd00:9::1"), "0473657437056c6f63616c00" + "0004" + "00000008"},
	} {
		body := noOthers(set7, c.addresses, dnsmessage.ClassINET).Body.(*dnsmessage.UnknownResource)
		if got := hex.EncodeToString(body.Data); got != c.want {
			t.Errorf("%v: got %s, want %s", c.addresses, got, c.want)
		}
	}
}

func TestWhatAnAskerKnowsIsNotToldAgain(t *testing.T) {
	own := addressesOf("10.9.8.1", "fd00:9::1")
	for _, c := range []struct {
		name    string
		ask     dnsmessage.Type
		known   []netip.Addr
		seconds uint32
		want    bool
	}{
		{"it knows nothing", dnsmessage.TypeA, nil, 0, false},
		{"it knows what it asks for", dnsmessage.TypeA, own[:1], 10, true},
		{"it knows that not for long", dnsmessage.TypeA, own[:1], 4, false},
		{"it knows the other type", dnsmessage.TypeAAAA, own[:1], 10, false},
		{"it asks for all and knows half", dnsmessage.TypeALL, own[:1], 10, false},
		{"it asks for all and knows all", dnsmessage.TypeALL, own, 10, true},
		{"it knows an old address", dnsmessage.TypeA, addressesOf("10.9.8.2"), 10, false},
		{"it asks for what there is not", 65, own, 10, false},
	} {
		q := question(set7)
		q.Questions[0].Type = c.ask
		q.Answers = records(set7, c.known, dnsmessage.ClassINET, c.seconds)
		m, err := read(packed(t, q), set7)
		if err != nil {
			t.Fatal(err)
		}
		if got := m.knows(own); got != c.want {
			t.Errorf("%s: got %v", c.name, got)
		}
	}
}

func TestOfTwoWhoAskTheLaterInOrderGoesOn(t *testing.T) {
	none := new(Teller)
	for _, c := range []struct {
		own, claims []netip.Addr
		want        bool
	}{
		{addressesOf("10.9.8.1"), addressesOf("10.9.8.2"), true},
		{addressesOf("10.9.8.2"), addressesOf("10.9.8.1"), false},
		{addressesOf("169.254.99.200"), addressesOf("169.254.200.50"), true}, // of RFC 6762 §8.2
		{addressesOf("10.9.8.1"), addressesOf("10.9.8.1"), false},
		{addressesOf("10.9.8.1"), addressesOf("fd00::1", "10.9.8.1"), true}, // more of the same is later
		{addressesOf("fd00::1"), addressesOf("10.9.8.1"), false},            // A before AAAA
		{addressesOf("10.9.8.1"), nil, false},
	} {
		if got := none.before(c.own, c.claims); got != c.want {
			t.Errorf("%v against %v: got %v", c.own, c.claims, got)
		}
	}
}

// What others send beside an address may be broken, or newer than the parser.
func TestWhatIsAboutOthersIsPassedOver(t *testing.T) {
	service := dnsmessage.Resource{
		Header: dnsmessage.ResourceHeader{Name: dnsmessage.MustNewName("x._http._tcp.local."), Class: dnsmessage.ClassINET},
		Body:   &dnsmessage.UnknownResource{Type: dnsmessage.TypeSRV, Data: []byte{0, 0, 0, 0, 0, 80, 0xff}}}
	m := answer(set7, addressesOf("10.9.8.1"))
	m.Answers = append([]dnsmessage.Resource{service}, m.Answers...)
	b := packed(t, m)
	if err := new(dnsmessage.Message).Unpack(b); err == nil {
		t.Fatal("the parser takes such a service record: this test has no point")
	}
	got, err := read(b, set7)
	if err != nil || len(got.told) != 1 {
		t.Errorf("got %+v, %v", got, err)
	}
}

func FuzzRead(f *testing.F) {
	f.Add(packed(f, answer(set7, addressesOf("10.9.8.1", "fd00:9::1"))))
	f.Add(packed(f, probe(addressesOf("10.9.8.1"), set7, set7)))
	f.Add([]byte{})
	f.Fuzz(func(t *testing.T, b []byte) {
		m, err := read(b, set7)
		if err == nil {
			m.knows(addressesOf("10.9.8.1"))
			m.unicastWanted()
		}
	})
}
