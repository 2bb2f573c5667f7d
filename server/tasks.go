package main

import (
	"fmt"
	"io"
	"net/url"
	"os"
)

// tasksOf are what a running server does for other commands.
func tasksOf(h *host, d books) map[string]task {
	folder, store := h.folder, h.store
	return map[string]task{
		"who":          h.who,
		"condition":    h.condition,
		"origin":       h.originTask,
		"invite":       inviteTask(store, d.auth, h.named(), h.linkedBy()),
		"desk":         h.writeTicket,
		"token":        d.makeToken,
		"new-key":      newKeyTask(folder, d),
		"check":        checkTask(store, folder),
		"bundle-write": d.writeBundle,
		"bundle-take":  d.takeBundle,
		"remove":       d.remove,
		"link":         h.linkTask,
		"links":        h.linksTask,
		"unlink":       h.unlinkTask,
		"missing":      d.listMissing,
		"find":         d.find,
		"join":         d.join,
		"take-back":    d.takeBack,
		"compare":      d.compare,
		"wrap": func(w io.Writer, query url.Values) error {
			query.Set("app", h.appAddress())
			return d.checkWrap(w, query)
		},
		"backup": func(w io.Writer, query url.Values) error { return backupTo(w, store, h.register, query.Get("file")) },
		"export": func(w io.Writer, query url.Values) error {
			wished, err := readWish(query)
			if err != nil {
				return err
			}
			return d.writeColorLog(w, wished)
		},
	}
}

// who says which process this is, to one that finds the data folder in use.
func (h *host) who(w io.Writer, _ url.Values) error {
	_, err := fmt.Fprintf(w, "process %d has it, which serves %s", os.Getpid(), h.serves())
	return err
}

// serves says where the server is to be called.
func (h *host) serves() string {
	if h.listen != "" {
		return h.at.url()
	}
	return h.origin.String() + " and " + h.at.url()
}
