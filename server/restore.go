package main

import (
	"fmt"
	"io"

	"evenwhite/logbook/bolt"
	"evenwhite/server/command"
)

const restoreManual = `NAME
    evenwhite restore - make a data folder from a backup

SYNOPSIS
    evenwhite restore [--data FOLDER] FILE

DESCRIPTION
    Checks the backup FILE and copies it into a data folder that holds no data
    yet. It overwrites nothing: to go back to a backup, first move the old folder
    out of the way, and keep it.

    Devices that were paired at the time of the backup stay paired. What they
    logged since then they send again at their next exchange. No backup holds the
    key that signs tokens: the server draws a new one when it starts, and devices
    get new tokens with the secret that they hold.

OPTIONS
    --data FOLDER   the data folder to make (default ./evenwhite-data)

EXIT STATUS
    0  the folder is made
    1  it could not be made, or holds data already
    2  the command line was not understood
    3  the backup is damaged; nothing was written

EXAMPLES
    evenwhite restore --data ./evenwhite-data evenwhite-2031-03-04.backup
`

func restore(t command.Terminal, args []string) error {
	fs, folder := command.Options("restore")
	if err := command.Parse(fs, args, "FILE"); err != nil {
		return err
	}
	file := fs.Arg(0)
	if exists(databaseOf(*folder)) {
		return command.Fail(fmt.Errorf("%s holds data already", *folder), "move that folder away first, or name another with --data")
	}
	if err := checkFile(io.Discard, file); err != nil {
		return err
	}
	if err := makeFolder(*folder); err != nil {
		return err
	}
	if err := bolt.Restore(file, databaseOf(*folder)); err != nil {
		return storeFailure(err)
	}
	fmt.Fprintf(t.Out, "%s is made from the backup. Start the server with: evenwhite serve --data %s\n", *folder, *folder)
	return nil
}
