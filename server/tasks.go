package main

import (
	"io"
	"net/url"

	"evenwhite/logbook/bolt"
)

// tasksOf are what a running server does for other commands.
func tasksOf(folder string, store *bolt.Store, d desk, a address) map[string]task {
	return map[string]task{
		"invite":       inviteTask(store, d.auth, a),
		"new-key":      newKeyTask(folder, d.auth),
		"check":        checkTask(store, folder),
		"bundle-write": d.writeBundle,
		"bundle-take":  d.takeBundle,
		"missing":      d.listMissing,
		"backup":       func(w io.Writer, query url.Values) error { return backupTo(w, store, query.Get("file")) },
		"export": func(w io.Writer, query url.Values) error {
			wished, err := readWish(query)
			if err != nil {
				return err
			}
			return writeColorLog(w, store, wished)
		},
	}
}
