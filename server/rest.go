package main

import (
	"errors"
	"io"
	"net/url"

	"evenwhite/logbook/bolt"
)

// orAtRest has the server that runs on a data folder do a task, or does it on the store of
// a folder that rests.
func orAtRest(folder, name string, query url.Values, out io.Writer, do func(*bolt.Store) error) error {
	err := callConsole(folder, name, query, out)
	if !errors.Is(err, errNotRunning) {
		return err
	}
	if err := needData(folder); err != nil {
		return err
	}
	store, err := openStore(folder)
	if err != nil {
		return err
	}
	return errors.Join(do(store), store.Close())
}
