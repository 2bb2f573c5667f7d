package main

import (
	"context"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"net/url"
	"strings"
	"time"

	"evenwhite/logbook/colorlog"
	"evenwhite/logbook/comparison"
	"evenwhite/server/command"
)

const compareManual = `NAME
    evenwhite compare - say what changed between two states of a colour log

SYNOPSIS
    evenwhite compare [--data FOLDER] [--production ID] [--json] BEFORE [AFTER]

DESCRIPTION
    Prints each row of the colour log that differs: which clip, which column, what
    stood there before and what stands there after, and by whose edit, when and why,
    where a reason was given. Then the edits that changed no cell. BEFORE and AFTER
    are files with a colour log (JSON, CSV or zip), or names of states: the whole
    name, or the digest or the six words of one that was exported here. Without
    AFTER it is compared with what is in the log. It works with and without a
    running server.

OPTIONS
    --data FOLDER     the data folder (default ./evenwhite-data)
    --production ID   the production; may be left out where there is only one
    --json            as the server answers it

EXIT STATUS
    0  they are compared, whether they differ or not
    1  there is no such production, or its log does not hold one of the states
    2  the command line was not understood
    3  the data is damaged
    4  another process is using the data folder

EXAMPLES
    evenwhite compare /media/card/color-log.json
    evenwhite compare monday.csv friday.csv
`

func compare(t command.Terminal, args []string) error {
	fs, folder := command.Options("compare")
	query := make(url.Values)
	productionOption(fs, query)
	asJSON := fs.Bool("json", false, "")
	if err := fs.Parse(args); errors.Is(err, flag.ErrHelp) {
		return err
	} else if err != nil {
		return command.Misuse("compare", "%w", err)
	}
	if fs.NArg() < 1 || fs.NArg() > 2 {
		return command.Misuse("compare", "there are %d arguments; allowed: BEFORE [AFTER]", fs.NArg())
	}
	for i, name := range []string{"before", "after"} {
		if i < fs.NArg() {
			named, err := stateGiven(fs.Arg(i))
			if err != nil {
				return err
			}
			query.Set(name, named)
		}
	}
	if *asJSON {
		query.Set("json", "true")
	}
	return atBooks(t, *folder, "compare", query, books.compare)
}

func (d books) compare(w io.Writer, query url.Values) error {
	l, err := d.production(query)
	if err != nil {
		return err
	}
	before, err := d.logs.StateOr(l.Production(), query.Get("before"))
	if err != nil {
		return stateFailure(err)
	}
	after, err := d.logs.StateOr(l.Production(), query.Get("after"))
	if err != nil {
		return stateFailure(err)
	}
	found, err := d.logs.Compare(context.Background(), l.Production(), before, after, colorlog.Scope{})
	if err != nil {
		return stateFailure(err)
	}
	if query.Get("json") != "" {
		return json.NewEncoder(w).Encode(found)
	}
	_, err = io.WriteString(w, comparisonWords(found))
	return err
}

func comparisonWords(found *comparison.Comparison) string {
	var out strings.Builder
	edits := map[string]comparison.EditChange{}
	for _, e := range found.Edits {
		edits[e.Dot] = e
	}
	by := func(indent string, dots []string) {
		for _, d := range dots {
			out.WriteString(indent + editWords(edits[d]) + "\n")
		}
	}
	for _, c := range found.Clips {
		fmt.Fprintf(&out, "%s  day %s, %s, take %s, camera %s: %s\n", orDash(c.Name), orDash(c.Day), strings.TrimSpace(c.Scene+" "+c.SetUp),
			orDash(c.Take), orDash(c.Camera), c.Change)
		for _, cell := range c.Cells {
			fmt.Fprintf(&out, "    %s: %s -> %s\n", cell.Column, orDash(cell.Before), orDash(cell.After))
			by("        ", cell.Edits)
		}
		if len(c.Cells) == 0 {
			by("        ", c.Edits)
		}
	}
	if len(found.Clips) == 0 {
		out.WriteString("No row differs.\n")
	}
	silent := ""
	for _, e := range found.Edits {
		if e.Rows == 0 {
			silent += "    " + editWords(e) + "\n"
		}
	}
	if silent != "" {
		out.WriteString("Edits that changed no cell:\n" + silent)
	}
	return out.String()
}

func editWords(e comparison.EditChange) string {
	words := fmt.Sprintf("%s, %s: %s %s", e.By, e.At.UTC().Format(time.RFC3339), colorlog.Spoken(string(e.Kind)), strings.Join(e.Fields, ", "))
	if e.Reason != "" {
		words += ", because: " + e.Reason
	}
	if e.In == "before" {
		words += " (in the state before alone)"
	}
	return words
}
