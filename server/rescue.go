package main

import (
	"bytes"
	"flag"
	"fmt"
	"io"
	"maps"
	"os"
	"path/filepath"
	"slices"

	"evenwhite/logbook"
	"evenwhite/logbook/bolt"
	"evenwhite/logbook/exchange"
	"evenwhite/server/command"
)

const rescueManual = `NAME
    evenwhite rescue - read what is left of a damaged database

SYNOPSIS
    evenwhite rescue FILE FOLDER

DESCRIPTION
    Where a page of FILE, such as evenwhite-data/evenwhite.db, is damaged, no server
    opens it. Go on from the newest backup (evenwhite help restore), and let every
    device exchange: they bring what came after it. What no device has, such as what
    was changed at the server since, may stand in FILE all the same.

    rescue reads it page after page, takes every edit whose bytes give the hash that
    was stored beside them, and writes the edits of each production into a bundle in
    FOLDER, which is made. FILE is not changed. Taking a bundle in does no harm: what
    is there already is counted as a repeat.

        evenwhite restore --data ./new BACKUP
        evenwhite rescue evenwhite-data/evenwhite.db ./rescued
        evenwhite bundle take --data ./new ./rescued/PRODUCTION.bundle

    An edit that stood on a damaged page is not in it. Nor is what lay outside of the
    log: edits that wait for an owner, clashes, and the devices and their keys. Of a
    production that was removed, edits may be left on pages that are free.

EXIT STATUS
    0  the bundles are written
    1  they could not be, or FILE holds no edit
    2  the command line was not understood

EXAMPLES
    evenwhite rescue evenwhite-data/evenwhite.db ./rescued
`

func rescue(t command.Terminal, args []string) error {
	fs := flag.NewFlagSet("rescue", flag.ContinueOnError)
	fs.SetOutput(io.Discard)
	if err := command.Parse(fs, args, "FILE", "FOLDER"); err != nil {
		return err
	}
	file, folder := fs.Arg(0), fs.Arg(1)
	found := map[logbook.ID]int{}
	err := bolt.Rescue(file, func(production logbook.ID, _ logbook.Entry) error {
		found[production]++
		return nil
	})
	if err != nil {
		return err
	}
	if len(found) == 0 {
		return command.Fail(fmt.Errorf("%s holds no edit that could be read", file), "evenwhite help restore says how to go on from a backup")
	}
	if err := os.MkdirAll(folder, 0o700); err != nil {
		return err
	}
	inOrder := func(a, b logbook.ID) int { return bytes.Compare(a[:], b[:]) }
	for _, production := range slices.SortedFunc(maps.Keys(found), inOrder) {
		path := filepath.Join(folder, production.String()+".bundle")
		if exists(path) {
			return command.Fail(fmt.Errorf("%s exists already", path), "name another folder: a bundle overwrites nothing")
		}
		n := 0
		err := writeWhole(path, 0o600, func(to io.Writer) (err error) {
			n, err = exchange.WriteBundleOf(to, production, ofProduction(file, production))
			return err
		})
		if err != nil {
			return storeFailure(err)
		}
		fmt.Fprintf(t.Out, "%d edits of production %s: %s\n", n, production, path)
	}
	return nil
}

// ofProduction reads the edits of one production out of a damaged file.
func ofProduction(file string, production logbook.ID) func(func(logbook.Entry) error) error {
	return func(take func(logbook.Entry) error) error {
		return bolt.Rescue(file, func(of logbook.ID, e logbook.Entry) error {
			if of != production {
				return nil
			}
			return take(e)
		})
	}
}
