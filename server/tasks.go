package main

import (
	"io"
	"net/url"

	"evenwhite/api"
	"evenwhite/logbook/bolt"
)

// tasksOf are what a running server does for other commands.
func tasksOf(folder string, store *bolt.Store, auth *api.Auth, a address) map[string]task {
	return map[string]task{
		"invite": inviteTask(store, auth, a),
		"check":  checkTask(store, folder),
		"backup": func(w io.Writer, query url.Values) error { return backupTo(w, store, query.Get("file")) },
		"export": func(w io.Writer, query url.Values) error {
			wished, err := readWish(query)
			if err != nil {
				return err
			}
			return writeColorLog(w, store, wished)
		},
	}
}
