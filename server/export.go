package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"maps"
	"net/url"
	"strconv"
	"strings"
	"time"

	"evenwhite/api"
	"evenwhite/api/pairing/audit"
	"evenwhite/logbook"
	"evenwhite/logbook/colorlog"
	"evenwhite/logbook/handover"
	"evenwhite/logbook/kinds"
	"evenwhite/server/command"
)

const exportManual = `NAME
    evenwhite export - write the colour log

SYNOPSIS
    evenwhite export [--data FOLDER] [--production ID] [--day DAY] [--set-up ID]
                     [--state STATE] [--format FORMAT] [--output FILE]

DESCRIPTION
    Writes the colour log of a production, of one of its days, or of one set-up:
    one row per clip and take. The bytes are those of the download from the server
    (GET /v1/productions/{production}/color-log.csv and the others) in the same state
    of the log. It works with and without a running server.

    Each colour log names its state: the edits that it was made of. With --state it
    is made of those alone, however the log went on: with the same program and the
    same options, byte for byte what it was, also after a restore and on another
    server.

OPTIONS
    --data FOLDER     the data folder (default ./evenwhite-data)
    --production ID   the production; may be left out where there is only one
    --day DAY         only this shooting day: its number, or its id
    --set-up ID       only this set-up
    --state STATE     as it was in this state: its name; its digest or its six
                      words, where it was exported here; or a file with a colour
                      log (JSON, CSV or zip), which names it
    --format FORMAT   csv (default), csvw (what describes its columns), json,
                      json.gz (the same, packed), xlsx (a workbook), html (a
                      page for people and paper), or zip (all of these,
                      corrections as ASC CDL, what was left out and why, and
                      digests)
    --output FILE     write to FILE instead of standard output; a file that is
                      there is replaced, once the new one is whole

EXIT STATUS
    0  the colour log is written
    1  it could not be written, or there is no such production, day or set-up,
       or the log does not hold the state
    2  the command line was not understood
    3  the data is damaged
    4  another process is using the data folder

EXAMPLES
    evenwhite export > color-log.csv
    evenwhite export --format json --output /media/card/color-log.json
    evenwhite export --state /media/card/color-log.json > as-it-was.csv
`

// A wish is the colour log that is asked for.
type wish struct {
	production logbook.ID // zero: the only one
	scope      colorlog.Scope
	day        string // its number, where that is asked for
	state      string // names one; "": as it is
	form       handover.Form
}

func export(t command.Terminal, args []string) error {
	fs, folder := command.Options("export")
	query := make(url.Values)
	for _, name := range []string{"production", "day", "set-up"} {
		fs.Func(name, "", func(s string) error {
			query.Set(name, s)
			if name == "day" && isNumber(s) {
				return nil
			}
			_, err := logbook.ParseID(s)
			return err
		})
	}
	format := fs.String("format", "csv", "")
	state := fs.String("state", "", "")
	output := fs.String("output", "", "")
	if err := command.Parse(fs, args); err != nil {
		return err
	}
	query.Set("format", *format)
	named, err := stateGiven(*state)
	if err != nil {
		return err
	}
	query.Set("state", named)
	wished, err := readWish(query)
	if err != nil {
		return command.Misuse("export", "%w", err)
	}
	write := func(w io.Writer) error { return exportFrom(*folder, w, query, wished) }
	if *output == "" {
		return write(t.Out)
	}
	return writeWhole(*output, 0o644, write)
}

func exportFrom(folder string, w io.Writer, query url.Values, wished wish) error {
	return atBooks(command.Terminal{Out: w}, folder, "export", query, func(d books, w io.Writer, _ url.Values) error {
		return d.writeColorLog(w, wished)
	})
}

func isNumber(s string) bool {
	_, err := strconv.ParseUint(s, 10, 16)
	return err == nil
}

func readWish(query url.Values) (w wish, err error) {
	if day := query.Get("day"); isNumber(day) {
		query = maps.Clone(query)
		query.Del("day")
		w.day = day
	}
	for name, to := range map[string]*logbook.ID{"production": &w.production, "day": &w.scope.Day, "set-up": &w.scope.SetUp} {
		if s := query.Get(name); s != "" {
			if *to, err = logbook.ParseID(s); err != nil {
				return wish{}, fmt.Errorf("--%s: %w", name, err)
			}
		}
	}
	w.state = query.Get("state")
	var ok bool
	if w.form, ok = handover.FormOf(query.Get("format")); !ok {
		names := make([]string, len(handover.Forms()))
		for i, f := range handover.Forms() {
			names[i] = f.Name
		}
		return wish{}, fmt.Errorf("--format is %q; allowed: %s", query.Get("format"), strings.Join(names, ", "))
	}
	return w, nil
}

// writeColorLog writes a colour log.
func (d books) writeColorLog(w io.Writer, wished wish) error {
	production, err := oneProduction(d.store, wished.production)
	if err != nil {
		return err
	}
	named, err := d.logs.StateNamed(production, wished.state)
	if err != nil {
		return stateFailure(err)
	}
	book, err := d.logs.AsOf(context.Background(), production, named)
	if err != nil {
		return stateFailure(err)
	}
	defer book.Close()
	if wished.day != "" {
		book.Read(func(b *logbook.Book) { wished.scope.Day, err = dayOf(b, wished.day) })
		if err != nil {
			return err
		}
	}
	log, err := handover.Of(book, wished.scope, colorlog.Origin{Program: programName(), State: book.State})
	if err == nil {
		log.Spool = api.NewSpool
		err = wished.form.Write(w, log)
	}
	if err == nil {
		_ = d.logs.Handed(production, book.State, logbook.MillisOf(time.Now())) // a full disk keeps nobody from reading
		d.audited(audit.Exported, wished.form.File+" of "+log.Head.Production.Title)
	}
	if errors.Is(err, colorlog.ErrScope) {
		return command.Fail(err, "look it up: GET /v1/productions/"+production.String()+"/records/day")
	}
	return err
}

// dayOf finds the shooting day of a number.
func dayOf(b *logbook.Book, number string) (found logbook.ID, err error) {
	var ids []string
	for _, day := range b.Records(kinds.Day) {
		if n, _ := day.Value("number").Number(); n == number {
			found = day.ID
			ids = append(ids, day.ID.String())
		}
	}
	switch len(ids) {
	case 0:
		return found, command.Fail(fmt.Errorf("there is no day %s", number),
			"look it up: GET /v1/productions/"+b.Production().String()+"/records/day")
	case 1:
		return found, nil
	}
	return found, command.Fail(fmt.Errorf("there are several days %s", number), "name one by its id: "+strings.Join(ids, ", "))
}

// oneProduction finds the production that is meant.
func oneProduction(store logbook.Store, wanted logbook.ID) (logbook.ID, error) {
	all, err := store.Productions()
	if err != nil {
		return logbook.ID{}, err
	}
	names := make([]string, len(all))
	for i, id := range all {
		if names[i] = id.String(); id == wanted {
			return id, nil
		}
	}
	if err := wasRemoved(store, wanted); err != nil {
		return logbook.ID{}, err
	}
	switch {
	case len(all) == 0:
		return logbook.ID{}, command.Fail(errors.New("there is no production yet"), "evenwhite demo fills an invented one")
	case !wanted.IsZero():
		return logbook.ID{}, command.Fail(fmt.Errorf("there is no production %s", wanted), "there is: "+strings.Join(names, ", "))
	case len(all) > 1:
		return logbook.ID{}, command.Fail(errors.New("there are several productions"),
			"name one with --production: "+strings.Join(names, ", "))
	}
	return all[0], nil
}
