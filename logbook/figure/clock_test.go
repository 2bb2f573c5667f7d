package figure_test

import (
	"testing"

	"evenwhite/logbook/figure"
)

func TestAgesAreSaidAsPeopleSayThem(t *testing.T) {
	for minutes, want := range map[float64]string{
		0: "0 min", 119: "119 min", 120: "2 h", 47 * 60: "47 h", 48 * 60: "2 days", 380227: "264 days",
	} {
		if got := figure.AgeWords(minutes); got != want {
			t.Errorf("%g minutes: got %q, want %q", minutes, got, want)
		}
	}
}
