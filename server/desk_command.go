package main

import (
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"time"

	"evenwhite/api"
	"evenwhite/api/pairing"
	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
	"evenwhite/server/command"
	"evenwhite/server/demo"
	"evenwhite/server/desk"
	"evenwhite/server/lan"
	"evenwhite/server/lan/authority"
)

const deskManual = `NAME
    evenwhite desk - open the page at this machine

SYNOPSIS
    evenwhite desk [--data FOLDER]

DESCRIPTION
    Prints a line to open in a browser on this machine: a page with the productions,
    what is off in them and what waits to be settled, the devices, the backups and
    the downloads. The page may do all that an owner may.

    The line is good once, within an hour. So nobody else who uses this machine gets
    in, although everybody there reaches the port. The page stays open for twelve
    hours, in that tab, while the server runs.

OPTIONS
    --data FOLDER   the running server's data folder (default ./evenwhite-data)

EXIT STATUS
    0  the line is printed
    1  no server is running there
    2  the command line was not understood

EXAMPLES
    evenwhite desk
`

func deskCommand(t command.Terminal, args []string) error {
	fs, folder := command.Options("desk")
	if err := command.Parse(fs, args); err != nil {
		return err
	}
	err := callConsole(*folder, "desk", nil, t.Out)
	if errors.Is(err, errNotRunning) {
		return command.Fail(err, "start it with: evenwhite serve --data "+*folder)
	}
	return err
}

// writeTicket writes an address that opens the desk once.
func (h *host) writeTicket(w io.Writer, _ url.Values) error {
	_, err := fmt.Fprintln(w, h.deskURL())
	return err
}

// deskURL is an address of the desk with a ticket, which a browser does not send.
func (h *host) deskURL() string { return h.at.url() + "/#desk=" + h.seats.Ticket() }

// seat names who sits at the machine, who may do all that an owner may.
func (h *host) seat(r *http.Request) (name string, role pairing.Role) {
	if !h.seats.Sits(r) {
		return "", ""
	}
	return "this machine", pairing.Owner
}

// deskSite is this server as its pages tell of it.
func (h *host) deskSite(contract http.Handler) desk.Site {
	s := desk.Site{Origin: h.at.url(), Names: h.names(), Seats: h.seats, Contract: contract, Around: h.around,
		TrustPages: func() []string { return nil }}
	if h.listen != "" {
		return s
	}
	s.Name, s.Origin = h.origin.Host(), h.origin.String()
	if h.authority != nil {
		s.Fingerprint = authority.Grouped(h.authority.Fingerprint())
	}
	s.TrustPages = func() (all []string) {
		now, err := lan.Interfaces()
		if err != nil {
			return nil
		}
		for _, at := range lan.Addresses(now) {
			all = append(all, h.trustPage(at))
		}
		return all
	}
	return s
}

// around makes the contract of the invented production, in memory, for anybody to read.
func (h *host) around() (http.Handler, error) {
	store := logbook.NewMemory()
	l, err := logbook.OpenLog(store, demo.Production, kinds.Rules, drawLine)
	if err != nil {
		return nil, err
	}
	if err := demo.Fill(l, logbook.MillisOf(time.Now())); err != nil {
		return nil, err
	}
	auth, err := pairing.OpenAuth(pairing.Config{Keep: store, Key: pairing.DrawKey(), Now: time.Now, Log: h.log})
	if err != nil {
		return nil, err
	}
	return api.New(api.Config{Store: store, Auth: auth, Now: time.Now, Log: h.log, Program: programName(), Names: h.names(),
		Seat: func(*http.Request) (string, pairing.Role) { return "looking around", pairing.Reader }})
}
