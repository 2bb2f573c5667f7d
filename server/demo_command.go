package main

import (
	"errors"
	"fmt"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
	"evenwhite/server/command"
	"evenwhite/server/demo"
)

const demoManual = `NAME
    evenwhite demo - fill an invented production

SYNOPSIS
    evenwhite demo [--data FOLDER]

DESCRIPTION
    Puts an invented production into the data folder: four days and 13 set-ups,
    logged by three phones, with mistakes, a disagreement and a take that was
    logged twice. Nothing in it is real. Its last day is today: it is laid in the
    time zone in which that day is just over, so that what was read last is at
    most about an hour old. It stands beside your own productions and changes none
    of them; filling it again changes nothing.

    No server may run on the folder; evenwhite serve --demo does both.

OPTIONS
    --data FOLDER   the data folder (default ./evenwhite-data); made if missing

EXIT STATUS
    0  the production is there
    1  it could not be filled
    2  the command line was not understood
    3  the data is damaged
    4  another process is using the data folder

EXAMPLES
    evenwhite demo
    evenwhite export > color-log.csv
`

func demoCommand(t command.Terminal, args []string) error {
	fs, folder := command.Options("demo")
	if err := command.Parse(fs, args); err != nil {
		return err
	}
	if err := makeFolder(*folder); err != nil {
		return err
	}
	store, err := openStore(*folder)
	if err != nil {
		return err
	}
	if err := errors.Join(fillDemoIn(store, t), store.Close()); err != nil {
		return err
	}
	fmt.Fprintf(t.Out, "Its colour log: evenwhite export --data %s --production %s\n", *folder, demo.Production)
	return nil
}

// fillDemoIn fills the invented production into a store and says what is in it.
func fillDemoIn(store logbook.Store, t command.Terminal) error {
	l, err := logbook.OpenLog(store, demo.Production, kinds.Rules, drawLine)
	if errors.Is(err, logbook.ErrRemoved) {
		return errors.Join(err, wasRemoved(store, demo.Production))
	}
	if err != nil {
		return err
	}
	begun := "is now in the log"
	l.Read(func(b *logbook.Book) {
		if len(b.Records(kinds.Day)) > 0 {
			begun = "was in the log already"
		}
	})
	if err := demo.Fill(l, logbook.MillisOf(time.Now())); err != nil {
		return err
	}
	l.Read(func(b *logbook.Book) {
		p, _ := b.RecordOf(kinds.Production, demo.Production)
		_, err = fmt.Fprintf(t.Out, "The invented production %q %s: %d days, %d set-ups, %d takes, id %s\n", p.Text("title"), begun,
			len(b.Records(kinds.Day)), len(b.Records(kinds.SetUp)), len(b.Records(kinds.Take)), demo.Production)
	})
	return err
}
