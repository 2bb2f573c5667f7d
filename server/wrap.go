package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/url"
	"time"

	"evenwhite/api"
	"evenwhite/logbook"
	"evenwhite/logbook/rigging"
	"evenwhite/logbook/wrap"
	"evenwhite/server/command"
)

const wrapManual = `NAME
    evenwhite wrap - say what is open at the end of a day

SYNOPSIS
    evenwhite wrap [--data FOLDER] [--production ID] [--day DAY]

DESCRIPTION
    Prints what is still open of a shooting day, what could be lost first: work
    that only a phone holds, what nobody decided, set-ups without white, lights
    without reading or with an old one, cameras without grey card, clip names that
    nobody read off, questions without answer, and whether the day is closed. Under
    each stands what to do, and the address of the place in the phone app where it
    is done. What somebody accepted as deliberate is not open.

    A phone that was never heard cannot tell what it holds. It works with and
    without a running server.

OPTIONS
    --data FOLDER     the data folder (default ./evenwhite-data)
    --production ID   the production; may be left out where there is only one
    --day DAY         the shooting day: its number, or its id (default the latest)

EXIT STATUS
    0  nothing is open
    1  something is open, or there is no such production or day
    2  the command line was not understood
    3  the data is damaged
    4  another process is using the data folder

EXAMPLES
    evenwhite wrap
    evenwhite wrap --day 12
`

// wrapped is what a running server tells the command.
type wrapped struct {
	Check wrap.WrapCheck
	App   string // what stands before the address of a place in the app
}

func wrapDay(t command.Terminal, args []string) error {
	fs, folder := command.Options("wrap")
	query := make(url.Values)
	productionOption(fs, query)
	dayOption(fs, query)
	if err := command.Parse(fs, args); err != nil {
		return err
	}
	var out bytes.Buffer
	if err := atBooks(command.Terminal{Out: &out}, *folder, "wrap", query, books.checkWrap); err != nil {
		return err
	}
	var told wrapped
	if err := json.Unmarshal(out.Bytes(), &told); err != nil {
		return err
	}
	if err := told.print(t.Out); err != nil {
		return err
	}
	if n := len(told.Check.Items); n > 0 {
		return command.Fail(errors.New(told.Check.Words), "")
	}
	return nil
}

// checkWrap writes what is open of a day, as JSON: the command prints it and ends by it.
func (d books) checkWrap(w io.Writer, query url.Values) error {
	l, err := d.production(query)
	if err != nil {
		return err
	}
	told := wrapped{App: query.Get("app")}
	if told.App == "" { // no server runs
		told.App = appPath
		if origin, ok, err := readOrigin(d.store); err != nil {
			return err
		} else if ok {
			told.App = origin.String() + "/"
		}
	}
	l.Read(func(b *logbook.Book) {
		var day logbook.ID
		if day, err = dayNamed(b, query.Get("day")); err == nil {
			told.Check, err = wrap.Of(b, day, api.WrapKnown(d.auth, b), logbook.MillisOf(time.Now()))
		}
	})
	if err != nil {
		return err
	}
	return json.NewEncoder(w).Encode(told)
}

// dayNamed is a day by its number or id; the latest where nothing is said.
func dayNamed(b *logbook.Book, text string) (logbook.ID, error) {
	switch {
	case isNumber(text):
		return dayOf(b, text)
	case text != "":
		return logbook.ParseID(text)
	}
	day, ok := rigging.LastDay(b)
	if !ok {
		return day, command.Fail(errors.New("there is no day yet"), "")
	}
	return day, nil
}

func (t wrapped) print(w io.Writer) error {
	c := t.Check
	state := "open"
	if c.ClosedAt != nil {
		state = "closed"
	}
	if _, err := fmt.Fprintf(w, "%s, %s: %s, %s.\n", c.Production, c.DayWords, state, c.AtLocal); err != nil {
		return err
	}
	for _, i := range c.Items {
		where := ""
		if i.SetUpName != "" {
			where = i.SetUpName + ": "
		}
		if _, err := fmt.Fprintf(w, "\n%s%s\n    to do: %s\n    at:    %s\n", where, i.Words, i.ToDo, t.App+i.Address); err != nil {
			return err
		}
	}
	if len(c.Items) > 0 {
		return nil
	}
	_, err := fmt.Fprintln(w, c.Words+".")
	return err
}
