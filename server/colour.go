package main

import (
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"evenwhite/colorimetry"
)

const colourManual = `NAME
    evenwhite colour - answer a question about the colour of light

SYNOPSIS
    evenwhite colour [-json] cct X Y
    evenwhite colour [-json] mired KELVIN1 KELVIN2

DESCRIPTION
    cct    the correlated colour temperature, Duv (+ greener) and mired of a
           chromaticity x y; rounded to what its decimals can carry.
    mired  the shift from a white of KELVIN1 to a light of KELVIN2:
           + shows warmer in the picture, - cooler.

OPTIONS
    -json   print one JSON object, unrounded, with the units in the names

EXIT STATUS
    0  done
    1  the values have no answer
    2  the command line was not understood

EXAMPLES
    evenwhite colour cct 0.3127 0.3290
    evenwhite colour -json mired 3200 5600
`

// An answer is what a question gives, as text and as a JSON object.
type answer struct {
	text    string
	members map[string]float64
}

// A question takes as many numbers as it has names.
type question struct {
	name    string
	numbers []string
	ask     func(words []string, v []float64) (answer, error)
}

func questions() []question {
	return []question{
		{"cct", []string{"X", "Y"}, askCCT},
		{"mired", []string{"KELVIN1", "KELVIN2"}, askMired},
	}
}

func colour(t terminal, args []string) error {
	fs := flag.NewFlagSet("colour", flag.ContinueOnError)
	fs.SetOutput(io.Discard)
	asJSON := fs.Bool("json", false, "")
	if err := fs.Parse(args); errors.Is(err, flag.ErrHelp) {
		return err
	} else if err != nil {
		return misuse("colour", "%w", err)
	}
	if fs.NArg() == 0 {
		return misuse("colour", "QUESTION is missing")
	}
	for _, q := range questions() {
		if q.name != fs.Arg(0) {
			continue
		}
		words := fs.Args()[1:]
		if len(words) != len(q.numbers) {
			return misuse("colour", "%s takes %s, not %d values", q.name, strings.Join(q.numbers, " "), len(words))
		}
		v := make([]float64, len(words))
		for i, w := range words {
			var err error
			if v[i], err = strconv.ParseFloat(w, 64); err != nil {
				return misuse("colour", "%s is %q; allowed is a number", q.numbers[i], w)
			}
		}
		a, err := q.ask(words, v)
		if err != nil {
			return err
		}
		if *asJSON {
			return json.NewEncoder(t.out).Encode(a.members)
		}
		_, err = fmt.Fprintln(t.out, a.text)
		return err
	}
	return misuse("colour", "there is no question %q", fs.Arg(0))
}

func askCCT(words []string, v []float64) (answer, error) {
	c, err := colorimetry.XY{X: v[0], Y: v[1]}.CCTDuv()
	if err != nil {
		return answer{}, err
	}
	half := math.Pow(10, -float64(min(decimals(words[0]), decimals(words[1])))) / 2
	step, duvPlaces := 1.0, 4
	if near, err := (colorimetry.XY{X: v[0] + half, Y: v[1]}).CCTDuv(); err == nil {
		step = math.Pow(10, math.Max(0, math.Floor(math.Log10(math.Abs(float64(near.CCT-c.CCT))))))
	}
	duvPlaces = min(duvPlaces, decimals(words[0]), decimals(words[1]))
	return answer{
		fmt.Sprintf("%.0f K, Duv %+.*f, %.0f mired", math.Round(float64(c.CCT)/step)*step, duvPlaces, float64(c.Duv), float64(c.Mired())),
		map[string]float64{"cctKelvin": float64(c.CCT), "duv": float64(c.Duv), "mired": float64(c.Mired())},
	}, nil
}

func decimals(word string) int {
	_, after, _ := strings.Cut(word, ".")
	return len(after)
}

func askMired(_ []string, v []float64) (answer, error) {
	white, err := colorimetry.Kelvin(v[0]).Mired()
	if err != nil {
		return answer{}, err
	}
	light, err := colorimetry.Kelvin(v[1]).Mired()
	if err != nil {
		return answer{}, err
	}
	shift, look := float64(light-white), "no difference in the picture"
	if shift > 0 {
		look = "warmer in the picture"
	} else if shift < 0 {
		look = "cooler in the picture"
	}
	return answer{fmt.Sprintf("%+.0f mired, %s", shift, look), map[string]float64{"shiftMired": shift}}, nil
}
