package cameras_test

import (
	"fmt"
	"strings"
	"testing"

	"evenwhite/logbook/cameras"
	"evenwhite/logbook/stage"
)

func TestASampleSaysHowFarACameraIsFromItsLabel(t *testing.T) {
	s := stage.New(t)
	id := s.Card(s.B, 5600, stage.Day5600, 12, -0.004, s.Reading)
	got, err := cameras.ColorOfSample(s.Book(), id, s.Clock)
	if err != nil {
		t.Fatal(err)
	}
	// The digits carry a tenth of a mired: three decimals of a percent.
	stage.Near(t, "mired", *got.Error.Mired, 12, 0)
	stage.Near(t, "Duv", *got.Error.Duv, -0.004, 0.00011)
	stage.Near(t, "cast", *got.Cast.Mired, -12, 0) // a white that is too warm makes a cooler picture
	stage.Near(t, "learnt", got.Learnt.Mired, 12, 0)
	if g := got.ToNeutral.Gain; !(g.R > 1 && g.B < 1) || got.ToNeutral.Takes != "codeRatio" {
		t.Errorf("a cool card to neutral: got %+v, want red up and blue down", got.ToNeutral)
	}
	if got.LampFamily != "twoColorLed" || got.Problem != "" {
		t.Errorf("got %+v", got)
	}
}

func TestSamplesThatAreRefusedOrWarnedOf(t *testing.T) {
	rgb := func(r, g, b float64, encoding string) string {
		return fmt.Sprintf(`{"as":"percent","r":%g,"g":%g,"b":%g,"encoding":%q,"primaries":"bt709"}`, r, g, b, encoding)
	}
	for _, c := range []struct {
		name, field, value string
		problem, warning   string
	}{
		{"one channel too bright", "rgb", rgb(95, 85, 85, "bt1886"), "too bright", ""},
		{"one channel too dark", "rgb", rgb(4, 8, 8, "bt1886"), "too dark", ""},
		{"no card at all", "rgb", rgb(10, 80, 10, "bt1886"), "not near neutral", ""},
		{"a curve that is not published", "rgb", rgb(40, 40, 40, "log"), "encoding", ""},
		{"clipped", "clippedPercent", "3", "clipped", ""},
		{"a look was on", "readAt", `"monitorWithLook"`, "", "look"},
		{"paper", "patch", `"paper"`, "", "paper"},
		{"uneven", "spreadPercent", "9", "", "uneven"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := stage.New(t)
			id := s.Card(s.B, 5600, stage.Day5600, 0, 0, s.Reading, c.field, c.value)
			got, err := cameras.ColorOfSample(s.Book(), id, s.Clock)
			if err != nil {
				t.Fatal(err)
			}
			if (c.problem == "") != (got.Problem == "") || !strings.Contains(got.Problem, c.problem) {
				t.Errorf("problem: got %q, want %q", got.Problem, c.problem)
			}
			if warnings := strings.Join(got.Warnings, "; "); !strings.Contains(warnings, c.warning) {
				t.Errorf("warnings: got %q, want %q", warnings, c.warning)
			}
			if c.problem != "" && got.White != nil {
				t.Errorf("a refused sample has a white: %+v", got.White)
			}
		})
	}
}

// A scope that shows whole percents carries some mired: what is shown says no more.
func TestASampleShowsNoMoreDigitsThanItsSpread(t *testing.T) {
	for _, c := range []struct {
		name, rgb           string
		spread, kelvin, duv float64 // least spread in mired; steps of what is shown
	}{
		{"whole percents", `{"as":"percent","r":42,"g":42,"b":45,"encoding":"bt1886","primaries":"bt709"}`, 2, 10, 0.0001},
		{"tens of percents", `{"as":"percent","r":40,"g":40,"b":5e1,"encoding":"bt1886","primaries":"bt709"}`, 2, 10, 0.0001},
		{"8 bits", `{"as":"codeValues","r":107,"g":107,"b":112,"bits":8,"range":"full","encoding":"bt1886","primaries":"bt709"}`, 0.8, 10, 0.0001},
		{"three decimals", `{"as":"percent","r":42.013,"g":42.051,"b":43.112,"encoding":"bt1886","primaries":"bt709"}`, 0, 1, 0.0001},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := stage.New(t)
			id := s.Card(s.B, 5600, stage.Day5600, 0, 0, s.Reading, "rgb", c.rgb)
			got, err := cameras.ColorOfSample(s.Book(), id, s.Clock)
			if err != nil || got.White == nil {
				t.Fatalf("got %+v, %v", got, err)
			}
			if u := *got.Uncertainty.Mired; u < c.spread {
				t.Errorf("spread: got %v mired, want at least %v", u, c.spread)
			}
			onStep := func(what string, value, step float64) {
				if n := value / step; n-float64(int(n+0.5)) > 1e-6 || float64(int(n+0.5))-n > 1e-6 {
					t.Errorf("%s: got %v, want a multiple of %v (spread %s)", what, value, step, got.Uncertainty.Words)
				}
			}
			onStep("kelvin", *got.White.CCTKelvin, c.kelvin)
			if !strings.Contains(got.Error.Words, got.Uncertainty.Words) || got.FloorMired == nil {
				t.Errorf("the error does not say its spread: %q, floor %v", got.Error.Words, got.FloorMired)
			}
		})
	}
}

// The mean of a patch is as sure as its deviation over the root of its pixels: four
// times as many halve the uncertainty, which digits and codes bound from below.
func TestTheUncertaintyOfACardFollowsItsPixels(t *testing.T) {
	s := stage.New(t)
	of := func(spread string, pixels int, more ...string) float64 {
		id := s.Card(s.B, 5600, stage.Day5600, 12, 0, s.Reading,
			append([]string{"spreadPercent", spread, "areaPixels", fmt.Sprint(pixels)}, more...)...)
		got, err := cameras.ColorOfSample(s.Book(), id, s.Clock)
		if err != nil || got.Uncertainty == nil {
			t.Fatalf("got %+v, %v", got, err)
		}
		return *got.Uncertainty.Mired
	}
	stage.Near(t, "four times as many pixels", of("4", 25)/of("4", 100), 2, 0.05)
	stage.Near(t, "twice the spread", of("4", 25)/of("2", 25), 2, 0.05)
	whole := []string{"rgb", `{"as":"percent","r":42,"g":42,"b":41,"encoding":"bt1886","primaries":"bt709"}`}
	if one, many := of("0.01", 100, whole...), of("0.01", 1000000, whole...); one != many || one == 0 {
		t.Errorf("what the typed digits carry: got %v and %v, want the same for both", one, many)
	}
}

// A card that is strongly coloured rests on the adaptation, and says so from 60 mired
// on.
func TestACardFarFromTheWhiteIsWarnedOf(t *testing.T) {
	for off, warned := range map[float64]bool{-66: true, -55: false, 0: false, 55: false, 66: true} {
		s := stage.New(t)
		id := s.Card(s.B, 5600, stage.Day5600, off, 0, s.Reading)
		got, err := cameras.ColorOfSample(s.Book(), id, s.Clock)
		if said := strings.Contains(strings.Join(got.Warnings, "; "), "more than 60 mired"); err != nil || said != warned {
			t.Errorf("%v mired: got %q, %v, want a warning: %v", off, got.Warnings, err, warned)
		}
	}
}
