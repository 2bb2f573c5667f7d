package main

import (
	"crypto/ed25519"
	"crypto/sha256"
	"crypto/x509"
	"encoding/pem"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net/url"
	"os"
	"path/filepath"
	"time"

	"evenwhite/api/pairing"
	"evenwhite/server/command"
)

const keysManual = `NAME
    evenwhite keys - draw a new key for tokens

SYNOPSIS
    evenwhite keys [--data FOLDER] [--new]

DESCRIPTION
    The server signs the tokens of its devices with a key. It lies in the folder
    keys within the data folder, with mode 0600, and in nothing that evenwhite
    copies: no backup and no bundle holds it. Whoever has it can act as any
    device. A server without one, such as a restored one, draws one when it starts.

    --new draws another, for when the folder came into other hands: every token of
    before is void at once. Devices stay paired, and get new tokens with the secret
    that they hold. Where a server runs on the folder, it draws the key itself.

    Prints the fingerprint of the key and since when it holds.

OPTIONS
    --data FOLDER   the data folder (default ./evenwhite-data)
    --new           draw another key

EXIT STATUS
    0  the key is told, or drawn
    1  there is none, or it could not be read or written
    2  the command line was not understood
    4  another process is using the data folder

EXAMPLES
    evenwhite keys --new
`

// keysName is the folder of a data folder in which private keys lie; what backups copy
// lies beside it.
const keysName = "keys"

func keyFile(folder string) string { return filepath.Join(folder, keysName, "tokens.pem") }

const pemType = "PRIVATE KEY" // PKCS #8

func keys(t command.Terminal, args []string) error {
	fs, folder := command.Options("keys")
	fresh := fs.Bool("new", false, "")
	if err := command.Parse(fs, args); err != nil {
		return err
	}
	if !*fresh {
		return describeKey(t.Out, *folder)
	}
	err := callConsole(*folder, "new-key", nil, t.Out)
	if !errors.Is(err, errNotRunning) {
		return err
	}
	if err := needData(*folder); err != nil {
		return err
	}
	store, err := openStore(*folder) // keeps a server from starting with the old one
	if err != nil {
		return err
	}
	_, err = drawKey(*folder)
	if err == nil {
		err = describeKey(t.Out, *folder)
	}
	return errors.Join(err, store.Close())
}

// newKeyTask has a running server sign with another key.
func newKeyTask(folder string, auth *pairing.Auth) task {
	return func(w io.Writer, _ url.Values) error {
		key, err := drawKey(folder)
		if err != nil {
			return err
		}
		auth.Rekey(key)
		return describeKey(w, folder)
	}
}

// describeKey names the key by its public half, which is no secret.
func describeKey(w io.Writer, folder string) error {
	key, err := readKey(keyFile(folder))
	if errors.Is(err, os.ErrNotExist) {
		return command.Fail(fmt.Errorf("there is no key in %s", folder), "a server draws one when it starts")
	}
	if err != nil {
		return err
	}
	info, err := os.Stat(keyFile(folder))
	if err != nil {
		return err
	}
	public := sha256.Sum256(key.Public().(ed25519.PublicKey))
	_, err = fmt.Fprintf(w, "Tokens are signed by the key %x, since %s.\n", public[:8], info.ModTime().UTC().Format(time.RFC3339))
	return err
}

// openKey reads the key that signs tokens, or draws it where there is none. One that
// cannot be written, for the disk is full, will do until the next start: devices get new
// tokens with their secrets then, and reading goes on meanwhile.
func openKey(folder string, log *slog.Logger) (ed25519.PrivateKey, error) {
	key, err := readKey(keyFile(folder))
	if !errors.Is(err, os.ErrNotExist) {
		return key, err
	}
	if key, err = drawKey(folder); err != nil {
		log.Warn("the key that signs tokens could not be written: tokens are void at the next start", "error", err)
	}
	return key, nil
}

func readKey(path string) (ed25519.PrivateKey, error) {
	b, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	if info, err := os.Stat(path); err != nil {
		return nil, err
	} else if info.Mode().Perm()&0o077 != 0 { // a copy may bring another mode
		if err := os.Chmod(path, 0o600); err != nil {
			return nil, err
		}
	}
	var parsed any
	if block, _ := pem.Decode(b); block != nil && block.Type == pemType {
		parsed, _ = x509.ParsePKCS8PrivateKey(block.Bytes)
	}
	key, ok := parsed.(ed25519.PrivateKey)
	if !ok {
		return nil, command.Fail(fmt.Errorf("%s is no Ed25519 key in PEM", path),
			"evenwhite keys --new draws another; devices stay paired, and get new tokens with their secrets")
	}
	return key, nil
}

// drawKey puts a new key in the place of the one before. It returns the key also where it
// could not be written.
func drawKey(folder string) (ed25519.PrivateKey, error) {
	key := pairing.DrawKey()
	b, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		return nil, err
	}
	path := keyFile(folder)
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return key, err
	}
	if err := syncFolder(folder); err != nil {
		return key, err
	}
	return key, writeWhole(path, 0o600, func(w io.Writer) error {
		return pem.Encode(w, &pem.Block{Type: pemType, Bytes: b})
	})
}
