package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"runtime/debug"
	"time"

	"evenwhite/api/uplink"
	"evenwhite/logbook/bolt"
	"evenwhite/server/command"
	"evenwhite/server/doctor"
	"evenwhite/server/lan"
)

const doctorManual = `NAME
    evenwhite doctor - say what keeps phones away

SYNOPSIS
    evenwhite doctor [--data FOLDER]

DESCRIPTION
    Looks at this machine and its network, and says of each thing what it saw, what
    a phone meets, and what to do: the name and who else tells it, multicast, the
    port, the certificate, the clock, the free disk, the data folder, the last
    backup, and how each link with another server stands. It takes about two seconds and changes nothing. It looks while a server
    runs on the data as well as while none does; run it where the server runs, as
    the user who runs it.

    What only a phone can know it says: whether the access point lets multicast and
    the port through, and whether the phone has the root certificate. The trust
    page, which the phone opens by address, tries that from there.

OPTIONS
    --data FOLDER   the data folder (default ./evenwhite-data)

EXIT STATUS
    0  all is well, as far as can be seen here
    1  something is in trouble, or could not be looked at
    2  the command line was not understood
    3  the data is damaged
    4  another process is using the data

EXAMPLES
    evenwhite doctor
`

func doctorCommand(t command.Terminal, args []string) error {
	fs, folder := command.Options("doctor")
	if err := command.Parse(fs, args); err != nil {
		return err
	}
	p, err := placeOf(*folder)
	if err != nil {
		return err
	}
	facts, err := doctor.Look(context.Background(), p, time.Now())
	if err != nil {
		return err
	}
	trouble, err := doctor.Write(t.Out, facts.Findings())
	switch {
	case err != nil:
		return err
	case trouble == 1:
		return errors.New("one thing is in trouble")
	case trouble > 1:
		return fmt.Errorf("%d things are in trouble", trouble)
	}
	return nil
}

// placeOf gathers what is known of a data folder, from the server that runs on it or else
// from the data.
func placeOf(folder string) (p doctor.Place, err error) {
	p = doctor.Place{Folder: folder, Keys: filepath.Join(folder, keysName), Database: databaseOf(folder), Authority: authorityFile(folder)}
	if at, ok := sourceTime(); ok {
		p.Past = append(p.Past, doctor.Moment{What: "the source of this program was changed", At: at})
	}
	var ok bool
	if p.Backup, ok, err = bolt.NewestBackup(filepath.Join(folder, backupsName), time.Now()); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return p, err
	} else if !ok {
		p.Backup = time.Time{}
	}
	var said bytes.Buffer
	err = callConsole(folder, "condition", nil, &said)
	if err == nil {
		p.Server = new(doctor.Server)
		err = json.Unmarshal(said.Bytes(), p.Server)
		p.Origin = p.Server.Origin
		return p, err
	}
	if !errors.Is(err, errNotRunning) {
		return p, err
	}
	if err := needData(folder); err != nil {
		return p, err
	}
	store, err := openStore(folder)
	if err != nil {
		return p, err
	}
	p.Origin, ok, err = readOrigin(store)
	if !ok {
		p.Origin = lan.Origin{}
	}
	return p, errors.Join(err, store.Close())
}

// condition says how the server is, to evenwhite doctor.
func (h *host) condition(w io.Writer, _ url.Values) error {
	damage, err := h.logs.Warnings()
	if err != nil {
		damage = append(damage, "what is damaged could not be looked at: "+err.Error())
	}
	return json.NewEncoder(w).Encode(doctor.Server{
		Process: os.Getpid(), Serves: h.serves(), Origin: h.origin, DeskPort: h.at.listen.Port,
		Tells: h.tellsName(), Brought: h.pair != nil, Warnings: append(damage, h.dataWarnings()...), NameWarnings: h.nameWarnings(),
		Links: linksSeen(h.uplinks.States()),
	})
}

// linksSeen are links as the doctor tells of them.
func linksSeen(links []uplink.State) (all []doctor.Link) {
	for _, l := range links {
		all = append(all, doctor.Link{Saw: fmt.Sprintf("%s as %s: %s", l.Address, l.Role, together(l)), Ails: l.Ails()})
	}
	return all
}

// together is how all productions of a link stand.
func together(l uplink.State) string {
	var last time.Time
	waiting, coming, never := 0, 0, 0
	for _, p := range l.Productions {
		waiting, coming = waiting+p.Waiting, coming+p.Coming
		switch {
		case p.Apart != "":
		case p.Last.IsZero():
			never++
		case last.IsZero() || p.Last.Before(last):
			last = p.Last
		}
	}
	text := "nothing was exchanged since the server started"
	if !last.IsZero() {
		text = "all was exchanged at " + last.Local().Format(time.DateTime)
	}
	if never > 0 && !last.IsZero() {
		text += fmt.Sprintf(", but of %d productions", never)
	}
	return fmt.Sprintf("%s; %d edits wait here, %d are still to come", text, waiting, coming)
}

// sourceTime is when the source of this program was last changed, where the Go tool noted it.
func sourceTime() (at time.Time, ok bool) {
	info, known := debug.ReadBuildInfo()
	if !known {
		return at, false
	}
	for _, s := range info.Settings {
		if s.Key == "vcs.time" {
			at, err := time.Parse(time.RFC3339, s.Value)
			return at, err == nil
		}
	}
	return at, false
}
