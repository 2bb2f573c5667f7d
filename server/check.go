package main

import (
	"errors"
	"fmt"
	"io"
	"net/url"
	"os"
	"path/filepath"
	"strings"

	"evenwhite/api/removal"
	"evenwhite/logbook"
	"evenwhite/logbook/bolt"
	"evenwhite/server/command"
)

const checkManual = `NAME
    evenwhite check - check that the data is whole

SYNOPSIS
    evenwhite check [--data FOLDER]
    evenwhite check --backup FILE

DESCRIPTION
    Reads every page and every edit: the database's own structure, the form and
    hash of each edit, the chain over all of them, that each edit stands there once,
    and which edits are named by others and not here: those are no damage, they may
    come yet. It lists productions that were removed. It changes nothing. Where a
    server runs on the folder, that server copies its present state beside the data,
    checks the copy and removes it.

    An edit whose bytes are not those that were stored is listed as damaged. It does
    not count as held; everything else is served. Let every device exchange with the
    server once: whoever has the edit brings it, and it is no longer listed. An edit
    that no device has may stand in a backup. Take it from there:

        evenwhite restore --data ./old BACKUP
        evenwhite bundle write --data ./old all.bundle
        evenwhite bundle take all.bundle

OPTIONS
    --data FOLDER   the data folder (default ./evenwhite-data)
    --backup FILE   check a backup instead

EXIT STATUS
    0  everything is whole
    1  it could not be checked
    2  the command line was not understood
    3  the data is damaged
    4  another process is using the data

EXAMPLES
    evenwhite check
    evenwhite check --backup evenwhite-2031-03-04.backup
`

func check(t command.Terminal, args []string) error {
	fs, folder := command.Options("check")
	backup := fs.String("backup", "", "")
	if err := command.Parse(fs, args); err != nil {
		return err
	}
	if *backup != "" {
		return checkFile(t.Out, *backup)
	}
	err := callConsole(*folder, "check", nil, t.Out)
	if !errors.Is(err, errNotRunning) {
		return err
	}
	if err := needData(*folder); err != nil {
		return err
	}
	return checkFile(t.Out, databaseOf(*folder))
}

// checkFile checks a store file that no process has open and prints what it found.
func checkFile(w io.Writer, path string) error {
	report, err := bolt.Check(path)
	if err != nil {
		return storeFailure(err)
	}
	if len(report.Problems) > 0 {
		return storeFailure(fmt.Errorf("%s: %w:\n%s", path, logbook.ErrDamaged, strings.Join(report.Problems, "\n")))
	}
	if !report.Whole() {
		return damagedRows(path, report)
	}
	_, err = fmt.Fprintf(w, "Whole. Productions: %d; edits: %d; kept aside: %d.\n", report.Productions, report.Edits, report.Clashes)
	if report.Missing > 0 && err == nil {
		_, err = fmt.Fprintf(w, "Named by others and not here: %d; evenwhite missing tells who may have them.\n", report.Missing)
	}
	for _, mark := range removal.Read(report.Removed) {
		_, err = fmt.Fprintf(w, "%s: %d edits, in the folder %s\n", mark, mark.Edits, mark.Folder)
	}
	return err
}

// mostRows bounds what is printed of damaged rows.
const mostRows = 50

// damagedRows is the failure of a check that found edits damaged, and nothing that
// keeps the rest from being served.
func damagedRows(path string, r bolt.Report) error {
	var lines []string
	for _, d := range r.Damaged[:min(len(r.Damaged), mostRows)] {
		lines = append(lines, d.String())
	}
	if more := len(r.Damaged) - mostRows; more > 0 {
		lines = append(lines, fmt.Sprintf("and %d more", more))
	}
	lines = append(lines, r.Remarks...)
	hint := "no edit is lost by it: whoever stands there with a cursor asks once more from the beginning"
	if len(r.Damaged) > 0 {
		hint = "none of them counts as held, and everything else is served. Start the server and let every device exchange: " +
			"whoever has one brings it. Where no device has it, evenwhite help check says how to take it from a backup"
	}
	return command.FailAs(command.ExitDamaged, fmt.Errorf("%s: %w:\n%s", path, logbook.ErrDamaged, strings.Join(lines, "\n")), hint)
}

// checkTask checks what the running server has.
func checkTask(store copier, folder string) task {
	return func(w io.Writer, _ url.Values) error {
		place, err := os.MkdirTemp(folder, ".check-")
		if err != nil {
			return err
		}
		defer os.RemoveAll(place)
		file := filepath.Join(place, databaseName)
		if err := store.Backup(file); err != nil {
			return storeFailure(err)
		}
		return checkFile(w, file)
	}
}

// storeFailure says what a person can do about an error of a store.
func storeFailure(err error) error {
	switch {
	case errors.Is(err, bolt.ErrInUse):
		return command.FailAs(command.ExitInUse, err, "one process at a time works on a data folder")
	case errors.Is(err, logbook.ErrDamaged):
		return command.FailAs(command.ExitDamaged, err, "nothing was changed; evenwhite help restore says how to go on from a backup, "+
			"evenwhite help rescue how to take along what no backup and no device has")
	case errors.Is(err, bolt.ErrLayout):
		return command.Fail(err, "use the version of evenwhite that wrote it, or a newer one")
	case errors.Is(err, logbook.ErrBroken):
		return command.Fail(err, "what was read is still served; a backup of it can be made before the server is started again")
	case errors.Is(err, logbook.ErrFull):
		return command.Fail(err, "make room on the disk")
	}
	return err
}
