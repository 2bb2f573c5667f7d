package main

import (
	"bytes"
	"crypto/ecdsa"
	"crypto/ed25519"
	"crypto/x509"
	"encoding/base64"
	"encoding/hex"
	"encoding/pem"
	"log/slog"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"

	"evenwhite/api/pairing/prooftest"
)

// noKey looks for a folder's keys in a file.
func noKey(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: nokey FOLDER FILE")
	}
	content, err := os.ReadFile(ts.MkAbs(args[1]))
	ts.Check(err)
	if len(content) < 100 {
		ts.Fatalf("%s has %d bytes, which show nothing", args[1], len(content))
	}
	key, err := readKey(keyFile(ts.MkAbs(args[0])), slog.New(slog.DiscardHandler))
	ts.Check(err)
	secrets := [][]byte{key.Seed()}
	if b, err := os.ReadFile(authorityFile(ts.MkAbs(args[0]))); err == nil { // there is none with --listen
		block, _ := pem.Decode(b)
		issuing, err := x509.ParsePKCS8PrivateKey(block.Bytes)
		ts.Check(err)
		secret, err := issuing.(*ecdsa.PrivateKey).Bytes()
		ts.Check(err)
		secrets = append(secrets, secret, block.Bytes)
	}
	for _, secret := range secrets {
		if form := keyIn(content, secret); form != "" {
			ts.Fatalf("%s holds a key %s", args[1], form)
		}
	}
}

// keyIn says in which form a key stands in bytes; "" where it does not.
func keyIn(content, seed []byte) string {
	for form, secret := range map[string]string{
		"as it is": string(seed), "in hexadecimal digits": hex.EncodeToString(seed),
		"in base64": base64.StdEncoding.EncodeToString(seed)[:42], "in base64 for URLs": base64.RawURLEncoding.EncodeToString(seed)[:42],
	} {
		if bytes.Contains(content, []byte(secret)) {
			return form
		}
	}
	return ""
}

// guess tries wrong codes, no address more than ten times.
func guess(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: guess URL N")
	}
	n, err := strconv.Atoi(args[1])
	ts.Check(err)
	guesser := &pass{key: prooftest.Draw()}
	for i := range n {
		from := net.Dialer{LocalAddr: &net.TCPAddr{IP: net.IPv4(127, 0, 0, byte(2+i/10))}}
		client := &http.Client{Transport: &http.Transport{DialContext: from.DialContext, DisableKeepAlives: true}}
		answer, err := guesser.send(client, func() (*http.Request, error) {
			request, err := http.NewRequest(http.MethodPost, args[0]+"/v1/pairing", strings.NewReader(`{"code":"WRONG"}`))
			if err == nil {
				request.Header.Set("Content-Type", "application/json")
			}
			return request, err
		})
		ts.Check(err)
		ts.Check(answer.Body.Close())
		if answer.StatusCode != http.StatusForbidden {
			ts.Fatalf("guess %d is answered %s", i+1, answer.Status)
		}
	}
}

func TestAKeyThatCannotBeWrittenWillDoUntilTheNextStart(t *testing.T) {
	folder := t.TempDir()
	if err := os.Symlink(filepath.Join(folder, "nowhere"), filepath.Join(folder, keysName)); err != nil {
		t.Fatal(err)
	}
	var log bytes.Buffer
	key, err := openKey(folder, slog.New(slog.NewTextHandler(&log, nil)))
	if err != nil || len(key) != ed25519.PrivateKeySize || !strings.Contains(log.String(), "could not be written") {
		t.Errorf("got a key of %d bytes (%v) and the log %s", len(key), err, &log)
	}
}
