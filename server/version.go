package main

import (
	"flag"
	"fmt"
	"io"
	"runtime"
	"runtime/debug"

	"evenwhite/logbook/kinds"
	"evenwhite/server/command"
)

const versionManual = `NAME
    evenwhite version - say which program this is

SYNOPSIS
    evenwhite version

DESCRIPTION
    Prints the program's version, the state of the source that it was built from,
    the number of the rules by which edits are judged, and what it was built with.
    Two programs with the same rules number accept the same edits.

EXIT STATUS
    0  done
    2  the command line was not understood

EXAMPLES
    evenwhite version
`

func version(t command.Terminal, args []string) error {
	fs := flag.NewFlagSet("version", flag.ContinueOnError)
	fs.SetOutput(io.Discard)
	if err := command.Parse(fs, args); err != nil {
		return err
	}
	b := buildFacts()
	fmt.Fprintf(t.Out, "evenwhite %s\nsource    %s\nrules     %d\nbuilt by  %s for %s/%s\n",
		b.version, b.source, kinds.Rules.Version, runtime.Version(), runtime.GOOS, runtime.GOARCH)
	return nil
}

type facts struct{ version, source string }

// buildFacts reads what the Go tool noted in the program.
func buildFacts() facts {
	f := facts{"(unknown)", "(not noted)"}
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return f
	}
	if info.Main.Version != "" {
		f.version = info.Main.Version
	}
	set := make(map[string]string)
	for _, s := range info.Settings {
		set[s.Key] = s.Value
	}
	if set["vcs.revision"] != "" {
		f.source = set["vcs.revision"] + " of " + set["vcs.time"]
		if set["vcs.modified"] == "true" {
			f.source += ", changed since"
		}
	}
	return f
}

// programName is how the program signs what it writes.
func programName() string { return "evenwhite " + buildFacts().version }
