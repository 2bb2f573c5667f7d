package main

import (
	"fmt"
	"io"
	"net/url"
	"strings"

	"evenwhite/logbook"
	"evenwhite/logbook/bolt"
	"evenwhite/logbook/exchange"
	"evenwhite/server/command"
)

const missingManual = `NAME
    evenwhite missing - say which edits are not here, and who may have them

SYNOPSIS
    evenwhite missing [--data FOLDER] [--production ID]

DESCRIPTION
    After a restored backup, or while a phone has not been heard for hours, some
    edits are known of and not here: numbers that a device passed over, and edits
    that others name as seen. For each line (what one device wrote from one start
    of its program to the next) it prints which are missing, on which device they
    were written, and which devices have seen one of them: what a device has seen
    it still holds. Let any of these exchange with the server, or carry a bundle
    from it. Edits that were here and are damaged on the disk are listed first.

    What was written last on a device that nobody heard since cannot be known of.
    It works with and without a running server.

OPTIONS
    --data FOLDER     the data folder (default ./evenwhite-data)
    --production ID   the production; may be left out where there is only one

EXIT STATUS
    0  it is printed what is missing, or that nothing is known to be
    1  there is no such production
    2  the command line was not understood
    3  the data is damaged
    4  another process is using the data folder

EXAMPLES
    evenwhite missing
`

func missing(t command.Terminal, args []string) error {
	fs, folder := command.Options("missing")
	query := make(url.Values)
	productionOption(fs, query)
	if err := command.Parse(fs, args); err != nil {
		return err
	}
	return atBooks(t, *folder, "missing", query, books.listMissing)
}

func (d books) listMissing(w io.Writer, query url.Values) error {
	l, err := d.production(query)
	if err != nil {
		return err
	}
	damaged, err := l.Damaged()
	if err != nil {
		return err
	}
	for _, d := range damaged {
		fmt.Fprintln(w, "Damaged here, so not held:", bolt.RowDamage{Production: l.Production(), Damage: d})
	}
	var lines []exchange.MissingEdits
	l.Read(func(b *logbook.Book) { lines = exchange.Missing(b) })
	if len(lines) == 0 && len(damaged) > 0 {
		_, err := fmt.Fprintln(w, "Let every device exchange with the server: whoever has one of them brings it.")
		return err
	}
	if len(lines) == 0 {
		_, err := fmt.Fprintln(w, "Nothing is known to be missing.")
		return err
	}
	labels := d.auth.Labels()
	name := func(h exchange.Holder) string {
		label := labels[h.Device]
		if label == "" {
			label = "a device that was not paired here"
		}
		return fmt.Sprintf("%s (%s), by %s", label, h.Device, h.By)
	}
	for _, m := range lines {
		spans := make([]string, len(m.Spans))
		for i, s := range m.Spans {
			if spans[i] = fmt.Sprint(s.From); s.To > s.From {
				spans[i] = fmt.Sprintf("%d to %d", s.From, s.To)
			}
		}
		fmt.Fprintf(w, "Line %s lacks %s\n", m.Line, strings.Join(spans, ", "))
		if m.Writer != (exchange.Holder{}) {
			fmt.Fprintf(w, "    written on: %s\n", name(m.Writer))
		}
		for _, h := range m.SeenBy {
			fmt.Fprintf(w, "    seen on:    %s\n", name(h))
		}
	}
	_, err = fmt.Fprintln(w, "Let one of these devices exchange with the server, or take a bundle from it.")
	return err
}
