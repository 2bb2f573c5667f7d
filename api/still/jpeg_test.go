package still

import (
	"fmt"
	"image"
	"math"
	"testing"
)

// The equations of T.871: R = Y + 1.402 (Cr − 128), B = Y + 1.772 (Cb − 128),
// G = Y − 0.344136 (Cb − 128) − 0.714136 (Cr − 128).
func TestJPEGIsFullRangeByTheMatrixOfJFIF(t *testing.T) {
	got := fromYCbCr(118, 120, 140)
	for i, want := range [...]float64{118 + 1.402*12, 118 + 0.344136*8 - 0.714136*12, 118 - 1.772*8} {
		if math.Abs(got[i]-want) > 1e-4 {
			t.Errorf("channel %d: got %v, want %v", i, got[i], want)
		}
	}
	grey := image.NewRGBA(box)
	for i := range grey.Pix {
		grey.Pix[i] = [...]byte{120, 118, 110, 255}[i%4]
	}
	f, err := Look(asJPEG(t, grey))
	if err != nil {
		t.Fatal(err)
	}
	err = f.Pixels(box, func(_, _ int, code [3]float64) error {
		for i, want := range [...]float64{120, 118, 110} {
			if math.Abs(code[i]-want) > 1.5 {
				return fmt.Errorf("channel %d: got %v, want %v", i, code[i], want)
			}
		}
		return nil
	})
	if err != nil {
		t.Error(err)
	}
}
