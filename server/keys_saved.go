package main

import (
	"bufio"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/url"
	"os"
	"path/filepath"
	"strings"

	"evenwhite/logbook"
	"evenwhite/server/command"
	"evenwhite/server/lan"
	"evenwhite/server/lan/authority"
	"evenwhite/server/seal"
)

// savedKeys is what keys --save seals: by what phones know a server.
type savedKeys struct {
	Origin    lan.Origin `json:"origin"`
	Authority string     `json:"authority"` // PEM
	Tokens    string     `json:"tokens"`    // PEM
}

// saveKeys seals the keys of a data folder into a file, which must not be there.
func saveKeys(t command.Terminal, folder, file string) error {
	if in, err := within(folder, file); err != nil || in {
		return errors.Join(err, command.Fail(fmt.Errorf("%s lies in the data folder", file),
			"keep saved keys apart from data and backups, on a card of their own"))
	}
	var saved savedKeys
	var err error
	if saved.Origin, err = originOf(folder); err != nil {
		return err
	}
	for path, to := range map[string]*string{authorityFile(folder): &saved.Authority, keyFile(folder): &saved.Tokens} {
		b, err := os.ReadFile(path)
		if errors.Is(err, os.ErrNotExist) {
			return command.Fail(fmt.Errorf("%s is not there", path), "a server that makes its own certificates draws it when it starts; "+
				"where certificates come from elsewhere, keep their files")
		}
		if err != nil {
			return err
		}
		*to = string(b)
	}
	b, err := json.Marshal(saved)
	if err != nil {
		return err
	}
	if exists(file) {
		return command.Fail(fmt.Errorf("%s is there already", file), "name another; nothing is overwritten")
	}
	passphrase := seal.Draw()
	if err := writeWhole(file, 0o600, func(w io.Writer) error { return seal.Write(w, passphrase, b) }); err != nil {
		return err
	}
	_, err = fmt.Fprintf(t.Out, "The name, the root and the keys of %s are sealed in %s. It opens with\n\n    %s\n\n"+
		"which is written nowhere else. Whoever has both can pass for this server: keep them apart from each other, and from data and backups.\n"+
		"To go on with them on another machine: evenwhite serve --keys %s\n", saved.Origin, file, passphrase, file)
	return err
}

// within reports whether a file would lie in a folder.
func within(folder, file string) (bool, error) {
	a, err := filepath.Abs(folder)
	if err != nil {
		return false, err
	}
	b, err := filepath.Abs(file)
	if err != nil {
		return false, err
	}
	rel, err := filepath.Rel(a, b)
	return err == nil && filepath.IsLocal(rel), nil
}

// originOf asks the server that runs on a folder, or the data in one that rests.
func originOf(folder string) (o lan.Origin, err error) {
	var answer strings.Builder
	if err = callConsole(folder, "origin", nil, &answer); err == nil {
		return o, o.UnmarshalBinary([]byte(answer.String()))
	}
	if !errors.Is(err, errNotRunning) {
		return o, err
	}
	if err = needData(folder); err != nil {
		return o, err
	}
	store, err := openStore(folder)
	if err != nil {
		return o, err
	}
	o, err = needOrigin(store)
	return o, errors.Join(err, store.Close())
}

func needOrigin(store logbook.Store) (lan.Origin, error) {
	o, ok, err := readOrigin(store)
	if err == nil && !ok {
		err = command.Fail(errors.New("the data have no name yet"), "the first start of evenwhite serve without --listen gives them one")
	}
	return o, err
}

func (h *host) originTask(w io.Writer, _ url.Values) error {
	o, err := needOrigin(h.store)
	if err != nil {
		return err
	}
	b, err := o.MarshalBinary()
	if err == nil {
		_, err = w.Write(b)
	}
	return err
}

// takeSavedKeys puts what keys --save sealed into the data folder, and gives the data its
// origin where they have none. Keys that are there already are never replaced.
func (h *host) takeSavedKeys() error {
	saved, err := h.openSavedKeys()
	if err != nil {
		return err
	}
	root, err := authority.Parse([]byte(saved.Authority))
	if err != nil {
		return fmt.Errorf("%s: %w", h.keysFile, err)
	}
	own, err := readAuthority(h.folder, h.log)
	switch {
	case err == nil && own.Fingerprint() == root.Fingerprint():
		return nil // taken at an earlier start
	case err == nil:
		return command.Fail(fmt.Errorf("%s has keys of its own, for %s", h.folder, own.Host()),
			"nothing was changed. Phones trust either root: to go on with the saved one, first move "+authorityFile(h.folder)+" out of the way")
	case !errors.Is(err, os.ErrNotExist):
		return err
	}
	kept, isKept, err := readOrigin(h.store)
	if err != nil {
		return err
	}
	if isKept && kept != saved.Origin {
		return command.Fail(fmt.Errorf("%s is for %s, and the data belong to %s", h.keysFile, saved.Origin, kept), "nothing was changed")
	}
	if !exists(keyFile(h.folder)) {
		if err := writeSecret(h.folder, keyFile(h.folder), []byte(saved.Tokens)); err != nil {
			return err
		}
	}
	b, err := saved.Origin.MarshalBinary()
	if err == nil {
		err = h.store.Keep(keptOrigin, b)
	}
	if err != nil {
		return err
	}
	return keepAuthority(h.folder, root) // last: it says that all is taken
}

func (h *host) openSavedKeys() (saved savedKeys, err error) {
	f, err := os.Open(h.keysFile)
	if err != nil {
		return saved, err
	}
	defer f.Close()
	passphrase, err := h.askPassphrase()
	if err != nil {
		return saved, err
	}
	b, err := seal.Read(f, passphrase)
	if err != nil {
		return saved, command.Fail(fmt.Errorf("%s: %w", h.keysFile, err),
			"nothing was changed. Five groups of four letters open it, as evenwhite keys --save printed them")
	}
	err = json.Unmarshal(b, &saved)
	return saved, err
}

// askPassphrase reads a line at the terminal, or the file that stands for it.
func (h *host) askPassphrase() (string, error) {
	if h.passphrase != "" {
		b, err := os.ReadFile(h.passphrase)
		return string(b), err
	}
	if h.t.In == nil {
		return "", command.Misuse("serve", "nobody is at the terminal to type the passphrase of %s: --passphrase names a file with it",
			h.keysFile)
	}
	fmt.Fprintf(h.t.Out, "The passphrase of %s: ", h.keysFile)
	line, err := bufio.NewReader(h.t.In).ReadString('\n')
	if errors.Is(err, io.EOF) {
		err = nil
	}
	return line, err
}
