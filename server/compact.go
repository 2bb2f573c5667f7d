package main

import (
	"fmt"

	"evenwhite/logbook/bolt"
	"evenwhite/server/command"
)

const compactManual = `NAME
    evenwhite compact - give back the room of free pages

SYNOPSIS
    evenwhite compact [--data FOLDER]

DESCRIPTION
    Writes the database anew without the pages that are free in it, checks that the
    new file is whole and holds the same, and puts it in the place of the old one.
    Where anything fails, the old file stays. Room for both is needed meanwhile.

    A server on the folder must be stopped first: while one runs, the command is
    refused and nothing is changed. It is never needed: free pages are used again.

OPTIONS
    --data FOLDER   the data folder (default ./evenwhite-data)

EXIT STATUS
    0  the database is written anew
    1  it could not be; the old file is as it was
    2  the command line was not understood
    3  the data is damaged; nothing was changed
    4  another process, such as a server, is using the data folder

EXAMPLES
    evenwhite compact --data /srv/evenwhite
`

func compact(t command.Terminal, args []string) error {
	fs, folder := command.Options("compact")
	if err := command.Parse(fs, args); err != nil {
		return err
	}
	if err := needData(*folder); err != nil {
		return err
	}
	before, after, err := bolt.Compact(databaseOf(*folder))
	if err != nil {
		return storeFailure(err)
	}
	_, err = fmt.Fprintf(t.Out, "The database is whole and holds the same: %d bytes, before %d.\n", after, before)
	return err
}
