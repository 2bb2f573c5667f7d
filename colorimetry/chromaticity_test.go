package colorimetry

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestChromaticityOfTheDisplayWhite(t *testing.T) {
	for _, row := range checkRows(t, "cie15-d65.json") {
		t.Run(row.Name, func(t *testing.T) {
			xy, err := XYZ{row.in[0], row.in[1], row.in[2]}.XY()
			if err != nil {
				t.Fatal(err)
			}
			p := xy.UVPrime()
			row.compare(t, xy.X, xy.Y, p.U, p.V)
		})
	}
}

func TestChromaticityRoundTrips(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.Float64Range(0.01, 0.98).Draw(t, "x")
		want := XY{x, rapid.Float64Range(0.01, 1).Draw(t, "y of the rest") * (0.999 - x)}
		if want.Check() != nil {
			return
		}
		luminance := rapid.Float64Range(1e-6, 1e6).Draw(t, "luminance")
		roads := map[string]func() (XY, error){
			"u v":        want.UV().XY,
			"u' v'":      want.UVPrime().XY,
			"u v by u'":  want.UV().UVPrime().UV().XY,
			"X Y Z":      want.XYZ(luminance).XY,
			"u' v' by u": want.UVPrime().UV().UVPrime().XY,
		}
		for road, back := range roads {
			got, err := back()
			if err != nil || !within(got.X, want.X, 1e-12) || !within(got.Y, want.Y, 1e-12) {
				t.Errorf("%s: got %v, %v, want %v", road, got, err, want)
			}
		}
	})
}

func TestChromaticitiesOutsideThePlaneAreRefused(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for _, c := range []XYZ{{}, {-1, 2, 3}, {nan, 1, 1}, {inf, 1, 1}, {1e308, 1e308, 1e308}} {
		if got, err := c.XY(); !errors.Is(err, ErrDomain) {
			t.Errorf("%v: got %v, %v, want ErrDomain", c, got, err)
		}
	}
	for _, c := range []UV{{nan, 0.3}, {0.2, inf}, {0, 0.5}, {-0.1, 0.3}, {0.2, 0}, {0.5, 0.6}} {
		if got, err := c.XY(); !errors.Is(err, ErrDomain) {
			t.Errorf("%v: got %v, %v, want ErrDomain", c, got, err)
		}
		if got, err := c.UVPrime().XY(); !errors.Is(err, ErrDomain) {
			t.Errorf("u' v' of %v: got %v, %v, want ErrDomain", c, got, err)
		}
	}
}

// The way there and the way back through each plane, against printed coordinates.
func TestCoordinatesOfTheIlluminants(t *testing.T) {
	for _, row := range checkRows(t, "cie15-coordinates.json") {
		t.Run(row.Name, func(t *testing.T) {
			c := XYZ{row.in[0], row.in[1], row.in[2]}
			xy, err := c.XY()
			if err != nil {
				t.Fatal(err)
			}
			p := c.UVPrime()
			row.compare(t, xy.X, xy.Y, p.U, p.V)
			printed := UVPrime{row.want[2], row.want[3]}
			back, err := printed.XY()
			if err != nil {
				t.Fatal(err)
			}
			// Half a unit of the fifth digit of u' and v' is up to 3e-5 in x and y.
			if !within(back.X, row.want[0], 3e-5) || !within(back.Y, row.want[1], 3e-5) {
				t.Errorf("x y from u' v': got %v, want %v", back, row.want[:2])
			}
		})
	}
}

func TestCoordinatesOf1960And1976(t *testing.T) {
	for _, row := range checkRows(t, "cie15-uv.json") {
		t.Run(row.Name, func(t *testing.T) {
			p := UV{row.in[0], row.in[1]}.UVPrime()
			row.compare(t, p.U, p.V)
			back := UVPrime{row.want[0], row.want[1]}.UV()
			if !within(back.U, row.in[0], 5e-5) || !within(back.V, row.in[1], 5e-5) {
				t.Errorf("back: got %v, want %v", back, row.in)
			}
		})
	}
}

func TestStepsAreThoseOfThePublishedCircle(t *testing.T) {
	for _, row := range checkRows(t, "cie-tn001.json") {
		for name, towards := range map[string]UVPrime{"u'": {1, 0}, "v'": {0, -1}, "aslant": {-0.6, 0.8}} {
			t.Run(row.Name+" "+name, func(t *testing.T) {
				centre, r := D65.UVPrime(), row.in[0]
				edge := UVPrime{centre.U + r*towards.U, centre.V + r*towards.V}
				if got := centre.Distance(edge); !within(got, r, 1e-15) {
					t.Errorf("distance: got %v, want %v", got, r)
				}
				xy, err := edge.XY()
				if err != nil {
					t.Fatal(err)
				}
				row.compare(t, StepsFromNeutral(xy.XYZ(1)))
				row.compare(t, PictureSteps(xy.XYZ(1), D65.XYZ(1)))
			})
		}
	}
}
