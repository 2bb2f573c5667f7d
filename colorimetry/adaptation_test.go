package colorimetry

import (
	"errors"
	"testing"

	"pgregory.net/rapid"
)

func TestAdaptationAgreesWithAnIndependentProgram(t *testing.T) {
	for _, row := range checkRows(t, "colorjs-adaptation.json") {
		t.Run(row.Name, func(t *testing.T) {
			v := row.in
			got, err := Adaptation(v[0]).Adapt(XYZ{v[1], v[2], v[3]}, XY{v[4], v[5]}, XY{v[6], v[7]})
			if err != nil {
				t.Fatal(err)
			}
			row.compare(t, got.X, got.Y, got.Z)
		})
	}
}

func TestBradfordGivesThePublishedMatrix(t *testing.T) {
	for _, row := range checkRows(t, "bradford.json") {
		t.Run(row.Name, func(t *testing.T) {
			d65, err := XYZ{0.95047, 1, 1.08883}.XY() // ASTM E308
			if err != nil {
				t.Fatal(err)
			}
			d50, err := XYZ{0.96422, 1, 0.82521}.XY() // ASTM E308
			if err != nil {
				t.Fatal(err)
			}
			got, err := Bradford.Adapt(XYZ{row.in[0], row.in[1], row.in[2]}, d65, d50)
			if err != nil {
				t.Fatal(err)
			}
			row.compare(t, got.X, got.Y, got.Z)
		})
	}
}

// drawWhite draws lights that cameras meet: 2500 to 20 000 K, near the locus.
var drawWhite = rapid.Custom(func(t *rapid.T) CCTDuv {
	m := rapid.Float64Range(50, 400).Draw(t, "mired")
	return CCTDuv{Kelvin(1e6 / m), Duv(rapid.Float64Range(-0.015, 0.015).Draw(t, "Duv"))}
})

func drawWhiteXY(t *rapid.T, name string) XY {
	xy, err := drawWhite.Draw(t, name).XY()
	if err != nil {
		t.Fatal(err)
	}
	return xy
}

func TestAdaptationTakesWhiteToWhiteAndBackAgain(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := rapid.SampledFrom([]Adaptation{CAT16, CAT02, Bradford}).Draw(t, "adaptation")
		from, to := drawWhiteXY(t, "from"), drawWhiteXY(t, "to")
		white, err := a.Adapt(from.XYZ(1), from, to)
		if err != nil {
			t.Fatal(err)
		}
		if want := to.XYZ(1); !near(white, want, 1e-12) {
			t.Fatalf("white: got %v, want %v", white, want)
		}
		part := rapid.Float64Range(0, 2)
		c := XYZ{part.Draw(t, "X"), part.Draw(t, "Y"), part.Draw(t, "Z")}
		there, err := a.Adapt(c, from, to)
		if err != nil {
			t.Fatal(err)
		}
		if back, err := a.Adapt(there, to, from); err != nil || !near(back, c, 1e-11) {
			t.Fatalf("round trip: got %v (%v), want %v", back, err, c)
		}
	})
}

func near(a, b XYZ, tolerance float64) bool {
	return within(a.X, b.X, tolerance) && within(a.Y, b.Y, tolerance) && within(a.Z, b.Z, tolerance)
}

func TestAdaptationRefusesWhatItCannotAdaptTo(t *testing.T) {
	a := XYZ{1, 1, 1}
	for name, err := range map[string]error{
		"a white that is no chromaticity":    second(CAT16.Adapt(a, XY{0, 0.3}, D65)),
		"a white without the third response": second(Bradford.Adapt(a, D65, XY{0.5, 0.49})),
		"an unknown adaptation":              second(Adaptation(3).Adapt(a, D65, D65)),
		"an infinite colour":                 second(CAT16.Adapt(XYZ{1 / zero, 1, 1}, D65, D65)),
	} {
		t.Run(name, func(t *testing.T) {
			if !errors.Is(err, ErrDomain) {
				t.Errorf("got %v, want ErrDomain", err)
			}
		})
	}
}

var zero = 0.0

func second[T any](_ T, err error) error { return err }
