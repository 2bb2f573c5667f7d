package main

import (
	"fmt"
	"io"
	"log/slog"
	"net/url"
	"path/filepath"

	"evenwhite/api/pairing"
	"evenwhite/logbook/bolt"
	"evenwhite/server/command"
)

const backupManual = `NAME
    evenwhite backup - copy the data into one file

SYNOPSIS
    evenwhite backup [--data FOLDER] FILE

DESCRIPTION
    Writes one state of all productions and devices into FILE, checks the copy, and
    only then gives it its name. An existing FILE is never overwritten. Where a
    server runs on the folder it goes on working, and writes the file itself.

    The file holds no key: nobody gets into a server with it. It does hold all that
    was logged, for whoever has it to read. Its mode is 0600. Beside it the
    register is brought up to date (register.txt): who was paired and revoked, by
    which evenwhite restore keeps out who is out.

OPTIONS
    --data FOLDER   the data folder (default ./evenwhite-data)

EXIT STATUS
    0  the backup is written and whole
    1  it could not be written
    2  the command line was not understood
    3  the data is damaged; no file was left
    4  another process is using the data folder

EXAMPLES
    evenwhite backup /media/card/evenwhite-2031-03-04.backup
`

func backup(t command.Terminal, args []string) error {
	fs, folder := command.Options("backup")
	if err := command.Parse(fs, args, "FILE"); err != nil {
		return err
	}
	file, err := filepath.Abs(fs.Arg(0)) // a running server stands in another folder
	if err != nil {
		return err
	}
	return orAtRest(*folder, "backup", url.Values{"file": {file}}, t.Out, func(store *bolt.Store) error {
		register, err := pairing.OpenRegister(*folder, slog.New(slog.DiscardHandler))
		if err != nil {
			return err
		}
		return backupTo(t.Out, store, register, file)
	})
}

// A copier is a store that can copy itself into a new file and check the copy.
type copier interface {
	Backup(path string) error
	Lost() int // how many edits are damaged, and in no copy
}

// backupTo copies a store, and beside it the register, by which a restore knows who was
// revoked since.
func backupTo(w io.Writer, store copier, register *pairing.Register, file string) error {
	if exists(file) {
		return command.Fail(fmt.Errorf("%s exists already", file), "choose another name: a backup overwrites nothing")
	}
	if err := store.Backup(file); err != nil {
		return storeFailure(err)
	}
	if err := register.CopyTo(filepath.Dir(file)); err != nil {
		return command.Fail(fmt.Errorf("the backup is written and whole, but not the register beside it: %w", err),
			"copy "+pairing.RegisterName+" from the data folder to it: it tells a restore who was revoked since")
	}
	if n := store.Lost(); n > 0 {
		_, err := fmt.Fprintf(w, "The backup is written: %s\nEdits that are damaged, and not in it: %d. evenwhite check lists them.\n", file, n)
		return err
	}
	_, err := fmt.Fprintf(w, "The backup is written and whole: %s\n", file)
	return err
}
