package main

import (
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"text/tabwriter"
	"time"

	"evenwhite/api"
	"evenwhite/logbook"
	"evenwhite/logbook/exchange"
	"evenwhite/logbook/footage"
	"evenwhite/server/command"
)

const joinManual = `NAME
    evenwhite join - say which recorded file belongs to which clip

SYNOPSIS
    evenwhite join [--data FOLDER] [--production ID] [--json] [--all]
                   [--name COLUMN [--folder COLUMN] [--time COLUMN] …]
                   [--adopt WHAT] LISTING…
    evenwhite join [--data FOLDER] [--production ID] --take-back ACT

DESCRIPTION
    A LISTING is a file with what a program prints about the footage: ls -R or
    ls -lR, find, find -ls, sha256sum, md5sum, or best, because times find most
    slips,

        find /offload -type f -printf '%s %T@ %p\n' >files.txt

    It may also be an ASC MHL of version 2 (names, sizes, times and hashes are
    read, nothing else is believed), or a table in CSV whose columns are named by
    options. Several listings are read as one. Sidecars, proxies, copies and the
    frames of a sequence are one recording; cards are told by folders, by names
    and, where names come again on other cards, by times.

    Printed are the counts, what each folder is, and the clips that are not sure:

    sure        name, card and time agree; without times name, card and order,
                of a name that was read off the camera or is from a listing
    likely      something does not agree, or is not known
    shifted +1  by order and time the file is the next one: somewhere before it a
                recording was not logged; or, without a number, it is named for
                another card. Each stretch is listed with its evidence
    near miss   one slip in the name, such as O for 0
    no file     the listing has its card, and no file for it
    no row      a recording that nobody logged

    Where the listing says what the camera recorded (kelvin, tint, lens), that is
    held against the log. Nothing is changed without --adopt, and what that did
    --take-back takes back. It works with and without a running server, which
    reads the files itself.

OPTIONS
    --data FOLDER     the data folder (default ./evenwhite-data)
    --production ID   the production; may be left out where there is only one
    --json            all of it as JSON, as POST …/footage answers
    --all             the sure clips too
    --name COLUMN     the column of a table that has the names of the files; so do
                      --folder, --time, --size, --hash, --kelvin, --tint and --lens
    --adopt WHAT      sure: take over the names of all sure clips, and that the
                      file says their settings where it does;
                      settings: what the files of sure clips say otherwise;
                      shift:ID: a stretch of shifted names; clip:ID: one clip
    --take-back ACT   take back what an --adopt did, by the act that it printed

EXIT STATUS
    0  it is printed, or adopted
    1  a listing cannot be read, or there is nothing of the kind to adopt
    2  the command line was not understood
    3  the data is damaged
    4  another process is using the data folder

EXAMPLES
    evenwhite join files.txt
    evenwhite join --name 'File Name' --kelvin 'White Balance' files.txt camera.csv
    evenwhite join --adopt sure files.txt
`

// columnOptions are the options that name columns.
var columnOptions = []string{"name", "folder", "time", "size", "hash", "kelvin", "tint", "lens"}

func joinCommand(t command.Terminal, args []string) error {
	fs, folder := command.Options("join")
	query := make(url.Values)
	productionOption(fs, query)
	for _, name := range append([]string{"adopt", "take-back"}, columnOptions...) {
		fs.Func(name, "", func(s string) error { query.Set(name, s); return nil })
	}
	for _, name := range []string{"json", "all"} {
		fs.BoolFunc(name, "", func(string) error { query.Set(name, "true"); return nil })
	}
	if err := fs.Parse(args); errors.Is(err, flag.ErrHelp) {
		return err
	} else if err != nil {
		return command.Misuse("join", "%w", err)
	}
	if query.Get("take-back") != "" {
		if fs.NArg() > 0 {
			return command.Misuse("join", "too much on the command line: %q", fs.Arg(0))
		}
		return atBooks(t, *folder, "take-back", query, books.takeBack)
	}
	if fs.NArg() == 0 {
		return command.Misuse("join", "LISTING is missing")
	}
	for _, name := range fs.Args() {
		file, err := filepath.Abs(name) // a running server stands in another folder
		if err != nil {
			return err
		}
		query.Add("listing", file)
	}
	return atBooks(t, *folder, "join", query, books.join)
}

// join reads the listings whose paths stand in the parameter listing.
func (d books) join(w io.Writer, query url.Values) error {
	l, err := d.production(query)
	if err != nil {
		return err
	}
	rows, err := api.RowsOf(l)
	if err != nil {
		return err
	}
	list := footage.NewCollection()
	for _, name := range query["listing"] {
		if err := readListing(list, name, rows, query); err != nil {
			return err
		}
	}
	joined, err := api.JoinRows(rows, list)
	if err != nil {
		return err
	}
	if what := query.Get("adopt"); what != "" {
		return d.adopt(w, l, joined, what)
	}
	if query.Get("json") != "" {
		out := json.NewEncoder(w)
		out.SetEscapeHTML(false)
		return out.Encode(joined)
	}
	return printJoined(w, joined, query.Get("all") != "")
}

func readListing(list *footage.Collection, name string, rows []*footage.Row, query url.Values) error {
	f, err := os.Open(name)
	if err != nil {
		return err
	}
	defer f.Close()
	form := footage.Form{Around: logbook.MillisOf(time.Now())}
	if len(rows) > 0 {
		form.Around = rows[len(rows)-1].At
	}
	switch strings.ToLower(filepath.Ext(name)) {
	case ".csv", ".tsv":
		form.Of = footage.Table
		form.Columns = footage.Columns{Name: query.Get("name"), Folder: query.Get("folder"), Time: query.Get("time"), Size: query.Get("size"),
			Hash: query.Get("hash"), Kelvin: query.Get("kelvin"), Tint: query.Get("tint"), Lens: query.Get("lens")}
		if form.Columns.Name == "" {
			return command.Fail(fmt.Errorf("%s is a table, and nobody said which column has the names", name), "--name COLUMN says it")
		}
	}
	if err := list.Read(f, form); err != nil {
		return command.Fail(fmt.Errorf("%s: %w", name, err), "evenwhite help join says which listings are read")
	}
	return nil
}

func (d books) adopt(w io.Writer, l *exchange.Peer, joined footage.Joined, what string) error {
	edits, err := api.Adopt(l, d.writer(), joined, what)
	if err != nil {
		return command.Fail(storeFailure(err), "evenwhite join without --adopt shows what there is")
	}
	_, err = fmt.Fprintf(w, "Adopted, in one act of %d edits. To take it back: evenwhite join --take-back %s\n", len(edits), edits[0].Dot)
	return err
}

func (d books) writer() logbook.Writer {
	return logbook.Writer{Device: d.auth.Own(), By: "at the server", Now: logbook.MillisOf(time.Now()), Via: d.auth.Own()}
}

// takeBack takes back the act that stands in the parameter take-back.
func (d books) takeBack(w io.Writer, query url.Values) error {
	l, err := d.production(query)
	if err != nil {
		return err
	}
	dot, err := logbook.ParseDot(query.Get("take-back"))
	if err != nil {
		return command.Misuse("join", "--take-back is %q; allowed is an act as --adopt printed it", query.Get("take-back"))
	}
	edits, left, err := api.TakeBack(l, d.writer(), dot)
	if err != nil {
		return storeFailure(err)
	}
	fmt.Fprintf(w, "Taken back, in one act of %d edits: %s\n", len(edits), edits[0].Dot)
	for _, e := range left {
		fmt.Fprintf(w, "  left: %s %s: %s\n", e.Kind, e.Record, e.Why)
	}
	return nil
}

// A joinPrinter writes tables, each with columns of its own. What comes from outside goes through cell.
type joinPrinter struct {
	*tabwriter.Writer
	err error
}

func (p *joinPrinter) row(cells ...string) {
	for i, cell := range cells {
		cells[i] = footage.Shown(orDash(cell))
	}
	fmt.Fprint(p, "  ", strings.Join(cells, "\t"))
}

// title begins a table that has some rows.
func (p *joinPrinter) title(rows int, words string) {
	if err := p.Flush(); err != nil && p.err == nil {
		p.err = err
	}
	if rows > 0 {
		fmt.Fprintf(p.Writer, "\n%s\n", words)
	}
}

// printJoined writes what a person wants to see: clips that are sure only where they are asked for.
func printJoined(w io.Writer, j footage.Joined, all bool) error {
	p := &joinPrinter{Writer: tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)}
	n := j.Counts
	fmt.Fprintf(p, "%d files, %d recordings, %d beside them\n", n.Files, n.Recordings, n.Beside)
	fmt.Fprintf(p, "sure %d, likely %d, shifted %d, near miss %d, no file %d, no row %d; settings: %d confirmed, %d different\n",
		n.Sure, n.Likely, n.Shifted, n.NearMiss, n.NoFile, n.NoRow, n.Confirmed, n.Different)
	for _, words := range j.Explanations {
		fmt.Fprintf(p, "! %s\n", words)
	}
	p.title(len(j.Cards), "Folders")
	for _, c := range j.Cards {
		p.row(c.Folder, fmt.Sprint(c.Recordings))
		fmt.Fprintf(p, "\t%s\n", c.Words)
	}
	p.title(len(j.Shifts), "Names shift")
	for _, s := range j.Shifts {
		p.row("camera "+s.Camera, "card "+orDash(s.Card), "day "+orDash(s.Day))
		fmt.Fprintf(p, "\t%s\n  \t\t\tto take that over: --adopt shift:%s\n", s.Words, s.From)
	}
	p.clips(j.Clips, all)
	p.title(len(j.NoRow), "Recordings without a row")
	for _, u := range j.NoRow {
		p.row(u.Folder + "/" + u.File)
		fmt.Fprintf(p, "\t%s\n", u.Words)
	}
	if more := n.NoRow - len(j.NoRow); more > 0 {
		fmt.Fprintf(p, "and %d more\n", more)
	}
	p.title(len(j.Settings), "Settings")
	for _, s := range j.Settings {
		p.row(s.Name, s.Result)
		fmt.Fprintf(p, "\t%s\n", s.Words)
	}
	p.title(len(j.NotListed), "Cards that the listing does not have")
	for _, words := range j.NotListed {
		p.row(words)
		fmt.Fprintln(p)
	}
	p.title(0, "")
	return p.err
}

func (p *joinPrinter) clips(clips []footage.JoinedClip, all bool) {
	var some []footage.JoinedClip
	for _, c := range clips {
		if all || c.Result != footage.Sure {
			some = append(some, c)
		}
	}
	p.title(len(some), "Clips")
	for _, c := range some {
		p.row(wordsOf(c), c.Camera, c.Card, "day "+orDash(c.Day), c.Logged, c.File)
		fmt.Fprintf(p, "\t%s\tclip:%s\n", c.Words, c.Clip)
	}
}

// wordsOf is what came of a clip, as people say it.
func wordsOf(c footage.JoinedClip) string {
	switch c.Result {
	case footage.Shifted:
		if c.By != 0 {
			return fmt.Sprintf("shifted %+d", c.By)
		}
	case footage.NearMiss:
		return "near miss"
	case footage.NoFile:
		return "no file"
	}
	return c.Result
}
