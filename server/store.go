package main

import (
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"os"
	"time"

	"evenwhite/logbook"
	"evenwhite/server/command"
)

// A servedStore is one that a server works on: a database in its folder, or what several processes
// of a studio share.
type servedStore interface {
	logbook.Store
	copier
	Changes() (uint64, error) // a number that rises with what is written
	Writable() error
	Full() bool
}

// A remoteStore lies beyond this machine.
type remoteStore interface {
	Warnings() []string
	AsOf() time.Time // how new what is read is, while the store does not answer; else zero
}

// A storeAddress says where a store lies that is no folder, and how it is entered.
type storeAddress struct {
	url, prefix        string
	ca, cert, key      string // files
	user, passwordFile string
}

// alone says which option lacks the one that it belongs with, or "".
func (a storeAddress) alone() string {
	switch {
	case (a.cert == "") != (a.key == ""):
		return "--store-cert and --store-key belong together"
	case (a.user == "") != (a.passwordFile == ""):
		return "--store-user and --store-password belong together"
	}
	return ""
}

// openRemote opens a store beyond this machine; nil in the program of a set.
var openRemote func(storeAddress) (servedStore, error)

func (a storeAddress) open() (servedStore, error) {
	if openRemote == nil {
		return nil, command.Fail(fmt.Errorf("this program has its data in a folder, and cannot open %s", a.url),
			"a studio's program can: make studio builds ./evenwhite-studio")
	}
	return openRemote(a)
}

// openServed opens the store that a server works on, and makes its folder.
func openServed(o serveOptions) (servedStore, error) {
	if o.store.url == "" {
		if err := makeFolder(o.folder); err != nil {
			return nil, err
		}
		return openStore(o.folder)
	}
	if exists(databaseOf(o.folder)) {
		return nil, command.Fail(fmt.Errorf("%s holds data of its own", o.folder),
			"name a folder for what belongs to this process alone, with --data")
	}
	if err := os.MkdirAll(o.folder, 0o700); err != nil {
		return nil, command.Fail(err, "choose another folder with --data")
	}
	if err := callConsole(o.folder, "who", nil, os.Stderr); !errors.Is(err, errNotRunning) {
		return nil, command.FailAs(command.ExitInUse, fmt.Errorf("another process has the folder %s", o.folder),
			"each has one of its own: --data")
	}
	return o.store.open()
}

// keptKey is the name under which a store that several processes share names the key that signs tokens.
const keptKey = "server/key"

func nameOfKey(key ed25519.PrivateKey) []byte {
	sum := sha256.Sum256(key.Public().(ed25519.PublicKey))
	return []byte(hex.EncodeToString(sum[:8]))
}

// openSharedKey opens the key that signs tokens. Processes that share a store sign by one key, which lies
// in the folder of each and not in the store: whoever reads the store, or a backup, is nobody by it.
func (h *host) openSharedKey() (ed25519.PrivateKey, error) {
	shared := logbook.SharingOf(h.store)
	if shared == nil {
		return openKey(h.folder, h.log)
	}
	kept, err := h.store.Kept(keptKey)
	if err != nil {
		return nil, err
	}
	other := func(why string) error {
		return command.Fail(fmt.Errorf("the processes of this store sign tokens by the key %s; %s", kept, why),
			"copy the file keys/tokens.pem from the folder of one that runs to "+keyFile(h.folder)+", for its owner alone to read")
	}
	if kept != nil && !exists(keyFile(h.folder)) {
		return nil, other("there is none in " + h.folder)
	}
	key, err := openKey(h.folder, h.log)
	if err != nil {
		return nil, err
	}
	if kept == nil {
		done, err := shared.Swap(keptKey, nil, nameOfKey(key))
		if err != nil || done {
			return key, err
		}
		if kept, err = h.store.Kept(keptKey); err != nil {
			return nil, err
		}
	}
	if string(kept) != string(nameOfKey(key)) {
		return nil, other(fmt.Sprintf("that in %s is %s", h.folder, nameOfKey(key)))
	}
	return key, nil
}

// asOf tells how new what is read is; nil of a store on this machine.
func (h *host) asOf() func() time.Time {
	if away, ok := h.store.(remoteStore); ok {
		return away.AsOf
	}
	return nil
}

// A linkStore keeps links. Of a store that is shared the process that made them follows them, which
// has the key for that.
type linkStore struct{ logbook.Store }

func (linkStore) KeptUnder(string) ([]logbook.KeptValue, error) { return nil, nil }

func linksOf(store logbook.Store, folder string) logbook.Store {
	if logbook.SharingOf(store) != nil && !exists(linkKeyFile(folder)) {
		return linkStore{store}
	}
	return store
}
