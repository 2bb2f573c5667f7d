package lan

import (
	"context"
	"errors"
	"net"
	"net/netip"
	"reflect"
	"testing"
	"time"
)

func TestPrivateAddressesAreToldFromOthers(t *testing.T) {
	for text, want := range map[string]bool{
		"10.1.2.3": true, "172.16.0.1": true, "172.31.255.254": true, "192.168.1.7": true, "169.254.3.4": true, "fd00::7": true,
		"127.0.0.1": false, "::1": false, "172.32.0.1": false, "203.0.113.1": false, "2001:db8::1": false, "fe80::1": false, "100.64.0.1": false,
	} {
		if got := Private(netip.MustParseAddr(text)); got != want {
			t.Errorf("%s: got %t, want %t", text, got, want)
		}
	}
}

func TestOfAnInterfaceItsPrivateAddressesCount(t *testing.T) {
	var given []net.Addr
	for _, text := range []string{"fe80::1/64", "fd00::7/64", "2001:db8::1/64", "192.168.1.7/24", "203.0.113.1/24"} {
		ip, in, err := net.ParseCIDR(text)
		if err != nil {
			t.Fatal(err)
		}
		given = append(given, &net.IPNet{IP: ip, Mask: in.Mask})
	}
	want := []netip.Addr{netip.MustParseAddr("192.168.1.7"), netip.MustParseAddr("fd00::7")}
	if got := privateOf(given); !reflect.DeepEqual(got, want) {
		t.Errorf("got %s, want %s", got, want)
	}
	if got := privateOf(given[:1]); got != nil {
		t.Errorf("a link-local address of IPv6 alone gives %s", got)
	}
	three := []Interface{{3, "wlan0", want}, {1, "eth0", []netip.Addr{netip.MustParseAddr("10.0.0.1")}}, {2, "br0", want[:1]}}
	if got := Addresses(three); len(got) != 3 || got[0].String() != "10.0.0.1" {
		t.Errorf("three interfaces have %s", got)
	}
}

func TestThisMachinesInterfacesHavePrivateAddressesAlone(t *testing.T) {
	list, err := Interfaces()
	if err != nil {
		t.Fatal(err)
	}
	for _, i := range list {
		if len(i.Addresses) == 0 || i.Index == 0 || i.Name == "" {
			t.Errorf("got %+v", i)
		}
		for _, a := range i.Addresses {
			if !Private(a) {
				t.Errorf("%s has %s", i.Name, a)
			}
		}
	}
}

func TestChangesOfTheNetworkAreTold(t *testing.T) {
	ctx, end := context.WithCancel(t.Context())
	first := []Interface{{1, "eth0", []netip.Addr{netip.MustParseAddr("10.0.0.1")}}}
	second := []Interface{{1, "eth0", []netip.Addr{netip.MustParseAddr("10.0.0.2")}}}
	looks := []struct {
		list []Interface
		err  error
	}{{first, nil}, {second, nil}, {nil, errors.New("the system is busy")}, {second, nil}, {nil, nil}, {first, nil}}
	ticks, ended := make(chan time.Time), make(chan struct{})
	var told [][]Interface
	n := 0
	go func() {
		defer close(ended)
		Watch(ctx, first, ticks, func() ([]Interface, error) { n++; return looks[n-1].list, looks[n-1].err },
			func(now []Interface) { told = append(told, now) })
	}()
	for range looks {
		ticks <- time.Time{}
	}
	end()
	<-ended
	if want := [][]Interface{second, nil, first}; !reflect.DeepEqual(told, want) {
		t.Errorf("got %v, want %v", told, want)
	}
}
