package cameras

import (
	"testing"

	"evenwhite/colorimetry"
)

// A code ratio is exact at the level of its grey, and at all levels where the curve is a pure power. At a
// linear 0.05, of a correction by 70 mired that is exact at 0.18, the foot of sRGB leaves some steps, and
// the square root of HLG below its logarithm many.
func TestWhatARatioLeavesElsewhere(t *testing.T) {
	day := colorimetry.CCTDuv{CCT: 5600}
	white := colorimetry.CCTDuv{CCT: colorimetry.Kelvin(1e6 / (1e6/5600 + 70))}
	light, err := day.XY()
	if err != nil {
		t.Fatal(err)
	}
	on, err := white.XY()
	if err != nil {
		t.Fatal(err)
	}
	cool, err := PictureXY(light, on)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		transfer colorimetry.Transfer
		gamma    float64
		low, top float64
	}{
		{colorimetry.TransferSRGB, 0, 2, 3.5}, {colorimetry.TransferHLG, 0, 10, 16},
		{colorimetry.TransferPower, 2.2, 0, 1e-6}, {colorimetry.TransferBT1886, 0, 0, 1e-6},
	} {
		e := colorimetry.Encoding{Transfer: c.transfer, Gamma: c.gamma, Primaries: colorimetry.BT709}
		grey, err := e.Encode(0.18)
		if err != nil {
			t.Fatal(err)
		}
		to, err := e.Correct([3]float64{grey, grey, grey}, cool)
		if err != nil {
			t.Fatal(err)
		}
		var signal, ratio [3]float64
		for i := range signal {
			signal[i], ratio[i] = grey*to.Ratio[i], 1/to.Ratio[i]
		}
		at := func(factor float64) float64 {
			t.Helper()
			left, err := LeftAt(e, signal, ratio, colorimetry.D65, factor)
			if err != nil {
				t.Fatal(err)
			}
			return left
		}
		if got := at(1); got > 1e-9 {
			t.Errorf("%v: %.3g steps are left at its level", c.transfer, got)
		}
		if got := at(0.05 / 0.18); !(got >= c.low && got <= c.top) {
			t.Errorf("%v: %.2f steps are left at 0.05, want %g to %g", c.transfer, got, c.low, c.top)
		}
	}
}
