// Command evenwhite keeps the record of white on a set: which light is called
// white, what the cameras are set to, what is off, and the colour log for post.
//
// Each command has a file of its own, which begins with its manual page; colour has
// a folder.
package main

import (
	"errors"
	"flag"
	"fmt"
	"os"
	"strings"

	"evenwhite/server/colour"
	"evenwhite/server/command"
)

const manual = `NAME
    evenwhite - keep the record of white on a set

SYNOPSIS
    evenwhite COMMAND [OPTIONS] [ARGUMENTS]

COMMANDS
%s
    evenwhite help COMMAND shows the manual page of a command.

EXIT STATUS
    0  done
    1  it failed; the message on standard error says why
    2  the command line was not understood
    3  the data is damaged
    4  another process is using the data folder
`

// A verb is the first word after evenwhite: the name of a command.
type verb struct {
	name, summary, manual string
	run                   func(t command.Terminal, args []string) error
}

func commands() []verb {
	return []verb{
		{"serve", "run the server", serveManual, serve},
		{"demo", "fill an invented production", demoManual, demoCommand},
		{"pair", "invite a device", pairManual, pair},
		{"desk", "open the page at this machine", deskManual, deskCommand},
		{"token", "make a token for a script", tokenManual, tokenCommand},
		{"keys", "tell, draw anew or save the server's keys", keysManual, keys},
		{"doctor", "say what keeps phones away", doctorManual, doctorCommand},
		{"check", "check that the data is whole", checkManual, check},
		{"backup", "copy the data into one file", backupManual, backup},
		{"copy", "copy all data into another store", copyManual, copyStore},
		{"compact", "give back the room of free pages", compactManual, compact},
		{"restore", "make a data folder from a backup", restoreManual, restore},
		{"rescue", "read what is left of a damaged database", rescueManual, rescue},
		{"bundle", "carry edits as a file", bundleManual, bundle},
		{"remove", "take a production off this server", removeManual, remove},
		{"link", "exchange with another server", linkManual, linkCommand},
		{"links", "say how the links with other servers stand", linksManual, linksCommand},
		{"unlink", "end a link with another server", unlinkManual, unlinkCommand},
		{"missing", "say which edits are not here", missingManual, missing},
		{"find", "find clips", findManual, findClips},
		{"join", "say which file belongs to which clip", joinManual, joinCommand},
		{"wrap", "say what is open of a day", wrapManual, wrapDay},
		{"export", "write the colour log", exportManual, export},
		{"compare", "say what changed in the colour log", compareManual, compare},
		{"colour", "answer a question about colour", colour.Manual, colour.Run},
		{"version", "say which program this is", versionManual, version},
	}
}

func main() {
	t := command.Terminal{Out: os.Stdout, Err: os.Stderr}
	if info, err := os.Stdin.Stat(); err == nil && info.Mode()&os.ModeCharDevice != 0 {
		t.In = os.Stdin
	}
	os.Exit(run(os.Args[1:], t))
}

// run carries out a command line and returns the exit status.
func run(args []string, t command.Terminal) int {
	if len(args) == 0 {
		fmt.Fprint(t.Err, generalManual())
		return command.ExitUsage
	}
	name, args := args[0], args[1:]
	if name == "help" || name == "-h" || name == "--help" {
		return help(t, args)
	}
	c, ok := find(name)
	if !ok {
		return command.Report(t, "", command.FailAs(command.ExitUsage, fmt.Errorf("there is no command %q", name),
			"evenwhite help lists the commands"))
	}
	err := c.run(t, args)
	if errors.Is(err, flag.ErrHelp) {
		fmt.Fprint(t.Out, c.manual)
		return command.ExitDone
	}
	return command.Report(t, " "+name, err)
}

func help(t command.Terminal, args []string) int {
	if len(args) == 0 {
		fmt.Fprint(t.Out, generalManual())
		return command.ExitDone
	}
	c, ok := find(args[0])
	if !ok {
		return command.Report(t, " help", command.FailAs(command.ExitUsage, fmt.Errorf("there is no command %q", args[0]),
			"evenwhite help lists the commands"))
	}
	fmt.Fprint(t.Out, c.manual)
	return command.ExitDone
}

func find(name string) (verb, bool) {
	if name == "color" { // as half of the trade spells it
		name = "colour"
	}
	for _, c := range commands() {
		if c.name == name {
			return c, true
		}
	}
	return verb{}, false
}

func generalManual() string {
	var list strings.Builder
	for _, c := range commands() {
		fmt.Fprintf(&list, "    %-9s %s\n", c.name, c.summary)
	}
	return fmt.Sprintf(manual, list.String())
}
