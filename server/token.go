package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"net/url"
	"time"

	"evenwhite/api/pairing"
	"evenwhite/api/pairing/audit"
	"evenwhite/logbook"
	"evenwhite/server/command"
)

const tokenManual = `NAME
    evenwhite token - make a token for a script

SYNOPSIS
    evenwhite token [--data FOLDER] [--role ROLE] [--label NAME]
                    [--production ID] [--for TIME]

DESCRIPTION
    Prints a token for Authorization: Bearer, once: the data hold its hash alone.
    On standard error it says until when it is good, and under which id it is
    listed among the devices (GET /v1/devices) and revoked (DELETE).

    A phone proves with each request that it holds its key. A script cannot, or
    hardly: its token works from any machine that copies it, and ends by itself.
    Give it the smallest role and the shortest time that do.

    A running server makes it; where none runs it is made in the folder.

OPTIONS
    --data FOLDER     the data folder (default ./evenwhite-data)
    --role ROLE       reader (default): looks; post: writes notes, too; guest: fetches colour logs and
                      nothing else; editor: logs; owner: revokes, backs up and
                      removes as well. None of them lets anybody in
    --label NAME      what the script is, and the author of what it changes
                      (default: script)
    --production ID   the role holds in this production only
    --for TIME        how long it is good, 1h to 8784h (default 24h)

EXIT STATUS
    0  the token is printed
    1  it could not be made
    2  the command line was not understood
    4  another process is using the data folder

EXAMPLES
    evenwhite token --label 'dailies report' --for 240h
    TOKEN=$(evenwhite token --role owner)
`

func tokenCommand(t command.Terminal, args []string) error {
	fs, folder := command.Options("token")
	query := url.Values{}
	role := fs.String("role", string(pairing.Reader), "")
	label := fs.String("label", "script", "")
	life := fs.Duration("for", 24*time.Hour, "")
	productionOption(fs, query)
	if err := command.Parse(fs, args); err != nil {
		return err
	}
	query.Set("role", *role)
	query.Set("label", *label)
	query.Set("for", life.String())
	var answer bytes.Buffer
	if err := atBooks(command.Terminal{Out: &answer}, *folder, "token", query, books.makeToken); err != nil {
		return err
	}
	var made pairing.Script
	if err := json.Unmarshal(answer.Bytes(), &made); err != nil {
		return err
	}
	fmt.Fprintf(t.Err, "It is good until %s as %s; to end it before: DELETE /v1/devices/%s\n",
		made.ExpiresAt.Local().Format(time.RFC3339), *role, made.Device)
	_, err := fmt.Fprintln(t.Out, made.Token)
	return err
}

// makeToken makes the token of a script.
func (d books) makeToken(w io.Writer, query url.Values) error {
	var production logbook.ID
	if text := query.Get("production"); text != "" {
		l, err := d.production(query)
		if err != nil {
			return err
		}
		production = l.Production()
	}
	life, err := time.ParseDuration(query.Get("for"))
	if err != nil {
		return err
	}
	made, err := d.auth.MakeScript(pairing.Role(query.Get("role")), query.Get("label"), production, life)
	if err != nil {
		return command.FailAs(command.ExitUsage, err, "evenwhite help token shows what is allowed")
	}
	d.auth.Audit().Add(audit.Entry{At: time.Now(), What: audit.Token, By: "this machine",
		About: fmt.Sprintf("%s, %s until %s", query.Get("label"), query.Get("role"), made.ExpiresAt.Format(time.RFC3339))})
	return json.NewEncoder(w).Encode(made)
}
