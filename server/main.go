// Command evenwhite keeps the record of white on a set: which light is called
// white, what the cameras are set to, what is off, and the colour log for post.
//
// Each command has a file of its own, which begins with its manual page.
package main

import (
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"strings"
)

// Exit statuses, as the manual pages tell them.
const (
	exitDone    = 0
	exitFailed  = 1
	exitUsage   = 2
	exitDamaged = 3
	exitInUse   = 4
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

// A terminal is where a command writes: what was asked for, and what went wrong.
type terminal struct{ out, err io.Writer }

// A command is the first word after evenwhite.
type command struct {
	name, summary, manual string
	run                   func(t terminal, args []string) error
}

func commands() []command {
	return []command{
		{"serve", "run the server", serveManual, serve},
		{"demo", "fill an invented production", demoManual, demoCommand},
		{"pair", "invite a device", pairManual, pair},
		{"check", "check that the data is whole", checkManual, check},
		{"backup", "copy the data into one file", backupManual, backup},
		{"compact", "give back the room of free pages", compactManual, compact},
		{"restore", "make a data folder from a backup", restoreManual, restore},
		{"bundle", "carry edits as a file", bundleManual, bundle},
		{"missing", "say which edits are not here", missingManual, missing},
		{"export", "write the colour log", exportManual, export},
		{"colour", "answer a question about colour", colourManual, colour},
		{"version", "say which program this is", versionManual, version},
	}
}

// failure is an error with what a person can do about it.
type failure struct {
	code int
	err  error
	hint string
}

func (f *failure) Error() string { return f.err.Error() }

func (f *failure) Unwrap() error { return f.err }

// misuse is the failure of a command line that is not understood.
func misuse(command, format string, args ...any) error {
	return &failure{exitUsage, fmt.Errorf(format, args...), "evenwhite help " + command + " shows what is allowed"}
}

func main() { os.Exit(run(os.Args[1:], terminal{os.Stdout, os.Stderr})) }

// run carries out a command line and returns the exit status.
func run(args []string, t terminal) int {
	if len(args) == 0 {
		fmt.Fprint(t.err, generalManual())
		return exitUsage
	}
	name, args := args[0], args[1:]
	if name == "help" || name == "-h" || name == "--help" {
		return help(t, args)
	}
	c, ok := find(name)
	if !ok {
		return report(t, "", &failure{exitUsage, fmt.Errorf("there is no command %q", name), "evenwhite help lists the commands"})
	}
	err := c.run(t, args)
	if errors.Is(err, flag.ErrHelp) {
		fmt.Fprint(t.out, c.manual)
		return exitDone
	}
	return report(t, " "+name, err)
}

func help(t terminal, args []string) int {
	if len(args) == 0 {
		fmt.Fprint(t.out, generalManual())
		return exitDone
	}
	c, ok := find(args[0])
	if !ok {
		return report(t, " help", &failure{exitUsage, fmt.Errorf("there is no command %q", args[0]), "evenwhite help lists the commands"})
	}
	fmt.Fprint(t.out, c.manual)
	return exitDone
}

func find(name string) (command, bool) {
	for _, c := range commands() {
		if c.name == name {
			return c, true
		}
	}
	return command{}, false
}

func generalManual() string {
	var list strings.Builder
	for _, c := range commands() {
		fmt.Fprintf(&list, "    %-9s %s\n", c.name, c.summary)
	}
	return fmt.Sprintf(manual, list.String())
}

// report tells an error and its hint, and returns the exit status.
func report(t terminal, command string, err error) int {
	if err == nil {
		return exitDone
	}
	fmt.Fprintf(t.err, "evenwhite%s: %v\n", command, err)
	var f *failure
	if !errors.As(err, &f) {
		return exitFailed
	}
	if f.hint != "" {
		fmt.Fprintf(t.err, "hint: %s\n", f.hint)
	}
	return f.code
}

// defaultFolder is where the data lies unless --data says otherwise.
const defaultFolder = "./evenwhite-data"

// options begins the options of a command; all have --data but version.
func options(name string) (fs *flag.FlagSet, folder *string) {
	fs = flag.NewFlagSet(name, flag.ContinueOnError)
	fs.SetOutput(io.Discard)
	return fs, fs.String("data", defaultFolder, "")
}

// parse reads a command line and demands a number of arguments after the options.
func parse(fs *flag.FlagSet, args []string, names ...string) error {
	err := fs.Parse(args)
	switch {
	case errors.Is(err, flag.ErrHelp):
		return err
	case err != nil:
		return misuse(fs.Name(), "%w", err)
	case fs.NArg() > len(names):
		return misuse(fs.Name(), "too much on the command line: %q", fs.Arg(len(names)))
	case fs.NArg() < len(names):
		return misuse(fs.Name(), "%s is missing", names[fs.NArg()])
	}
	return nil
}
