package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"evenwhite/api/pairing/audit"
	"evenwhite/logbook"
	"evenwhite/logbook/exchange"
	"evenwhite/logbook/kinds"
	"evenwhite/server/command"
)

const bundleManual = `NAME
    evenwhite bundle - carry edits as a file

SYNOPSIS
    evenwhite bundle write [--data FOLDER] [--production ID] [--after PLACE] FILE
    evenwhite bundle take [--data FOLDER] [--again] FILE

DESCRIPTION
    For a memory card where there is no network. write puts the edits of one
    production into FILE, which must not exist yet, and prints the PLACE at which
    the log ended: the next bundle can begin there. take brings a bundle in and
    counts its edits: taken, repeat (they were here), refused (kept with the
    reason, without effect) and clash (another edit is here under the same name:
    kept aside). Bundles may be taken in any order and any number of times.

    A bundle of a production that is not here is refused, unless the folder holds
    no production yet: then it takes over that of the bundle; and so is one that was
    removed, without --again. Damage is noticed at
    the edit where it lies; everything before it is taken, and counted.

    Both work with and without a running server, which reads or writes the file
    itself.

OPTIONS
    --data FOLDER     the data folder (default ./evenwhite-data)
    --production ID   the production; may be left out where there is only one
    --after PLACE     only what came after, as printed by an earlier write of the
                      same data folder
    --again           take a production in again that evenwhite remove removed

EXIT STATUS
    0  the bundle is written, or taken to its end
    1  it could not be, or it is of another production
    2  the command line was not understood
    3  the bundle or the data is damaged
    4  another process is using the data folder

EXAMPLES
    evenwhite bundle write /media/card/monday.bundle
    evenwhite bundle take /media/card/monday.bundle
`

func bundle(t command.Terminal, args []string) error {
	if len(args) == 0 {
		return command.Misuse("bundle", "write or take is missing")
	}
	fs, folder := command.Options("bundle")
	query := make(url.Values)
	do := books.takeBundle
	switch args[0] {
	case "write":
		do = books.writeBundle
		productionOption(fs, query)
		fs.Func("after", "", func(s string) error { query.Set("after", s); return nil })
	case "take":
		fs.BoolFunc("again", "", func(string) error { query.Set("again", "true"); return nil })
	case "-h", "--help", "-help":
		return fs.Parse(args)
	default:
		return command.Misuse("bundle", "the word after bundle is %q; allowed: write, take", args[0])
	}
	if err := command.Parse(fs, args[1:], "FILE"); err != nil {
		return err
	}
	file, err := filepath.Abs(fs.Arg(0)) // a running server stands in another folder
	if err != nil {
		return err
	}
	query.Set("file", file)
	return atBooks(t, *folder, "bundle-"+args[0], query, do)
}

// writeBundle writes a file whose path stands in the parameter file.
func (d books) writeBundle(w io.Writer, query url.Values) error {
	l, err := d.production(query)
	if err != nil {
		return err
	}
	file := query.Get("file")
	if exists(file) {
		return command.Fail(fmt.Errorf("%s exists already", file), "choose another name: a bundle overwrites nothing")
	}
	part, err := l.Since(query.Get("after"))
	if errors.Is(err, logbook.ErrRequest) {
		return command.Fail(fmt.Errorf("--after: %w", err), "leave out --after: what is there already does no harm")
	}
	if err != nil {
		return err
	}
	var end exchange.BundleEnd
	err = writeWhole(file, 0o600, func(to io.Writer) (err error) {
		end, err = part.WriteBundle(to)
		return err
	})
	if err != nil {
		return storeFailure(err)
	}
	var title string
	l.Read(func(b *logbook.Book) {
		if v, ok := b.RecordOf(kinds.Production, l.Production()); ok {
			title = v.Text("title")
		}
	})
	d.audited(audit.Exported, "edits.bundle of "+title)
	_, err = fmt.Fprintf(w, "The bundle holds %d edits: %s\nTo write only what comes after them: --after=%s\n", end.Edits, file, part.End())
	return err
}

// takeBundle takes the file whose path stands in the parameter file.
func (d books) takeBundle(w io.Writer, query url.Values) error {
	f, err := os.Open(query.Get("file"))
	if err != nil {
		return err
	}
	defer f.Close()
	l, err := d.logOfBundle(f, query.Get("again") != "")
	if err != nil {
		return err
	}
	tally, err := l.TakeBundle(f, exchange.Bringer{Via: d.auth.Own()}, logbook.MillisOf(time.Now()))
	switch {
	case errors.Is(err, logbook.ErrDamaged):
		return command.FailAs(command.ExitDamaged, fmt.Errorf("%w: %s", err, tally),
			"what stands before the damage is in; write the bundle again for the rest")
	case err != nil:
		return storeFailure(fmt.Errorf("%w: %s", err, tally))
	}
	_, err = fmt.Fprintf(w, "The bundle is in: %s.\n", tally)
	return err
}

// logOfBundle finds the log that a bundle belongs to and leaves the file at its
// beginning. A folder without any production begins the one of the bundle, once
// one edit has shown that the bundle's head is whole; so does one that has removed it,
// where somebody says again.
func (d books) logOfBundle(f *os.File, again bool) (*exchange.Peer, error) {
	r := bufio.NewReader(f)
	production, err := exchange.BundleProduction(r)
	if err != nil {
		return nil, bundleFailure(err)
	}
	all, err := d.store.Productions()
	if err != nil {
		return nil, err
	}
	removed := wasRemoved(d.store, production)
	if removed != nil && !again {
		return nil, removed
	}
	if len(all) == 0 || removed != nil {
		if _, err := exchange.FirstEdit(r, production); errors.Is(err, io.EOF) && removed != nil {
			return nil, errors.New("the bundle holds no edits: nothing is taken in again with it")
		} else if err != nil && !errors.Is(err, io.EOF) {
			return nil, bundleFailure(err)
		}
		if removed != nil {
			if err := d.logs.Readmit(production); err != nil {
				return nil, storeFailure(err)
			}
			d.audited(audit.Readmitted, production.String())
		}
	} else if !slices.Contains(all, production) {
		names := make([]string, len(all))
		for i, id := range all {
			names[i] = id.String()
		}
		return nil, command.Fail(fmt.Errorf("the bundle is of production %s, which is not here", production),
			"there is: "+strings.Join(names, ", "))
	}
	if _, err := f.Seek(0, io.SeekStart); err != nil {
		return nil, err
	}
	return d.logs.Open(production)
}

// bundleFailure is the failure of a bundle of which nothing could be taken.
func bundleFailure(err error) error {
	if errors.Is(err, logbook.ErrDamaged) {
		return command.FailAs(command.ExitDamaged, err, "nothing was taken; write the bundle again")
	}
	return err
}
