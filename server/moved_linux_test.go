package main

import (
	"log/slog"
	"path/filepath"
	"regexp"
	"testing"

	"evenwhite/server/browsertest"
)

// A browser keeps what a phone has not sent by the origin. The server comes back on another
// address, under the same name: to the browser it is the same one.
func TestWhatABrowserHasNotSentIsSentWhenTheServerCameBackElsewhere(t *testing.T) {
	cart, phone := cartAndPhone(t)
	data, home := filepath.Join(t.TempDir(), "data"), t.TempDir()
	const origin = "https://set7.local:8443"
	said, stop := serveOn(t, cart, data, "--name", "set7")
	a, err := readAuthority(data, slog.New(slog.DiscardHandler))
	if err != nil {
		t.Fatal(err)
	}
	code := regexp.MustCompile(`(?m)^    ([A-Z]{8})$`).FindStringSubmatch(said)
	if code == nil {
		t.Fatalf("it prints no code: %s", said)
	}
	type found struct {
		At            string
		Secure        bool
		Outcome, Text string
	}
	var before, after found
	browsertest.Browser{Trusts: a.Root(), Home: home, On: phone.Command}.Run(t, "../testdata/browser/moved.mjs",
		map[string]any{"origin": origin, "code": code[1]}, &before)
	if before.At != origin || !before.Secure {
		t.Errorf("it was at %+v", before)
	}

	stop()
	cart.HasNot("e0", "10.9.8.1/24")
	cart.HasNot("e0", "fd00:9::1/64")
	cart.Has("e0", "10.9.8.77/24")
	serveOn(t, cart, data)
	browsertest.Browser{Home: home, On: phone.Command}.Run(t, "../testdata/browser/moved.mjs", map[string]any{"origin": origin}, &after)
	if want := (found{origin, true, "taken", "a bird in the shot"}); after != want {
		t.Errorf("it found %+v, want %+v", after, want)
	}
}
