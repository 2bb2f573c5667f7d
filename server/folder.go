package main

import (
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"evenwhite/api/pairing"
	"evenwhite/logbook"
	"evenwhite/logbook/bolt"
	"evenwhite/server/command"
)

// databaseName is the store's file in a data folder.
const databaseName = "evenwhite.db"

func databaseOf(folder string) string { return filepath.Join(folder, databaseName) }

// exists reports whether something is at a path; where that cannot be known, yes.
func exists(path string) bool {
	_, err := os.Lstat(path)
	return !errors.Is(err, os.ErrNotExist)
}

// makeFolder makes a data folder that only its owner can enter. A folder that
// holds other things is refused: it may be a mistyped path, and its mode is not
// ours to change.
func makeFolder(folder string) error {
	if err := os.MkdirAll(folder, 0o700); err != nil {
		return command.Fail(err, "choose another folder with --data")
	}
	if !exists(databaseOf(folder)) {
		entries, err := os.ReadDir(folder)
		if err != nil {
			return err
		}
		for _, e := range entries {
			if e.Name() == backupsName {
				return command.Fail(fmt.Errorf("%s holds backups and no data", folder), wayBack(folder))
			}
			if e.Name() != consoleName && e.Name() != keysName && e.Name() != pairing.RegisterName && !bolt.Unfinished(e.Name()) {
				return command.Fail(fmt.Errorf("%s holds other files, such as %s, and no data of evenwhite", folder, e.Name()),
					"choose an empty or a new folder with --data")
			}
		}
	}
	info, err := os.Stat(folder)
	if err != nil {
		return err
	}
	if info.Mode().Perm()&0o077 == 0 {
		return nil
	}
	if err := os.Chmod(folder, 0o700); err != nil {
		return command.Fail(fmt.Errorf("others may enter %s, and that cannot be changed: %w", folder, err), "chmod 700 "+folder)
	}
	return nil
}

// needData returns an error unless the folder holds a database.
func needData(folder string) error {
	if exists(databaseOf(folder)) {
		return nil
	}
	return command.Fail(fmt.Errorf("there is no data in %s", folder), "name the folder with --data; evenwhite serve makes one")
}

// writeWhole writes a file so that at any time either nothing or all of it is
// there, even if the machine stops.
func writeWhole(path string, mode os.FileMode, write func(io.Writer) error) (err error) {
	f, err := os.CreateTemp(filepath.Dir(path), "."+filepath.Base(path)+".*")
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			_ = f.Close()
			_ = os.Remove(f.Name())
		}
	}()
	if err = write(f); err != nil {
		return err
	}
	if err = f.Chmod(mode); err != nil {
		return err
	}
	if err = f.Sync(); err != nil {
		return err
	}
	if err = f.Close(); err != nil {
		return err
	}
	if err = os.Rename(f.Name(), path); err != nil {
		return err
	}
	return syncFolder(filepath.Dir(path))
}

// syncFolder makes the names in a folder durable. Not every system can.
func syncFolder(folder string) error {
	d, err := os.Open(folder)
	if err != nil {
		return err
	}
	_ = d.Sync()
	return d.Close()
}

// openStore opens the database of a data folder for this process alone.
func openStore(folder string) (*bolt.Store, error) {
	store, err := bolt.Open(databaseOf(folder))
	if errors.Is(err, logbook.ErrDamaged) {
		return nil, command.FailAs(command.ExitDamaged, err, "nothing was changed. "+wayBack(folder)+
			"; what came after it and no device has: evenwhite help rescue")
	}
	if errors.Is(err, bolt.ErrInUse) {
		var who strings.Builder
		if callConsole(folder, "who", nil, &who) == nil {
			return nil, command.FailAs(command.ExitInUse, fmt.Errorf("%w: %s", err, &who), "stop that process, or name another folder with --data")
		}
	}
	if err != nil {
		return nil, storeFailure(err)
	}
	return store, nil
}

// drawLine draws 8 random bytes.
func drawLine() (l logbook.Line) {
	_, _ = rand.Read(l[:]) // never fails: it ends the program where the system has no chance to give
	return l
}
