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

// The exit statuses, as the manual pages tell them.
const (
	ExitDone    = 0
	ExitFailed  = 1
	ExitUsage   = 2
	ExitDamaged = 3
	ExitInUse   = 4
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

// A Terminal is where a command writes: what was asked for, and what went wrong.
type Terminal struct{ Out, Err io.Writer }

// A verb is the first word after evenwhite: the name of a command.
type verb struct {
	name, summary, manual string
	run                   func(t Terminal, args []string) error
}

func commands() []verb {
	return []verb{
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

// A Failure is an error with the exit status that it leads to and what a person can
// do about it.
type Failure struct {
	Code int
	Err  error
	Hint string
}

// Fail makes the Failure of a command that could not do what it was asked for.
func Fail(err error, hint string) error { return FailAs(ExitFailed, err, hint) }

// FailAs makes a Failure with an exit status of its own.
func FailAs(code int, err error, hint string) error { return &Failure{code, err, hint} }

func (f *Failure) Error() string { return f.Err.Error() }

func (f *Failure) Unwrap() error { return f.Err }

// Misuse is the failure of a command line that is not understood.
func Misuse(command, format string, args ...any) error {
	return FailAs(ExitUsage, fmt.Errorf(format, args...), "evenwhite help "+command+" shows what is allowed")
}

func main() { os.Exit(run(os.Args[1:], Terminal{Out: os.Stdout, Err: os.Stderr})) }

// run carries out a command line and returns the exit status.
func run(args []string, t Terminal) int {
	if len(args) == 0 {
		fmt.Fprint(t.Err, generalManual())
		return ExitUsage
	}
	name, args := args[0], args[1:]
	if name == "help" || name == "-h" || name == "--help" {
		return help(t, args)
	}
	c, ok := find(name)
	if !ok {
		return Report(t, "", FailAs(ExitUsage, fmt.Errorf("there is no command %q", name), "evenwhite help lists the commands"))
	}
	err := c.run(t, args)
	if errors.Is(err, flag.ErrHelp) {
		fmt.Fprint(t.Out, c.manual)
		return ExitDone
	}
	return Report(t, " "+name, err)
}

func help(t Terminal, args []string) int {
	if len(args) == 0 {
		fmt.Fprint(t.Out, generalManual())
		return ExitDone
	}
	c, ok := find(args[0])
	if !ok {
		return Report(t, " help", FailAs(ExitUsage, fmt.Errorf("there is no command %q", args[0]), "evenwhite help lists the commands"))
	}
	fmt.Fprint(t.Out, c.manual)
	return ExitDone
}

func find(name string) (verb, bool) {
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

// Report tells an error and its hint, and returns the exit status.
func Report(t Terminal, name string, err error) int {
	if err == nil {
		return ExitDone
	}
	fmt.Fprintf(t.Err, "evenwhite%s: %v\n", name, err)
	var f *Failure
	if !errors.As(err, &f) {
		return ExitFailed
	}
	if f.Hint != "" {
		fmt.Fprintf(t.Err, "hint: %s\n", f.Hint)
	}
	return f.Code
}

// defaultFolder is where the data lies unless --data says otherwise.
const defaultFolder = "./evenwhite-data"

// Options begins the options of a command; all have --data but version.
func Options(name string) (fs *flag.FlagSet, folder *string) {
	fs = flag.NewFlagSet(name, flag.ContinueOnError)
	fs.SetOutput(io.Discard)
	return fs, fs.String("data", defaultFolder, "")
}

// Parse reads a command line and demands a number of arguments after the options.
func Parse(fs *flag.FlagSet, args []string, names ...string) error {
	err := fs.Parse(args)
	switch {
	case errors.Is(err, flag.ErrHelp):
		return err
	case err != nil:
		return Misuse(fs.Name(), "%w", err)
	case fs.NArg() > len(names):
		return Misuse(fs.Name(), "too much on the command line: %q", fs.Arg(len(names)))
	case fs.NArg() < len(names):
		return Misuse(fs.Name(), "%s is missing", names[fs.NArg()])
	}
	return nil
}
