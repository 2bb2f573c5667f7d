package colour

import (
	"bytes"
	"encoding/json"
	"errors"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"evenwhite/colorimetry/spectrumfile"
	"evenwhite/server/command"
)

func TestTypedNumbersCarryHalfAUnitOfTheirLastDigit(t *testing.T) {
	for _, c := range []struct {
		word string
		half float64
	}{{"5600", 0.5}, {"0.3127", 0.00005}, {"-80.", 0.5}, {".5", 0.05}, {"5.6e3", 50}, {"56E-1", 0.05}} {
		n, err := readNumber("N", c.word)
		if err != nil || n.half < 0.999999*c.half || n.half > 1.000001*c.half {
			t.Errorf("%s: got half a unit of %v, %v; want %v", c.word, n.half, err, c.half)
		}
	}
	for _, word := range []string{"", "+", ".", "0x10", "1_000", "Inf", "nan", "1,5", "1e", "1e999", "1e9999", "５"} {
		if n, err := readNumber("N", word); err == nil {
			t.Errorf("%q: got %v, want an error", word, n)
		}
	}
}

func TestNoDigitIsShownThatIsFinerThanTheSpread(t *testing.T) {
	for _, c := range []struct {
		e                       estimate
		finest                  int
		signed, unsigned, plain string
	}{
		{estimate{6503.5, 0}, 0, "+6504", "6504", "6504"},
		{estimate{6503.5, 1}, 0, "+6504", "6504", "6504"},
		{estimate{6503.5, 1.1}, 0, "+6500", "6500", "6500"},
		{estimate{6503.5, 200}, 0, "+7000", "7000", "7000"},
		{estimate{6503.5, 20000}, 0, "+0", "0", "7000"},
		{estimate{6503.5, math.Inf(1)}, 0, "+0", "0", "7000"},
		{estimate{0.00324, 0.0001}, 4, "+0.0032", "0.0032", "0.0032"},
		{estimate{0.00324, 0.00011}, 4, "+0.003", "0.003", "0.003"},
		{estimate{-0.00001, 0}, 4, "+0.0000", "0.0000", "0.0000"},
	} {
		if got := c.e.signed(c.finest); got != c.signed {
			t.Errorf("%v signed: got %s, want %s", c.e, got, c.signed)
		}
		if got := c.e.unsigned(c.finest); got != c.unsigned {
			t.Errorf("%v unsigned: got %s, want %s", c.e, got, c.unsigned)
		}
		if got := c.e.plain(c.finest); got != c.plain {
			t.Errorf("%v plain: got %s, want %s", c.e, got, c.plain)
		}
	}
}

func TestSpreadCountsEveryTypedNumber(t *testing.T) {
	square := func(v []float64) ([]float64, error) {
		if v[0] > 3 {
			return nil, errors.New("beyond 3")
		}
		return []float64{v[0] + 10*v[1]}, nil
	}
	for _, c := range []struct {
		what string
		in   []number
		want float64
	}{
		{"both numbers", []number{{1, 0.5}, {1, 0.05}}, 1},
		{"at the end of the domain", []number{{3, 0.5}, {1, 0}}, 0.5},
	} {
		e, err := carried(c.in, square)
		if err != nil || e[0].spread < c.want-1e-9 || e[0].spread > c.want+1e-9 {
			t.Errorf("%s: got %v, %v; want a spread of %v", c.what, e, err, c.want)
		}
	}
}

func TestASpectrumFileOfMoreThan50MBIsRefused(t *testing.T) {
	path := filepath.Join(t.TempDir(), "big.csv")
	if err := os.WriteFile(path, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.Truncate(path, spectrumfile.MaxBytes+1000); err != nil { // sparse
		t.Fatal(err)
	}
	var out, complaint bytes.Buffer
	terminal := command.Terminal{Out: &out, Err: &complaint}
	status := command.Report(terminal, " colour", Run(terminal, []string{"spectrum", path}))
	if want := "allowed are at most 52428800"; status != command.ExitFailed || !strings.Contains(complaint.String(), want) {
		t.Errorf("got status %d, %q; want %d and %q", status, &complaint, command.ExitFailed, want)
	}
}

// Whatever is typed: an answer that is JSON, or an error with a hint. Questions about
// files are left out, since a fuzzer must not open what it likes.
func FuzzQuestionsAreAnsweredOrRefusedWithAHint(f *testing.F) {
	for _, s := range []string{
		"cct 0.3127 0.3290", "cct -uv 0.1978 0.3122", "cct 0.3 0.3", "cct 0.735 0.265",
		"xy 1000 -0.05", "xy 100000 0.05", "xy 1000 0.05", "mired 1e-300 1e300",
		"mix 3200@500 5600,0.0032@1e308 5600@1e308", "mix 1000@1 100000@1",
		"gel 3200 full-ctb half-plus-green", "gel 3200,0.01 -100,30 -family 6500",
		"gel 1000 0,-120", "cast 100000,-0.05 1000", "cast 5e3 5000", "aim 5600 -80,-.01", "aim 1000 1e300", "mired -- -1 5",
	} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, line string) {
		args := strings.Fields(line)
		if strings.Contains(line, "spectrum") || strings.Contains(line, "ssi") {
			t.Skip()
		}
		for _, args := range [][]string{args, append([]string{"-json"}, args...)} {
			var out bytes.Buffer
			err := Run(command.Terminal{Out: &out, Err: &out}, args)
			var hinted *command.Failure
			switch {
			case err != nil && err.Error() != "flag: help requested" && (!errors.As(err, &hinted) || hinted.Hint == ""):
				t.Errorf("%q: got the error %v, want one with a hint", args, err)
			case err == nil && out.Len() == 0:
				t.Errorf("%q: got neither answer nor error", args)
			case err == nil && strings.Contains(out.String(), "NaN"):
				t.Errorf("%q: got %s", args, &out)
			case err == nil && strings.HasPrefix(out.String(), "{") && !json.Valid(out.Bytes()):
				t.Errorf("%q: got %s, want JSON", args, &out)
			}
		}
	})
}
