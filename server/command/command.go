// Package command is what all commands of the program share: where they write, how
// their options and arguments are read, and how they fail.
//
// A command is a function of a Terminal and its words that returns an error. A
// Failure says with which status the program then ends and what a person can do
// about it; any other error ends it with ExitFailed. Report prints the error and
// returns the status; only main ends the program.
package command

import (
	"errors"
	"flag"
	"fmt"
	"io"
)

// The exit statuses, as the manual pages list them.
const (
	ExitDone    = 0
	ExitFailed  = 1
	ExitUsage   = 2
	ExitDamaged = 3
	ExitInUse   = 4
)

// A Terminal is where a command writes: what was asked for, and what went wrong; and where
// somebody answers it, nil where nobody is there.
type Terminal struct {
	Out, Err io.Writer
	In       io.Reader
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

// Report prints an error and its hint, and returns the exit status.
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
	fs = Bare(name)
	return fs, fs.String("data", defaultFolder, "")
}

// Bare are the options of a command that works on no data folder.
func Bare(name string) *flag.FlagSet {
	fs := flag.NewFlagSet(name, flag.ContinueOnError)
	fs.SetOutput(io.Discard)
	return fs
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
