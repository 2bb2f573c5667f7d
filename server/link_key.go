package main

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"sync"

	"evenwhite/server/command"
)

func linkKeyFile(folder string) string { return filepath.Join(folder, keysName, "links.pem") }

// openLinkKey reads the key by which this server proves itself to those that it is linked with, and
// draws it when the first link is made.
func openLinkKey(folder string, log *slog.Logger) func() (*ecdsa.PrivateKey, error) {
	path := linkKeyFile(folder)
	var mu sync.Mutex
	var key *ecdsa.PrivateKey
	return func() (*ecdsa.PrivateKey, error) {
		mu.Lock()
		defer mu.Unlock()
		if key != nil {
			return key, nil
		}
		b, err := readSecret(path, log, "evenwhite unlink, then evenwhite link with a new code")
		if errors.Is(err, os.ErrNotExist) {
			drawn, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
			if err == nil {
				err = writeKey(folder, path, drawn)
			}
			if err != nil { // a link by a key that is nowhere would be lost at the next start
				return nil, err
			}
			key = drawn
			return key, nil
		}
		if err != nil {
			return nil, err
		}
		found, ok := keyOf(b).(*ecdsa.PrivateKey)
		if !ok || found.Curve != elliptic.P256() {
			return nil, command.Fail(fmt.Errorf("%s is no P-256 key in PEM", path),
				"remove it, and link anew with a new code: every edit stays")
		}
		key = found
		return key, nil
	}
}
