package main

import (
	"bytes"
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/url"
	"strconv"
	"time"

	"evenwhite/api/uplink"
	"evenwhite/logbook"
	"evenwhite/server/command"
	"evenwhite/server/lan/authority"
)

const linkManual = `NAME
    evenwhite link - exchange with another server

SYNOPSIS
    evenwhite link [--data FOLDER] [--fingerprint HEX] [--label NAME]
                   [--production ID]... ADDRESS CODE

DESCRIPTION
    Makes this server a device of another one, such as the first unit's or a
    studio's, for all productions that the code lets in. The code is made on the
    other machine:

        evenwhite pair --role editor --label 'second unit'

    It prints the line to type here, with the code and the fingerprint.

    As editor, both sides get everything; as reader or post, this server only
    fetches. A production that the other server does not hold yet it takes by a code
    that says so, and this server is its owner there; the code lets in to no others,
    unless one is named:

        evenwhite pair --role editor --new --label 'cart 7'

    From then on the two exchange by themselves whenever they reach each other: at
    the start, after edits, when the other has something new, and every minute. Off
    for days is normal; nothing is lost meanwhile. Several links, chains and rings
    do no harm. Two productions that were begun apart under one id are not mixed.

    Edits keep their authors. Who is admitted stays each server's own affair: a
    device that is revoked here is not revoked there. Changes of a production's own
    settings wait there for an owner's word, and so do those from there here; but
    not while a production comes here by the link, nor there of one that it brought.

    The other's certificate is checked by the authorities that this machine knows
    or, with --fingerprint, by the root of that fingerprint alone, which evenwhite
    pair prints beside the code. It is never skipped.

    A server must run on the folder. The key of links lies in its folder keys, and in
    no backup: a restored server links anew, with a new code.

OPTIONS
    --data FOLDER       the data folder (default ./evenwhite-data)
    --fingerprint HEX   SHA-256 of the other server's root certificate
    --label NAME        how this server is listed there (default: as the code says)
    --production ID     exchange this production alone; may be given several times

EXIT STATUS
    0  they are linked
    1  they are not; nothing was changed
    2  the command line was not understood

EXAMPLES
    evenwhite link https://studio.example:8443 BCDFGHJK
    evenwhite link --fingerprint '3f5a 0c77 ...' https://unit1.local:8443 BCDFGHJK
`

const linksManual = `NAME
    evenwhite links - say how the links with other servers stand

SYNOPSIS
    evenwhite links [--data FOLDER] [--json]

DESCRIPTION
    Lists the servers that this one is linked with, and for each production when
    nothing was left to exchange, how many edits wait here and how many are known
    there that are not here yet, what waits for an owner there, whether clock or
    rules differ, and what keeps them. What the code of a link does not let in is
    told, and is no trouble. GET /readyz, the desk and evenwhite doctor tell of a
    link that is in trouble, too. A server must run on the folder.

OPTIONS
    --data FOLDER   the data folder (default ./evenwhite-data)
    --json          for programs

EXIT STATUS
    0  all links exchange, or there is none
    1  one is in trouble, or they could not be listed
    2  the command line was not understood

EXAMPLES
    evenwhite links
`

const unlinkManual = `NAME
    evenwhite unlink - end a link with another server

SYNOPSIS
    evenwhite unlink [--data FOLDER] ADDRESS

DESCRIPTION
    Ends the link. Every edit stays on both sides. The other server is told, if it
    can be reached; else its owner sees this one among the devices, and can revoke
    it. A server must run on the folder.

OPTIONS
    --data FOLDER   the data folder (default ./evenwhite-data)

EXIT STATUS
    0  the link is over
    1  there is none, or it could not be ended
    2  the command line was not understood

EXAMPLES
    evenwhite unlink https://studio.example:8443
`

func linkCommand(t command.Terminal, args []string) error {
	fs, folder := command.Options("link")
	query := url.Values{}
	fingerprint := fs.String("fingerprint", "", "")
	label := fs.String("label", "", "")
	fs.Func("production", "", func(s string) error {
		query.Add("production", s)
		_, err := logbook.ParseID(s)
		return err
	})
	if err := command.Parse(fs, args, "ADDRESS", "CODE"); err != nil {
		return err
	}
	if *fingerprint != "" {
		if _, err := uplink.Fingerprint(*fingerprint); err != nil {
			return command.Misuse("link", "--%w", err)
		}
	}
	for name, value := range map[string]string{"address": fs.Arg(0), "code": fs.Arg(1), "fingerprint": *fingerprint, "label": *label} {
		query.Set(name, value)
	}
	return atServer(*folder, "link", query, t.Out)
}

func linksCommand(t command.Terminal, args []string) error {
	fs, folder := command.Options("links")
	plain := fs.Bool("json", false, "")
	if err := command.Parse(fs, args); err != nil {
		return err
	}
	var answer bytes.Buffer
	if err := atServer(*folder, "links", nil, &answer); err != nil {
		return err
	}
	var links []uplink.State
	if err := json.Unmarshal(answer.Bytes(), &links); err != nil {
		return err
	}
	if *plain {
		if _, err := answer.WriteTo(t.Out); err != nil {
			return err
		}
	} else {
		describeLinks(t.Out, links)
	}
	if n := len(linkWarnings(links)); n > 0 {
		return command.Fail(fmt.Errorf("%d in trouble", n), "nothing is lost: it is tried again by itself")
	}
	return nil
}

func unlinkCommand(t command.Terminal, args []string) error {
	fs, folder := command.Options("unlink")
	if err := command.Parse(fs, args, "ADDRESS"); err != nil {
		return err
	}
	return atServer(*folder, "unlink", url.Values{"address": {fs.Arg(0)}}, t.Out)
}

// atServer has the server that runs on a folder do a task.
func atServer(folder, name string, query url.Values, out io.Writer) error {
	err := callConsole(folder, name, query, out)
	if errors.Is(err, errNotRunning) {
		return command.Fail(err, "start it with: evenwhite serve --data "+folder)
	}
	return err
}

// linkedBy is the line by which another server is linked with this one, but for the code; "" where others
// do not find it by a name.
func (h *host) linkedBy() string {
	if h.listen != "" {
		return ""
	}
	line := "evenwhite link "
	if h.authority != nil {
		line += "--fingerprint '" + authority.Grouped(h.authority.Fingerprint()) + "' "
	}
	return line + h.origin.String()
}

// linkTask links the running server.
func (h *host) linkTask(w io.Writer, query url.Values) error {
	wish := uplink.Wish{Address: query.Get("address"), Fingerprint: query.Get("fingerprint"), Code: query.Get("code"),
		Label: query.Get("label"), Plain: h.listen != "" && h.pair == nil}
	for _, text := range query["production"] {
		id, err := logbook.ParseID(text)
		if err != nil {
			return err
		}
		wish.Only = append(wish.Only, id)
	}
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	defer cancel()
	l, err := h.uplinks.Join(ctx, wish)
	if errors.Is(err, uplink.ErrWish) {
		return command.FailAs(command.ExitUsage, err, "evenwhite help link shows what is allowed")
	}
	if err != nil {
		return command.Fail(err, "nothing was changed here")
	}
	_, err = fmt.Fprintf(w, "Linked with %s as %s, device %s there.\nevenwhite links says how it stands.\n", l.Address, l.Role, l.Device)
	return err
}

func (h *host) linksTask(w io.Writer, _ url.Values) error {
	links := h.uplinks.States()
	if links == nil {
		links = []uplink.State{}
	}
	return json.NewEncoder(w).Encode(links)
}

func (h *host) unlinkTask(w io.Writer, query url.Values) error {
	l, err := h.uplinks.Leave(context.Background(), query.Get("address"))
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(w, "The link with %s is over; every edit stays.\n", l.Address)
	return err
}

// describeLinks prints how links stand.
func describeLinks(w io.Writer, links []uplink.State) {
	if len(links) == 0 {
		fmt.Fprintln(w, "This server is linked with no other. evenwhite help link says how.")
	}
	for _, l := range links {
		fmt.Fprintf(w, "%s as %s, since %s\n", l.Address, l.Role, l.Since.Local().Format(time.DateTime))
		if l.Trouble != "" {
			fmt.Fprintf(w, "    %s\n", l.Trouble)
		}
		for _, p := range l.Productions {
			title := cmp.Or(p.Title, "without a title")
			fmt.Fprintf(w, "    %s (production %s): %s\n", title, p.Production, standing(p))
		}
	}
}

// standing is how the exchange of a production stands, in words.
func standing(p uplink.ProductionState) string {
	text := "not exchanged since this server started"
	if !p.Last.IsZero() {
		text = "all exchanged at " + p.Last.Local().Format(time.DateTime)
	}
	if p.Apart != "" {
		return p.Apart
	}
	if p.Waiting > 0 {
		text += fmt.Sprintf(", %d edits wait here", p.Waiting)
	}
	if p.Coming > 0 {
		text += fmt.Sprintf(", %d are still to come from there", p.Coming)
	}
	if p.Aside > 0 {
		text += fmt.Sprintf(", %d wait for an owner there, or were left", p.Aside)
	}
	if p.Clock != 0 {
		ahead := time.Duration(p.Clock) * time.Second
		words := "ahead of"
		if ahead < 0 {
			words = "behind"
		}
		text += fmt.Sprintf(", its clock is %s %s the one here: set the one that is wrong", ahead.Abs(), words)
	}
	if p.Rules > 0 {
		text += ", the other judges by rules " + strconv.Itoa(p.Rules) + ": update both"
	}
	if p.Trouble != "" {
		text += "\n        " + p.Trouble
	}
	return text
}

// linkWarnings say which links do not exchange. They are for anybody: they name no production.
func linkWarnings(links []uplink.State) (all []string) {
	for _, l := range links {
		waiting := 0
		for _, p := range l.Productions {
			waiting += p.Waiting
		}
		if l.Ails() != "" {
			all = append(all, fmt.Sprintf("the linked server %s does not exchange, and %d edits wait for it: evenwhite links says why",
				l.Address, waiting))
		}
	}
	return all
}
