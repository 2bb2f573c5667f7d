package main

import (
	"flag"
	"io"
	"log/slog"
	"net/url"
	"time"

	"evenwhite/api"
	"evenwhite/api/pairing"
	"evenwhite/logbook"
	"evenwhite/logbook/bolt"
	"evenwhite/logbook/exchange"
	"evenwhite/server/command"
)

// books are what a command about edits works at: those of a running server, or of
// a folder that rests.
type books struct {
	store logbook.Store
	logs  *api.Logs
	auth  *pairing.Auth
}

// atBooks has a running server do a task, or does it in the folder that rests.
func atBooks(t command.Terminal, folder, name string, query url.Values, do func(books, io.Writer, url.Values) error) error {
	return orAtRest(folder, name, query, t.Out, func(store *bolt.Store) error {
		log := slog.New(slog.DiscardHandler)
		register, err := pairing.OpenRegister(folder, log)
		if err != nil {
			return err
		}
		auth, err := pairing.OpenAuth(pairing.Config{Keep: store, Register: register, Now: time.Now, Log: log})
		if err != nil {
			return err
		}
		return do(books{store, api.NewLogs(store), auth}, t.Out, query)
	})
}

// productionOption adds --production to a command's options.
func productionOption(fs *flag.FlagSet, query url.Values) {
	fs.Func("production", "", func(s string) error {
		query.Set("production", s)
		_, err := logbook.ParseID(s)
		return err
	})
}

// dayOption adds --day to a command's options: a number or an id.
func dayOption(fs *flag.FlagSet, query url.Values) {
	fs.Func("day", "", func(s string) error {
		query.Set("day", s)
		if isNumber(s) {
			return nil
		}
		_, err := logbook.ParseID(s)
		return err
	})
}

// production finds the log that is meant by the parameter production.
func (d books) production(query url.Values) (*exchange.Peer, error) {
	var wanted logbook.ID
	if text := query.Get("production"); text != "" {
		var err error
		if wanted, err = logbook.ParseID(text); err != nil {
			return nil, err
		}
	}
	id, err := oneProduction(d.store, wanted)
	if err != nil {
		return nil, err
	}
	return d.logs.Find(id)
}
