package colour

import (
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"slices"
	"strings"

	"evenwhite/colorimetry"
	"evenwhite/colorimetry/spectrumfile"
	"evenwhite/server/command"
)

// An answer is what a question gives, as text and as a JSON object.
type answer struct {
	text    string
	members map[string]any
}

// An asked question is what was typed after its name.
type asked struct {
	words       []string
	uv, uvPrime bool
	family      string
}

// A question takes from least to most words, and some of the options.
type question struct {
	name, takes string
	least, most int
	options     []string
	ask         func(asked) (answer, error)
}

// mostWords bounds the questions that take any number of words.
const mostWords = 100

func questions() []question {
	return []question{
		{"cct", "X Y", 2, 2, []string{"uv", "uvprime"}, askCCT},
		{"mired", "KELVIN1 KELVIN2", 2, 2, nil, askMired},
		{"xy", "KELVIN [DUV]", 1, 2, nil, askXY},
		{"mix", "KELVIN[,DUV]@LUX ...", 1, mostWords, nil, askMix},
		{"aim", "REFERENCE MIRED[,DUV]", 2, 2, nil, askAim},
		{"cast", "LIGHT WHITE", 2, 2, nil, askCast},
		{"gel", "KELVIN[,DUV] NAME|SHIFT[,CC] ...", 2, mostWords, []string{"family"}, askGel},
		{"spectrum", "FILE", 1, 1, nil, askSpectrum},
		{"ssi", "FILE [tungsten|daylight|blackbody|FILE]", 1, 2, nil, askSSI},
	}
}

// Run answers the question that was typed.
func Run(t command.Terminal, args []string) error {
	fs := flag.NewFlagSet("colour", flag.ContinueOnError)
	fs.SetOutput(io.Discard)
	var a asked
	asJSON := fs.Bool("json", false, "")
	fs.BoolVar(&a.uv, "uv", false, "")
	fs.BoolVar(&a.uvPrime, "uvprime", false, "")
	fs.StringVar(&a.family, "family", "", "")
	words, err := parseAround(fs, args)
	if errors.Is(err, flag.ErrHelp) {
		return err
	} else if err != nil {
		return command.Misuse("colour", "%w", err)
	}
	if len(words) == 0 {
		return command.Misuse("colour", "QUESTION is missing; allowed: %s", questionNames())
	}
	at := slices.IndexFunc(questions(), func(q question) bool { return q.name == words[0] })
	if at < 0 {
		return command.Misuse("colour", "there is no question %q; allowed: %s", words[0], questionNames())
	}
	q := questions()[at]
	a.words = words[1:]
	if err := q.check(fs, a); err != nil {
		return err
	}
	answer, err := q.ask(a)
	if err != nil {
		return colorFailure(err)
	}
	if *asJSON {
		return json.NewEncoder(t.Out).Encode(answer.members)
	}
	_, err = fmt.Fprintln(t.Out, answer.text)
	return err
}

func questionNames() string {
	var names []string
	for _, q := range questions() {
		names = append(names, q.name)
	}
	return strings.Join(names, ", ")
}

// check demands the right number of words, and no option of another question.
func (q question) check(fs *flag.FlagSet, a asked) error {
	if n := len(a.words); n < q.least || n > q.most {
		return command.Misuse("colour", "%s takes %s: %d values do not fit", q.name, q.takes, n)
	}
	var err error
	fs.Visit(func(f *flag.Flag) {
		if f.Name != "json" && !slices.Contains(q.options, f.Name) {
			err = command.Misuse("colour", "-%s does not belong to %s", f.Name, q.name)
		}
	})
	return err
}

// parseAround reads options that stand anywhere among the words, and returns the
// words. A negative number is a word: package flag would take it for an option.
func parseAround(fs *flag.FlagSet, args []string) (words []string, err error) {
	for len(args) > 0 {
		arg := args[0]
		if arg == "--" {
			return append(words, args[1:]...), nil
		}
		if len(arg) < 2 || arg[0] != '-' || strings.ContainsRune("0123456789.", rune(arg[1])) {
			words, args = append(words, arg), args[1:]
			continue
		}
		n := min(optionLength(fs, arg), len(args))
		if err := fs.Parse(args[:n]); err != nil {
			return nil, err
		}
		args = args[n:]
	}
	return words, nil
}

// optionLength is 2 for an option whose value is the next argument.
func optionLength(fs *flag.FlagSet, arg string) int {
	name := strings.TrimPrefix(strings.TrimPrefix(arg, "-"), "-")
	f := fs.Lookup(name)
	if f == nil {
		return 1
	}
	if b, ok := f.Value.(interface{ IsBoolFlag() bool }); ok && b.IsBoolFlag() {
		return 1
	}
	return 2
}

// colorFailure adds to an error what a person can do about it.
func colorFailure(err error) error {
	var f *command.Failure
	switch {
	case errors.As(err, &f):
		return err
	case errors.Is(err, spectrumfile.ErrUnreadable):
		return command.Fail(err, "evenwhite help colour tells which files are read")
	case errors.Is(err, colorimetry.ErrDomain):
		return command.Fail(err, "evenwhite help colour tells what each question takes")
	}
	return err
}
