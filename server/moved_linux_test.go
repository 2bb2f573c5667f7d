package main

import (
	"io"
	"log/slog"
	"path/filepath"
	"regexp"
	"testing"

	"evenwhite/logbook"
	"evenwhite/server/browsertest"
)

// A browser keeps what a phone has not sent by the origin. The server comes back on another
// address, under the same name: to the browser it is the same one. So it is with another root, once
// the phone trusts that.
func TestWhatABrowserHasNotSentIsSentWhenTheServerCameBackElsewhere(t *testing.T) {
	cart, phone := cartAndPhone(t)
	data, home := filepath.Join(t.TempDir(), "data"), t.TempDir()
	const origin = "https://set7.local:8443"
	type found struct {
		At            string
		Secure        bool
		Outcome, Text string
		Refused       string
	}
	visit := func(trusts []byte, code string) (out found) {
		t.Helper()
		browsertest.Browser{Trusts: trusts, Home: home, On: phone.Command}.Run(t, "../testdata/browser/moved.mjs",
			map[string]any{"origin": origin, "code": code}, &out)
		return out
	}
	root := func() []byte {
		t.Helper()
		a, err := readAuthority(data, slog.New(slog.DiscardHandler))
		if err != nil {
			t.Fatal(err)
		}
		return a.Root()
	}

	said, stop := serveOn(t, cart, data, "--name", "set7")
	code := regexp.MustCompile(`(?m)^    ([A-Z]{8})$`).FindStringSubmatch(said)
	if code == nil {
		t.Fatalf("it prints no code: %s", said)
	}
	if got := visit(root(), code[1]); got != (found{At: origin, Secure: true}) {
		t.Errorf("first it found %+v", got)
	}
	stop()
	cart.HasNot("e0", "10.9.8.1/24")
	cart.HasNot("e0", "fd00:9::1/64")
	cart.Has("e0", "10.9.8.77/24")
	_, stop = serveOn(t, cart, data)
	want := found{At: origin, Secure: true, Outcome: logbook.AnswerTaken, Text: "a bird in the shot"}
	if got := visit(nil, ""); got != want {
		t.Errorf("at another address it found %+v, want %+v", got, want)
	}
	stop()
	if err := newRoot(io.Discard, data); err != nil {
		t.Fatal(err)
	}
	serveOn(t, cart, data)
	if got := visit(nil, ""); got.Refused != "ERR_CERT_AUTHORITY_INVALID" {
		t.Errorf("before it trusts the other root it found %+v", got)
	}
	want.Outcome = logbook.AnswerRepeat // it was sent before, and what is sent again is known again
	if got := visit(root(), ""); got != want {
		t.Errorf("with another root it found %+v, want %+v", got, want)
	}
}
