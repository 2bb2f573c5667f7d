package main

import (
	"io"
	"net/url"
)

// tasksOf are what a running server does for other commands.
func tasksOf(h *host, d desk, a address) map[string]task {
	folder, store := h.folder, h.store
	return map[string]task{
		"invite":       inviteTask(store, d.auth, a),
		"new-key":      newKeyTask(folder, d.auth),
		"check":        checkTask(store, folder),
		"bundle-write": d.writeBundle,
		"bundle-take":  d.takeBundle,
		"missing":      d.listMissing,
		"backup":       func(w io.Writer, query url.Values) error { return backupTo(w, store, h.register, query.Get("file")) },
		"export": func(w io.Writer, query url.Values) error {
			wished, err := readWish(query)
			if err != nil {
				return err
			}
			return writeColorLog(w, store, wished)
		},
	}
}
