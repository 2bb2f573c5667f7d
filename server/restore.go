package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"evenwhite/api/pairing"
	"evenwhite/api/pairing/audit"
	"evenwhite/logbook"
	"evenwhite/logbook/bolt"
	"evenwhite/server/command"
)

const restoreManual = `NAME
    evenwhite restore - make a data folder from a backup

SYNOPSIS
    evenwhite restore [--data FOLDER] [--admit all|none|ID,ID...] FILE

DESCRIPTION
    Checks the backup FILE and copies it into a data folder that holds no data
    yet. It overwrites nothing: to go back to a backup, first move the old folder
    out of the way, and keep it.

    Devices that were paired at the time of the backup stay paired, but for those
    that were revoked since. Who was, stands in the register (register.txt), which
    the server keeps beside its data and beside every folder of backups, and which
    only grows: restore reads it beside FILE, in the data folder that FILE lies in,
    and in the folder that it makes. It lists who is admitted, who is out, and who
    was paired after the backup and must be invited again. Where the register may
    not tell of everything up to now, it asks whom to shut out; --admit answers
    that beforehand. Who is shut out is revoked, for good.

    What a device logged since the backup it sends again at its next exchange. No
    backup holds keys: the server draws new ones when it starts. Devices get new
    tokens with what they hold, and each phone installs the new root certificate
    once, under the same name; its edits stay. Who saved the keys spares the phones
    that: evenwhite serve --keys FILE.

OPTIONS
    --data FOLDER   the data folder to make (default ./evenwhite-data)
    --admit WHO     all that the list shows, none, or the ids of devices

EXIT STATUS
    0  the folder is made
    1  it could not be made, holds data already, or nobody said who is admitted
    2  the command line was not understood
    3  the backup is damaged; nothing was written

EXAMPLES
    evenwhite restore --data ./evenwhite-data evenwhite-2031-03-04.backup
    evenwhite restore --admit all /media/card/evenwhite-2031-03-04.backup
`

func restore(t command.Terminal, args []string) error {
	fs, folder := command.Options("restore")
	admit := fs.String("admit", "", "")
	if err := command.Parse(fs, args, "FILE"); err != nil {
		return err
	}
	file := fs.Arg(0)
	if exists(databaseOf(*folder)) {
		return command.Fail(fmt.Errorf("%s holds data already", *folder), "move that folder away first, or name another with --data")
	}
	report, err := bolt.Check(file)
	if err != nil {
		return storeFailure(err)
	}
	if len(report.Problems) > 0 {
		return checkFile(io.Discard, file) // which says them
	}
	a, err := admittedBy(file, *folder)
	if err != nil {
		return err
	}
	a.describe(t.Out)
	fmt.Fprintln(t.Out, "No backup holds keys: each phone will install a new root certificate once, and keeps its edits; "+
		"evenwhite serve --keys FILE spares them that, where keys were saved.")
	out, err := a.shutOut(t, *admit)
	if err != nil {
		return err
	}
	if err := makeFolder(*folder); err != nil {
		return err
	}
	if err := a.register(*folder, out); err != nil { // first: the data is never there without it
		return err
	}
	if err := bolt.Restore(file, databaseOf(*folder)); err != nil {
		return storeFailure(err)
	}
	if err := auditRestore(*folder, file); err != nil {
		return err
	}
	if n := len(report.Damaged); n > 0 {
		fmt.Fprintf(t.Out, "Edits that were damaged already when the backup was made, and are not in it: %d. "+
			"evenwhite check --data %s lists them.\n", n, *folder)
	}
	fmt.Fprintf(t.Out, "%s is made from the backup. Start the server with: evenwhite serve --data %s\n", *folder, *folder)
	return nil
}

// auditRestore notes in the restored data what it was made from.
func auditRestore(folder, file string) error {
	store, err := openStore(folder)
	if err != nil {
		return err
	}
	list, err := audit.Open(store, slog.New(slog.DiscardHandler))
	if err == nil {
		list.Add(audit.Entry{At: time.Now(), What: audit.Restored, By: "this machine", About: filepath.Base(file)})
	}
	return errors.Join(err, store.Close())
}

// admitted is who a restored server lets in, as far as a backup and the registers around
// it tell.
type admitted struct {
	server   logbook.ID
	notes    []pairing.Note
	standing []pairing.Device
	out      []pairing.Device // in the backup, and revoked since
	later    []pairing.Note   // of devices that were paired after the backup
	until    time.Time        // of this the registers tell; zero: of nothing beyond the backup
	whole    bool             // they are those of the data itself
}

// admittedBy reads a backup, and the registers that lie around it and in the folder to be
// made.
func admittedBy(file, folder string) (*admitted, error) {
	values, err := bolt.KeptIn(file)
	if err != nil {
		return nil, storeFailure(err)
	}
	a := &admitted{}
	var devices []pairing.Device
	if a.server, devices, err = pairing.DevicesIn(values); err != nil {
		return nil, err
	}
	beside := filepath.Dir(file)
	if err := a.read(beside, false); err != nil {
		return nil, err
	}
	if filepath.Base(beside) == backupsName {
		if err := a.read(filepath.Dir(beside), true); err != nil {
			return nil, err
		}
	}
	if err := a.read(folder, true); err != nil {
		return nil, err
	}
	slices.SortStableFunc(a.notes, func(x, y pairing.Note) int { return x.At.Compare(y.At) })
	known := map[logbook.ID]bool{}
	for _, d := range devices {
		known[d.ID] = true
		switch is := pairing.Apply(a.server, d, a.notes); {
		case is.RevokedAt.IsZero():
			a.standing = append(a.standing, is)
		case d.RevokedAt.IsZero():
			a.out = append(a.out, is)
		}
	}
	for _, n := range a.notes {
		if n.Server == a.server && n.What == pairing.NotePaired && !known[n.Device] {
			known[n.Device] = true
			a.later = append(a.later, n)
		}
	}
	return a, nil
}

// read takes the register of a folder in. Beside backups it was up to date when the
// newest of them was made.
func (a *admitted) read(folder string, ofData bool) error {
	notes, damaged, err := pairing.ReadRegister(filepath.Join(folder, pairing.RegisterName))
	if errors.Is(err, os.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	a.notes = append(a.notes, pairing.MissingNotes(notes, a.notes)...)
	for _, n := range notes {
		if n.Server == a.server && n.At.After(a.until) {
			a.until = n.At
		}
	}
	a.whole = a.whole || ofData && damaged == 0
	if newest, ok, err := bolt.NewestBackup(folder, time.Now()); err == nil && ok && newest.After(a.until) && damaged == 0 {
		a.until = newest
	}
	return nil
}

func (a *admitted) describe(w io.Writer) {
	if len(a.standing) == 0 {
		fmt.Fprintln(w, "No device is admitted: the server will print a code for its owner.")
	} else {
		fmt.Fprintln(w, "Admitted, as in the backup:")
	}
	for i, d := range a.standing {
		fmt.Fprintf(w, "%4d  %s  %s (%s), paired %s\n", i+1, d.ID, d.Label, rolesOf(d), d.PairedAt.UTC().Format(time.RFC3339))
	}
	for _, d := range a.out {
		fmt.Fprintf(w, "Revoked since, and out: %s  %s\n", d.ID, d.Label)
	}
	for _, n := range a.later {
		fmt.Fprintf(w, "Paired after the backup, and not admitted; invite it again: %s  %s\n", n.Device, n.Label)
	}
}

func rolesOf(d pairing.Device) string {
	var roles []string
	for _, production := range d.Productions() {
		role := string(d.Grants[production])
		switch production {
		case pairing.Everywhere:
		case pairing.New:
			role += " of new productions"
		default:
			role += " of " + production
		}
		roles = append(roles, role)
	}
	return strings.Join(roles, ", ")
}

// shutOut finds which of the standing devices are not to be let in: as admit says, else
// as somebody answers where the registers cannot tell.
func (a *admitted) shutOut(t command.Terminal, admit string) ([]pairing.Device, error) {
	switch {
	case admit == "all":
		return nil, nil
	case admit == "none":
		return a.standing, nil
	case admit != "":
		return a.allBut(admit)
	case a.whole || len(a.standing) == 0:
		return nil, nil
	}
	since := "the backup was made"
	if !a.until.IsZero() {
		since = a.until.UTC().Format(time.RFC3339)
	}
	fmt.Fprintf(t.Out, "Whether one of them was revoked after %s cannot be known here.\n", since)
	unanswered := command.Fail(errors.New("nobody said whom to admit; nothing was written"),
		"--admit all admits those that are listed, --admit none nobody, --admit ID,ID some")
	if t.In == nil {
		return nil, unanswered
	}
	fmt.Fprint(t.Out, "Shut out (numbers, or Enter for none): ")
	line, err := bufio.NewReader(t.In).ReadString('\n')
	if err != nil {
		return nil, unanswered
	}
	return a.numbered(line)
}

// allBut are the standing devices whose ids a list does not name.
func (a *admitted) allBut(list string) ([]pairing.Device, error) {
	out := slices.Clone(a.standing)
	for text := range strings.SplitSeq(list, ",") {
		id, err := logbook.ParseID(strings.TrimSpace(text))
		if err != nil {
			return nil, command.Misuse("restore", "--admit: all, none or ids of devices: %w", err)
		}
		at := slices.IndexFunc(out, func(d pairing.Device) bool { return d.ID == id })
		if at < 0 {
			return nil, command.Misuse("restore", "--admit: %s is none of the devices that are listed, or stands there twice", id)
		}
		out = slices.Delete(out, at, at+1)
	}
	return out, nil
}

func (a *admitted) numbered(line string) (out []pairing.Device, err error) {
	for _, word := range strings.FieldsFunc(line, func(r rune) bool { return strings.ContainsRune(" ,;\t\r\n", r) }) {
		n, err := strconv.Atoi(word)
		if err != nil || n < 1 || n > len(a.standing) {
			return nil, command.Fail(fmt.Errorf("%q is no number of the list; nothing was written", word), "1 to "+strconv.Itoa(len(a.standing)))
		}
		out = append(out, a.standing[n-1])
	}
	return out, nil
}

// register writes what is known, and who was shut out just now, beside the data to be.
func (a *admitted) register(folder string, out []pairing.Device) error {
	r, err := pairing.OpenRegister(folder, slog.New(slog.DiscardHandler))
	if err != nil {
		return err
	}
	notes := slices.Clone(a.notes)
	for _, d := range out {
		notes = append(notes, pairing.Note{Server: a.server, Device: d.ID, Label: d.Label, What: pairing.NoteRevoked, At: time.Now().UTC()})
	}
	return r.AddMissing(notes)
}
