package figure_test

import (
	"fmt"
	"testing"

	"evenwhite/colorimetry"
	"evenwhite/logbook/figure"
)

func TestAColouredLightHasNoCCT(t *testing.T) {
	c := figure.ChromaticityOf(colorimetry.XY{X: 0.2, Y: 0.1})
	if c.CCTKelvin != nil || c.Duv != nil || c.Words != "coloured, no CCT" {
		t.Errorf("got %+v", c)
	}
}

func TestRoundingIsTheOneThatIsShown(t *testing.T) {
	for _, c := range []struct {
		value    float64
		decimals int
		want     float64
	}{{8.4999, 0, 8}, {8.5, 0, 9}, {-8.5, 0, -9}, {0.00204, 4, 0.0020}, {-0.2, 0, 0}} {
		if got := figure.RoundTo(c.value, c.decimals); got != c.want || fmt.Sprint(got) != fmt.Sprint(c.want) {
			t.Errorf("RoundTo(%v, %d): got %v, want %v", c.value, c.decimals, got, c.want)
		}
	}
}
