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
	"evenwhite/api/pairing"
	"evenwhite/logbook"
	"evenwhite/server/command"
	"evenwhite/server/qr"
)

const pairManual = `NAME
    evenwhite pair - invite a device

SYNOPSIS
    evenwhite pair [--data FOLDER] [--role ROLE] [--label NAME]
                   [--production ID] [--new]

DESCRIPTION
    Has the running server make an invitation and prints its code: eight letters
    that let one device in, once, for five minutes; and a QR code that leads a phone,
    which trusts the server already, to the app, which pairs with it. Either ends
    both; and the line by which another server is linked with this one (evenwhite
    help link), with the fingerprint of this one's root. A device pairs with a key of its own; a script has none, and is let in by
    evenwhite token. The server keeps invitations in memory only, so it must be
    running; twenty wrong codes within ten minutes withdraw them all. Who sent those
    is told in the log, and here with the next code.

    Whoever can read the data folder may invite: being at the machine is the root
    of trust. It works through the file console.json, which the server writes
    there with mode 0600 for as long as it runs.

OPTIONS
    --data FOLDER     the running server's data folder (default ./evenwhite-data)
    --role ROLE       owner (default): invites and revokes as well; editor: logs;
                      post: looks and writes notes; reader: looks;
                      guest: fetches colour logs and nothing else
    --label NAME      whom or what the code is for (default: the role)
    --production ID   the role holds in this production only
    --new             for another unit's server (evenwhite link), as editor: it may
                      bring productions that are not here, and becomes owner of
                      each. Of those that are here it is let in to the one of
                      --production, or to none

EXIT STATUS
    0  the code is printed
    1  no server is running there, or it refused
    2  the command line was not understood

EXAMPLES
    evenwhite pair
    evenwhite pair --role editor --label 'B camera'
    evenwhite pair --role editor --new --label 'cart 7'
`

func pair(t command.Terminal, args []string) error {
	fs, folder := command.Options("pair")
	role := fs.String("role", string(pairing.Owner), "")
	label := fs.String("label", "", "")
	production := fs.String("production", "", "")
	brings := fs.Bool("new", false, "")
	if err := command.Parse(fs, args); err != nil {
		return err
	}
	if *label == "" {
		*label = *role
	}
	if *production != "" {
		if _, err := logbook.ParseID(*production); err != nil {
			return command.Misuse("pair", "--production: %w", err)
		}
	}
	query := url.Values{"role": {*role}, "label": {*label}, "production": {*production}}
	if *brings {
		query.Set("new", "yes")
	}
	var answer bytes.Buffer
	err := callConsole(*folder, "invite", query, &answer)
	if errors.Is(err, errNotRunning) {
		return command.Fail(err, "start it with: evenwhite serve --data "+*folder)
	}
	if err != nil {
		return err
	}
	var inv invited
	if err := json.Unmarshal(answer.Bytes(), &inv); err != nil {
		return err
	}
	inv.print(t.Out, *folder)
	return nil
}

// invited is an invitation as it is printed at the machine.
type invited struct {
	Code      string    `json:"code"`
	Role      string    `json:"role"`
	Label     string    `json:"label"`
	New       bool      `json:"new,omitempty"`
	ExpiresAt time.Time `json:"expiresAt"`
	Link      string    `json:"link,omitempty"`   // to scan, in place of the code
	Links     string    `json:"links,omitempty"`  // what another server's person types, but for the code
	Voided    string    `json:"voided,omitempty"` // that somebody guessed codes lately, and who
}

// print says too what is for a terminal, which has no key to pair with.
func (i invited) print(w io.Writer, folder string) {
	label := ""
	if i.Label != i.Role {
		label = " (" + i.Label + ")"
	}
	if i.New {
		label += ", with new productions"
	}
	if i.Voided != "" {
		fmt.Fprintf(w, "caution: %s\n", i.Voided)
	}
	fmt.Fprintf(w, "This code lets one device in as %s%s, once, until %s:\n\n    %s\n\n",
		i.Role, label, i.ExpiresAt.Local().Format("15:04:05"), i.Code)
	if i.Link != "" {
		fmt.Fprintln(w, "Or scan this with a phone that trusts the server already:")
		if err := qr.Write(w, i.Link, isTerminal(w)); err != nil {
			fmt.Fprintf(w, "    %s\n", i.Link)
		}
		fmt.Fprintln(w)
	}
	if i.Links != "" {
		fmt.Fprintf(w, "Another server is linked with this one by, on its machine:\n\n    %s %s\n\n", i.Links, i.Code)
	}
	fmt.Fprintf(w, "A script pairs with no code; it gets a token of its own:\n\n    evenwhite token --data %s\n", folder)
}

// inviteTask makes an invitation in the running server, which phones find by an origin and other servers
// link with by a line.
func inviteTask(store logbook.Store, auth *pairing.Auth, origin, links string) task {
	return func(w io.Writer, query url.Values) error {
		var production logbook.ID
		if p := query.Get("production"); p != "" {
			var err error
			if production, err = logbook.ParseID(p); err != nil {
				return err
			}
			if production, err = oneProduction(store, production); err != nil {
				return err
			}
		}
		invite := auth.Invite
		if query.Has("new") {
			invite = auth.InviteNew
		}
		inv, err := invite("this machine", pairing.Role(query.Get("role")), query.Get("label"), production)
		if err != nil {
			return command.FailAs(command.ExitUsage, err, "evenwhite help pair shows what is allowed")
		}
		out := invited{Code: inv.Code, Role: string(inv.Role), Label: inv.Label, New: inv.New, ExpiresAt: inv.ExpiresAt}
		if origin != "" {
			out.Link = api.PairLink(origin, inv.Secret)
		}
		if inv.Role != pairing.Guest {
			out.Links = links
		}
		if v, ok := auth.Voided(); ok {
			out.Voided = fmt.Sprintf("all invitations were withdrawn at %s: wrong codes came from %s", v.At.Local().Format("15:04:05"), v.From)
		}
		return json.NewEncoder(w).Encode(out)
	}
}
