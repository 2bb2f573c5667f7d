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
	"evenwhite/logbook"
	"evenwhite/logbook/bolt"
	"evenwhite/server/command"
)

const keysManual = `NAME
    evenwhite keys - tell, draw anew or save the server's keys

SYNOPSIS
    evenwhite keys [--data FOLDER] [--new | --new-root | --save FILE]

DESCRIPTION
    A server has two private keys: one signs the tokens of its devices, the other
    the certificate that it shows. They lie in the folder keys within the data
    folder, with mode 0600, and in nothing that evenwhite copies: no backup and no
    bundle holds them. Whoever has them can act as any device, and pass for this
    server on its network. A server without them, such as a restored one, draws
    new ones when it starts: devices get new tokens with what they hold, and each
    phone installs the new root certificate once. Its edits stay.

    Without an option it prints the fingerprints of both keys, and until when they
    hold.

    --new draws another key for tokens, for when the folder came into other hands:
    the token of every device is void at once. Devices stay paired, and get new
    tokens by their keys or secrets. The token of a script is signed by no key: the
    folder holds its hash alone, which lets nobody in; it holds until it ends or is
    revoked. Where a server runs on the folder, it draws the key itself.

    --new-root draws another root with its key, for the same case, or before the
    root runs out. The server must be stopped. Each phone installs the new root
    once and removes the old one; whoever has the old key can pass for the server
    to phones that do not.

    --save seals name, root and both keys in FILE, so that another machine can go on
    with them when this one dies, and phones notice nothing: evenwhite serve --keys
    FILE. It draws the passphrase and prints it, once. FILE is in the format of age
    (age -d opens it too); keep it apart from data and backups, and from the
    passphrase.

OPTIONS
    --data FOLDER   the data folder (default ./evenwhite-data)
    --new           draw another key for tokens
    --new-root      draw another root
    --save FILE     seal the keys in a file that is not there yet

EXIT STATUS
    0  the keys are told, drawn or saved
    1  there are none, or they could not be read or written
    2  the command line was not understood
    4  another process is using the data folder

EXAMPLES
    evenwhite keys --new
    evenwhite keys --save /media/card/set7.keys
`

// keysName is the folder of a data folder in which private keys lie; what backups copy
// lies beside it.
const keysName = "keys"

func keyFile(folder string) string { return filepath.Join(folder, keysName, "tokens.pem") }

const pemType = "PRIVATE KEY" // PKCS #8

func keys(t command.Terminal, args []string) error {
	fs, folder := command.Options("keys")
	fresh := fs.Bool("new", false, "")
	root := fs.Bool("new-root", false, "")
	file := fs.String("save", "", "")
	if err := command.Parse(fs, args); err != nil {
		return err
	}
	wished := 0
	for _, is := range []bool{*fresh, *root, *file != ""} {
		if is {
			wished++
		}
	}
	switch {
	case wished > 1:
		return command.Misuse("keys", "--new, --new-root and --save are done one at a time")
	case *root:
		return newRoot(t.Out, *folder)
	case *file != "":
		return saveKeys(t, *folder, *file)
	case *fresh:
		return newKey(t.Out, *folder)
	}
	if err := describeKey(t.Out, *folder); err != nil {
		return err
	}
	a, err := readAuthority(*folder, slog.New(slog.NewTextHandler(t.Err, nil)))
	if err == nil {
		describeRoot(t.Out, a)
	}
	if errors.Is(err, os.ErrNotExist) { // of a server with --listen, or a certificate from elsewhere
		return nil
	}
	return err
}

// newKey draws another key for tokens, or has the server that runs on the folder do it.
func newKey(w io.Writer, folder string) error {
	return orAtRest(folder, "new-key", nil, w, func(*bolt.Store) error { // which keeps a server from starting with the old one
		if _, err := drawKey(folder); err != nil {
			return err
		}
		return describeKey(w, folder)
	})
}

// newKeyTask has a running server sign with another key.
func newKeyTask(folder string, d books) task {
	return func(w io.Writer, _ url.Values) error {
		key, err := drawKey(folder)
		if err != nil {
			return err
		}
		d.auth.Rekey(key)
		if logbook.SharingOf(d.store) != nil {
			if err := d.store.Keep(keptKey, nameOfKey(key)); err != nil {
				return err
			}
			fmt.Fprintf(w, "Copy %s to the other processes of the studio, and start them anew.\n", keyFile(folder))
		}
		return describeKey(w, folder)
	}
}

// describeKey names the key by its public half, which is no secret.
func describeKey(w io.Writer, folder string) error {
	key, err := readKey(keyFile(folder), slog.New(slog.DiscardHandler))
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
// tokens by their keys then, and reading goes on meanwhile.
func openKey(folder string, log *slog.Logger) (ed25519.PrivateKey, error) {
	key, err := readKey(keyFile(folder), log)
	if !errors.Is(err, os.ErrNotExist) {
		return key, err
	}
	if key, err = drawKey(folder); err != nil {
		log.Warn("the key that signs tokens could not be written: tokens are void at the next start", "error", err)
	}
	return key, nil
}

func readKey(path string, log *slog.Logger) (ed25519.PrivateKey, error) {
	b, err := readSecret(path, log, "evenwhite keys --new")
	if err != nil {
		return nil, err
	}
	key, ok := keyOf(b).(ed25519.PrivateKey)
	if !ok {
		return nil, command.Fail(fmt.Errorf("%s is no Ed25519 key in PEM", path),
			"evenwhite keys --new draws another; devices stay paired, and get new tokens by their keys")
	}
	return key, nil
}

// drawKey puts a new key in the place of the one before. It returns the key also where it
// could not be written.
func drawKey(folder string) (ed25519.PrivateKey, error) {
	key := pairing.DrawKey()
	return key, writeKey(folder, keyFile(folder), key)
}

// keyOf is the private key in a text of PEM, or nil.
func keyOf(b []byte) any {
	block, _ := pem.Decode(b)
	if block == nil || block.Type != pemType {
		return nil
	}
	key, _ := x509.ParsePKCS8PrivateKey(block.Bytes)
	return key
}

// writeKey writes a private key into the folder keys.
func writeKey(folder, path string, key any) error {
	b, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		return err
	}
	return writeSecret(folder, path, pem.EncodeToMemory(&pem.Block{Type: pemType, Bytes: b}))
}

// readSecret reads a file with a key. One that others could read, as after a copy, is closed to
// them; renew is the command that makes another key, where somebody may have read it.
func readSecret(path string, log *slog.Logger, renew string) ([]byte, error) {
	b, err := os.ReadFile(path)
	if errors.Is(err, os.ErrNotExist) {
		return nil, err
	}
	if err != nil {
		return nil, command.Fail(err, "nothing was changed. The server must be able to read its keys: start it as the user who owns the folder")
	}
	if info, err := os.Stat(path); err != nil {
		return nil, err
	} else if info.Mode().Perm()&0o077 != 0 {
		if err := os.Chmod(path, 0o600); err != nil {
			return nil, command.Fail(fmt.Errorf("others can read %s, and that cannot be changed: %w", path, err), "chmod 600 "+path)
		}
		log.Warn("others could read a key of the server; now they cannot", "file", path, "advice", "if somebody may have: "+renew)
	}
	return b, nil
}

// writeSecret writes a file of the folder keys, which it makes where it is not there.
func writeSecret(folder, path string, b []byte) error {
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return err
	}
	if err := syncFolder(folder); err != nil {
		return err
	}
	return writeWhole(path, 0o600, func(w io.Writer) error {
		_, err := w.Write(b)
		return err
	})
}
