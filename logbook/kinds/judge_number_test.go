package kinds

import (
	"testing"

	"evenwhite/logbook"
)

func TestCompareNumbersAgreesWithTheLongWay(t *testing.T) {
	texts := []string{"0", "-0.0", "1", "-1", "1.5", "1.50", "-1.5", "0.000000000000000001", "0.0000000000000000001", "999999999999999999",
		"1000000000000000000", "1e18", "25000.0000000000000000001", "25000", "-25000", "12e-1", "1.2"}
	for _, a := range texts {
		for _, b := range texts {
			if got, want := CompareNumbers(a, b), logbook.ParseNumber(a).Compare(logbook.ParseNumber(b)); got != want {
				t.Errorf("%s against %s: got %d, want %d", a, b, got, want)
			}
		}
		if got, want := isWhole(a), logbook.ParseNumber(a).Whole(); got != want {
			t.Errorf("%s is whole: got %v, want %v", a, got, want)
		}
	}
}
