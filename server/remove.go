package main

import (
	"errors"
	"fmt"
	"io"
	"net/url"
	"os"
	"path/filepath"
	"time"

	"evenwhite/api/pairing/audit"
	"evenwhite/api/removal"
	"evenwhite/logbook"
	"evenwhite/server/command"
)

const removeManual = `NAME
    evenwhite remove - take a production off this server

SYNOPSIS
    evenwhite remove [--data FOLDER] --production ID [--to FOLDER]

DESCRIPTION
    After wrap, for the room. It writes the files of the production into a folder of
    its own, reads them back, and only then removes the production, in one step:

        edits.bundle        all edits, also those that were refused
        color-log.csv       what post gets, in both forms
        color-log.json
        clashes.bundle      edits whose dot another one had, if there are any
        left-aside.bundle   edits of its settings that an owner left aside, if any

    Where anything fails, or comes in meanwhile, nothing is removed. While edits of
    its settings wait for an owner, or edits are damaged, it is refused.

    From then on a device that brings the production is told when it was removed, and
    keeps all that it holds. evenwhite check and the list of productions tell what was
    removed. Devices stay admitted, with their roles. Backups that were made before
    still hold the production: restoring one brings it back. The other files are the
    only ones that evenwhite keeps: put a copy of the folder elsewhere.

    The room in the database is used again by what is logged next. evenwhite compact,
    with the server stopped, gives it back to the disk.

    evenwhite bundle take --again FILE takes the production in again. Its devices
    then bring what they have beyond it. A bundle that was left beside the log is
    taken in only by whoever names it.

    It works with and without a running server.

OPTIONS
    --data FOLDER     the data folder (default ./evenwhite-data)
    --production ID   the production; must be named also where there is only one
    --to FOLDER       where to put the folder, such as a memory card; it must be
                      there (default: the folder removed within the data folder)

EXIT STATUS
    0  it is removed
    1  it is not: there is no such production, or something must be done first
    2  the command line was not understood
    3  the data is damaged
    4  another process is using the data folder

EXAMPLES
    evenwhite remove --production 01c172d3-d080-78be-a357-e0bc06d5d747 --to /media/card
`

// removalsName is the folder within a data folder for the files of removed productions.
const removalsName = "removed"

func removalsOf(folder string) string { return filepath.Join(folder, removalsName) }

func remove(t command.Terminal, args []string) error {
	fs, folder := command.Options("remove")
	query := make(url.Values)
	productionOption(fs, query)
	to := fs.String("to", "", "")
	if err := command.Parse(fs, args); err != nil {
		return err
	}
	if query.Get("production") == "" {
		return command.Misuse("remove", "--production is missing: what is removed must be named")
	}
	if *to == "" {
		*to = removalsOf(*folder)
	} else if info, err := os.Stat(*to); err != nil || !info.IsDir() {
		return command.Fail(errors.Join(err, fmt.Errorf("--to: %s is no folder", *to)), "name a folder that is there; nothing was removed")
	}
	into, err := filepath.Abs(*to) // a running server stands in another folder
	if err != nil {
		return err
	}
	query.Set("to", into)
	return atBooks(t, *folder, "remove", query, books.remove)
}

// remove takes the production off the server whose id stands in a parameter.
func (d books) remove(w io.Writer, query url.Values) error {
	l, err := d.production(query)
	if err != nil {
		return err
	}
	into := query.Get("to")
	mark, err := d.logs.Remove(l.Production(), removal.Order{Into: into, Program: programName(), By: "this machine", Now: time.Now()})
	switch {
	case errors.Is(err, logbook.ErrWentOn):
		return command.Fail(err, "somebody still logs; remove it again when that is over")
	case errors.Is(err, removal.ErrUnready):
		return command.Fail(err, "nothing was removed")
	case err != nil:
		return storeFailure(err)
	}
	d.audited(audit.Removed, mark.Title+" ("+mark.Production.String()+")")
	folder := filepath.Join(into, mark.Folder)
	fmt.Fprintf(w, "%s. Its files were written and read back, in %s:\n", mark, folder)
	for _, f := range mark.Files {
		fmt.Fprintf(w, "    %-18s %9d bytes  SHA-256 %s\n", f.Name, f.Bytes, f.SHA256)
	}
	room := "What is logged next uses its room in the database. To give that back to the disk, with the server stopped: " +
		"evenwhite compact"
	if logbook.SharingOf(d.store) != nil {
		room = "What is logged next uses its room in etcd. To give that back to the disks: etcdctl compact and etcdctl defrag"
	}
	_, err = fmt.Fprintf(w, "It had %d edits. Put a copy of the folder elsewhere.\n%s\n"+
		"To take it in again: evenwhite bundle take --again %s\n", mark.Edits, room, filepath.Join(folder, "edits.bundle"))
	return err
}

// audited lists what was done at the machine.
func (d books) audited(what, about string) {
	d.auth.Audit().Add(audit.Entry{At: time.Now(), What: what, By: "this machine", About: about})
}

// wasRemoved is the failure about a production that was removed, or nil.
func wasRemoved(store logbook.Store, production logbook.ID) error {
	mark, err := removal.Find(store, production)
	if err != nil || mark == nil {
		return err
	}
	return command.Fail(fmt.Errorf("%s; its files are in the folder %s", mark, mark.Folder),
		"evenwhite bundle take --again FILE takes it in again")
}
