package main

import (
	"errors"
	"fmt"
	"io"
	"log/slog"
	"os"
	"path/filepath"
	"time"

	"evenwhite/server/command"
	"evenwhite/server/lan/authority"
)

func authorityFile(folder string) string { return filepath.Join(folder, keysName, "authority.pem") }

// openAuthority reads the authority of a data folder, or draws it where there is none, or
// where another name is wished. One that cannot be written, for the disk is full, will do
// until the next start.
func openAuthority(folder, host string, rename bool, now time.Time, log *slog.Logger) (*authority.Authority, error) {
	a, err := readAuthority(folder, log)
	switch {
	case errors.Is(err, os.ErrNotExist):
	case err != nil:
		return nil, err
	case a.Host() == host:
		return a, nil
	case !rename:
		return nil, command.Fail(fmt.Errorf("%s is for the name %s, and the data belong to %s", authorityFile(folder), a.Host(), host),
			"nothing was changed. If the file came with another server's data, put back its own. "+
				"Else evenwhite keys --new-root makes one for this name, which each phone installs once")
	}
	if a, err = authority.Draw(host, now); err != nil {
		return nil, clockFailure(err)
	}
	if err := keepAuthority(folder, a); err != nil {
		log.Warn("the server's certificates could not be written: phones that install the root now must install another after the next start",
			"file", authorityFile(folder), "error", err, "advice", "make room on the disk and start again before phones install it")
	}
	return a, nil
}

func clockFailure(err error) error {
	if errors.Is(err, authority.ErrClock) {
		return command.Fail(err, "nothing was changed. Set the clock, as with: date -s '2031-03-04 09:30'. Then start again")
	}
	return err
}

// readAuthority reads the file.
func readAuthority(folder string, log *slog.Logger) (*authority.Authority, error) {
	path := authorityFile(folder)
	b, err := readSecret(path, log, "evenwhite keys --new-root")
	if err != nil {
		return nil, err
	}
	a, err := authority.Parse(b)
	if err != nil {
		return nil, command.Fail(fmt.Errorf("%s cannot be used: %w", path, err),
			"nothing was changed. Put the file back from a copy, or evenwhite keys --new-root makes another, which each phone installs once")
	}
	return a, nil
}

func keepAuthority(folder string, a *authority.Authority) error {
	b, err := a.PEM()
	if err != nil {
		return err
	}
	return writeSecret(folder, authorityFile(folder), b)
}

// newRoot has the data of a folder that rests go on with another root.
func newRoot(w io.Writer, folder string) error {
	if err := needData(folder); err != nil {
		return err
	}
	store, err := openStore(folder)
	if err != nil {
		return err
	}
	origin, err := needOrigin(store)
	var a *authority.Authority
	if err == nil {
		a, err = authority.Draw(origin.Host(), time.Now())
		err = clockFailure(err)
	}
	if err == nil {
		err = keepAuthority(folder, a)
	}
	if err := errors.Join(err, store.Close()); err != nil {
		return err
	}
	describeRoot(w, a)
	_, err = fmt.Fprintln(w, "Each phone must install it once, from the trust page, and remove the one before. "+
		"Phones stay paired, and keep their edits.")
	return err
}

func describeRoot(w io.Writer, a *authority.Authority) {
	fmt.Fprintf(w, "Phones trust the root %s,\nwhich holds for %s until %s.\n",
		authority.Grouped(a.Fingerprint()), a.Host(), a.NotAfter().UTC().Format(time.DateOnly))
}
