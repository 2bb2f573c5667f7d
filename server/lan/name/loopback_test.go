package name

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"math/rand/v2"
	"net"
	"net/netip"
	"slices"
	"strings"
	"testing"
	"time"

	"golang.org/x/net/dns/dnsmessage"
)

// loopback is the link of this machine to itself. What is told there no other machine hears.
func loopback(t *testing.T, addresses ...string) []Link {
	t.Helper()
	all, err := net.Interfaces()
	if err != nil {
		t.Fatal(err)
	}
	for _, i := range all {
		if i.Flags&net.FlagLoopback != 0 {
			l := Link{Index: i.Index, Name: i.Name}
			for _, a := range addresses {
				l.Addresses = append(l.Addresses, netip.MustParseAddr(a))
			}
			return []Link{l}
		}
	}
	t.Fatal("this machine has no loopback interface")
	return nil
}

// A label that no other test has, nor the same one that runs beside it.
func someLabel() string { return fmt.Sprintf("test-%x", rand.Uint64()) }

func claimHere(t *testing.T, label string, links []Link) (*Teller, error) {
	return Claim(t.Context(), Config{label, links, slog.New(slog.NewTextHandler(t.Output(), nil))})
}

// seenHere looks until what it sees is as wanted.
func seenHere(t *testing.T, label string, want ...string) {
	t.Helper()
	links := loopback(t, "127.0.0.1")
	var got []string
	for limit := time.Now().Add(time.Minute); time.Now().Before(limit); {
		ctx, cancel := context.WithTimeout(t.Context(), lookAgain+lookAgain/2)
		seen, err := Look(ctx, label, links)
		cancel()
		if err != nil {
			t.Fatal(err)
		}
		if got = nil; len(seen.Told) > 0 {
			got = strings.Split(join(seen.Told), " and ")
		}
		if slices.Equal(got, want) {
			return
		}
	}
	t.Fatalf("after a minute %s.local is told as %q, want %q", label, got, want)
}

func TestANameIsToldByLoopback(t *testing.T) {
	t.Parallel()
	label := someLabel()
	seenHere(t, label)
	teller, err := claimHere(t, label, loopback(t, "127.0.0.9", "fd00::9"))
	if err != nil {
		t.Fatal(err)
	}
	seenHere(t, label, "127.0.0.9", "fd00::9")
	seenHere(t, strings.ToUpper(label), "127.0.0.9", "fd00::9")
	seenHere(t, label+"-2")

	teller.Move(loopback(t, "127.0.0.10"))
	seenHere(t, label, "127.0.0.10")
	if w := teller.Warnings(); len(w) > 0 {
		t.Errorf("all is well, and it warns of %q", w)
	}
	teller.Stop()
	seenHere(t, label)
}

func TestATakenNameIsRefusedByLoopback(t *testing.T) {
	t.Parallel()
	label := someLabel()
	for _, taken := range []string{label, label + "-2"} {
		teller, err := claimHere(t, taken, loopback(t, "127.0.0.9"))
		if err != nil {
			t.Fatal(err)
		}
		defer teller.Stop()
	}
	_, err := claimHere(t, label, loopback(t, "127.0.0.10"))
	var taken *Taken
	if !errors.As(err, &taken) {
		t.Fatalf("got %v, want a *Taken", err)
	}
	if taken.Name != label || join(taken.By) != "127.0.0.9" || taken.Proposal != label+"-3" {
		t.Errorf("got %+v, want it taken by 127.0.0.9, and %s-3 proposed", taken, label)
	}

	own, err := claimHere(t, label, loopback(t, "127.0.0.9")) // as another program of this machine does
	if err != nil {
		t.Fatalf("the same name with the same addresses: %v", err)
	}
	own.Stop()
}

func TestOfTwoWhoAskAtOnceOneGetsTheName(t *testing.T) {
	t.Parallel()
	label := someLabel()
	type result struct {
		teller *Teller
		err    error
	}
	results := make(chan result, 2)
	for _, address := range []string{"127.0.0.9", "127.0.0.10"} {
		links := loopback(t, address)
		go func() {
			teller, err := claimHere(t, label, links)
			results <- result{teller, err}
		}()
	}
	var got, refused int
	for range 2 {
		r := <-results
		var taken *Taken
		switch {
		case r.err == nil:
			got++
			defer r.teller.Stop()
		case errors.As(r.err, &taken):
			refused++
		default:
			t.Fatal(r.err)
		}
	}
	if got != 1 || refused != 1 {
		t.Errorf("%d got the name and %d were refused; want one each", got, refused)
	}
}

func TestWithoutAnInterfaceNobodyIsAsked(t *testing.T) {
	t.Parallel()
	label := someLabel()
	teller, err := claimHere(t, label, nil)
	if err != nil {
		t.Fatal(err)
	}
	defer teller.Stop()
	if w := teller.Warnings(); len(w) != 1 || !strings.HasPrefix(w[0], "no network interface is up") {
		t.Errorf("got %q, want a warning that no interface is up", w)
	}
	teller.Move(loopback(t, "127.0.0.9"))
	seenHere(t, label, "127.0.0.9")
	if w := teller.Warnings(); len(w) > 0 {
		t.Errorf("an interface came up, and it warns of %q", w)
	}
}

func TestARivalIsNoticed(t *testing.T) {
	t.Parallel()
	label := someLabel()
	first, err := claimHere(t, label, loopback(t, "127.0.0.9"))
	if err != nil {
		t.Fatal(err)
	}
	defer first.Stop()
	second, err := claimHere(t, label, nil) // on a network of its own
	if err != nil {
		t.Fatal(err)
	}
	defer second.Stop()
	second.Move(loopback(t, "127.0.0.10")) // on which both are
	for _, c := range []struct {
		teller *Teller
		rival  string
	}{{first, "127.0.0.10"}, {second, "127.0.0.9"}} {
		want := "another device on this network, " + c.rival + ", calls itself " + label + ".local as well"
		until(t, want, func() bool { w := c.teller.Warnings(); return len(w) == 1 && strings.HasPrefix(w[0], want) })
	}
}

func TestARivalThatIsNoLongerHeardIsForgotten(t *testing.T) {
	t.Parallel()
	label := someLabel()
	teller, err := claimHere(t, label, loopback(t, "127.0.0.9"))
	if err != nil {
		t.Fatal(err)
	}
	defer teller.Stop()
	rival, err := claimHere(t, label, nil)
	if err != nil {
		t.Fatal(err)
	}
	rival.Move(loopback(t, "127.0.0.10"))
	until(t, "the rival is known", func() bool { return len(teller.Warnings()) == 1 })

	w := listenHere(t, label)
	within := func(do func()) { // as the teller's own clock does
		done := make(chan struct{})
		teller.moved <- func() { do(); close(done) }
		<-done
	}
	within(teller.lookForRival)
	w.hears("the question whether it is still there", func(m message, _ dnsmessage.Message) bool {
		return len(m.asked) == 1 && len(m.claims) == 0
	})
	rival.Stop()
	until(t, "the rival is forgotten", func() bool { // what it said last may be read late
		within(func() {
			teller.mu.Lock()
			teller.rival.heard = time.Now().Add(-rivalGone - time.Second)
			teller.mu.Unlock()
			teller.lookForRival()
		})
		return len(teller.Warnings()) == 0
	})
}

func until(t *testing.T, what string, so func() bool) {
	t.Helper()
	for limit := time.Now().Add(time.Minute); !so(); time.Sleep(10 * time.Millisecond) {
		if time.Now().After(limit) {
			t.Fatalf("a minute later it is not so: %s", what)
		}
	}
}
