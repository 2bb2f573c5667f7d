package figure

import (
	"math"
	"testing"

	"evenwhite/colorimetry"
)

// TestNoMoreDigitsThanAreCarried: the floors are 0.0020 and 0.0040 in x or y.
func TestNoMoreDigitsThanAreCarried(t *testing.T) {
	for _, c := range []struct {
		floor float64
		want  int
	}{{0.0012, 4}, {0.0031, 3}, {0.0099, 3}, {0.29, 2}, {2.9, 1}, {3, 0}, {90, -1}, {190, -1}, {310, -2}, {0, 9}} {
		if got := CarriedDecimals(c.floor, 9); got != c.want {
			t.Errorf("a floor of %v leaves %d decimals, want %d", c.floor, got, c.want)
		}
	}
	xy, err := colorimetry.CCTDuv{CCT: 5612, Duv: 0.00314}.XY()
	if err != nil {
		t.Fatal(err)
	}
	if got, want := ShownAs(xy, 0).Words, "5612 K, Duv +0.0031"; got != want {
		t.Errorf("without a floor: got %q, want %q", got, want)
	}
	coarse := ShownAs(xy, 0.004)
	if *coarse.CCTKelvin != 5610 || math.Abs(*coarse.Duv-0.003) > 0.0002 || *coarse.FloorMired < 4 {
		t.Errorf("floor 0.004: got %v K, Duv %v ± %v mired", *coarse.CCTKelvin, *coarse.Duv, *coarse.FloorMired)
	}
}

// A floor that moves a colour out of what has a CCT says the least, and not the most.
func TestACoarserFloorNeverLeavesMoreDigits(t *testing.T) {
	for _, xy := range []colorimetry.XY{{X: 0.44, Y: 0.405}, {X: 0.345, Y: 0.355}, {X: 0.3127, Y: 0.329}, {X: 0.38, Y: 0.42}} {
		fine := FloorsOf(xy, 0.02)
		for _, floor := range []float64{0.1, 0.2, 0.3, 0.5} {
			f := FloorsOf(xy, floor)
			if !(f.Kelvin > fine.Kelvin && f.Mired > fine.Mired && f.Duv > fine.Duv && f.UV > fine.UV) {
				t.Errorf("%+v within ±%g: got %+v, want more than the %+v of ±0.02", xy, floor, f, fine)
			}
		}
	}
}
