package cameras_test

import (
	"fmt"
	"strings"
	"testing"

	"evenwhite/logbook/cameras"
	"evenwhite/logbook/stage"
)

// The mean of a patch is as sure as its deviation over the root of its pixels: four
// times as many halve the uncertainty, which digits and codes bound from below.
func TestTheUncertaintyOfACardFollowsItsPixels(t *testing.T) {
	s := stage.New(t)
	of := func(spread string, pixels int, more ...string) float64 {
		id := s.Card(s.B, 5600, stage.Day5600, 12, 0, s.Reading, append([]string{"spreadPercent", spread, "areaPixels", fmt.Sprint(pixels)}, more...)...)
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
