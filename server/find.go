package main

import (
	"fmt"
	"io"
	"net/url"
	"strings"
	"text/tabwriter"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/glance"
	"evenwhite/server/command"
)

const findManual = `NAME
    evenwhite find - find clips by name, timecode, place or what is off

SYNOPSIS
    evenwhite find [--data FOLDER] [--production ID] [--name PATTERN]
                   [--timecode FROM[/TO]] [--camera LETTER] [--card CARD]
                   [--day DAY] [--scene NAME] [--take NUMBER]
                   [--deviation KIND] [--least SIZE]

DESCRIPTION
    Prints the clips that are all of what is asked, by time: name, camera, day,
    scene and set-up, takes, timecode and the id of the record, and whether something of
    it was entered after its day was closed. Frames are counted
    as SMPTE ST 12-1 does, over midnight too; a clip whose end was not logged goes
    on to the next clip of its body. It works with and without a running server.

OPTIONS
    --data FOLDER       the data folder (default ./evenwhite-data)
    --production ID     the production; may be left out where there is only one
    --name PATTERN      a clip name; * stands for any letters and ? for one
    --timecode FROM/TO  clips that hold a frame between the two, or the one frame
    --camera LETTER     of this camera
    --card CARD         of this card
    --day DAY           of this shooting day: its number, or its id
    --scene NAME        of this scene
    --take NUMBER       of this take: number and suffix
    --deviation KIND    listed by a deviation of this kind
    --least SIZE        off by so much at least, by that kind or by any: '8 mired',
                        '4 steps' (of 0.0011 u'v' in the picture) or '0.003 Duv'

EXIT STATUS
    0  the clips are printed, be there any or none
    1  there is no such production, or it cannot be asked
    2  the command line was not understood
    3  the data is damaged
    4  another process is using the data folder

EXAMPLES
    evenwhite find --name 'A001*'
    evenwhite find --timecode 10:20:00:00/10:21:00:00 --camera B
    evenwhite find --deviation setting-off-aim --least '20 mired'
`

func findClips(t command.Terminal, args []string) error {
	fs, folder := command.Options("find")
	query := make(url.Values)
	productionOption(fs, query)
	dayOption(fs, query)
	for _, name := range []string{"name", "timecode", "camera", "card", "scene", "take", "deviation", "least"} {
		fs.Func(name, "", func(s string) error { query.Set(name, s); return nil })
	}
	if err := command.Parse(fs, args); err != nil {
		return err
	}
	return atBooks(t, *folder, "find", query, books.find)
}

func (d books) find(w io.Writer, query url.Values) error {
	l, err := d.production(query)
	if err != nil {
		return err
	}
	from, to, _ := strings.Cut(query.Get("timecode"), "/")
	asked := glance.ClipQuery{Name: query.Get("name"), Camera: query.Get("camera"), Card: query.Get("card"), Scene: query.Get("scene"),
		Take: query.Get("take"), From: from, To: to, Deviation: query.Get("deviation"), Least: query.Get("least")}
	if day := query.Get("day"); day != "" {
		if l.Read(func(b *logbook.Book) { asked.Day, err = dayNamed(b, day) }); err != nil {
			return err
		}
	}
	found, err := glance.SearchClipsAnew(l, asked, logbook.MillisOf(time.Now()))
	if err != nil {
		return command.Fail(err, "evenwhite help find says what can be asked")
	}
	table := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	for _, c := range found.Clips {
		late := ""
		if c.AfterClosing {
			late = "  after closing"
		}
		fmt.Fprintf(table, "%s\t%s\tday %s\t%s\ttake %s\t%s\t%s\t%s%s\n", orDash(c.Name), orDash(c.Camera), orDash(c.Day),
			strings.TrimSpace(c.Scene+" "+c.SetUp), orDash(strings.Join(c.Takes, ", ")), orDash(c.Start), orDash(c.End), c.Clip, late)
	}
	if err := table.Flush(); err != nil {
		return err
	}
	if found.More > 0 {
		_, err = fmt.Fprintf(w, "and %d more: ask for less\n", found.More)
	} else if len(found.Clips) == 0 {
		_, err = fmt.Fprintln(w, "No clip is all of this.")
	}
	return err
}

func orDash(text string) string {
	if text == "" {
		return "-"
	}
	return text
}
