package colorimetry

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestMiredShiftsAreThoseOfTheTrade(t *testing.T) {
	for _, row := range checkRows(t, "mired.json") {
		t.Run(row.Name, func(t *testing.T) {
			from, err := Kelvin(row.in[0]).Mired()
			if err != nil {
				t.Fatal(err)
			}
			to, err := Kelvin(row.in[1]).Mired()
			if err != nil {
				t.Fatal(err)
			}
			row.compare(t, float64(to-from))
		})
	}
}

func TestMiredAndKelvinUndoEachOther(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		want := Kelvin(rapid.Float64Range(1e-3, 1e9).Draw(t, "kelvin"))
		m, err := want.Mired()
		if err != nil {
			t.Fatal(err)
		}
		got, err := m.Kelvin()
		if err != nil || !within(float64(got/want), 1, 1e-14) {
			t.Errorf("got %v, %v, want %v", got, err, want)
		}
	})
}

func TestTemperaturesMustBeAboveZero(t *testing.T) {
	for _, v := range []float64{0, -1, math.NaN(), math.Inf(1), math.Inf(-1)} {
		if got, err := Kelvin(v).Mired(); !errors.Is(err, ErrDomain) || !strings.Contains(err.Error(), "kelvin") {
			t.Errorf("Kelvin(%v): got %v, %v, want ErrDomain that names kelvin", v, got, err)
		}
		if got, err := Mired(v).Kelvin(); !errors.Is(err, ErrDomain) || !strings.Contains(err.Error(), "mired") {
			t.Errorf("Mired(%v): got %v, %v, want ErrDomain that names mired", v, got, err)
		}
	}
	if got, err := Kelvin(1e-308).Mired(); !errors.Is(err, ErrDomain) {
		t.Errorf("a temperature whose reciprocal has no number: got %v, %v, want ErrDomain", got, err)
	}
}

func TestMiredOfPublishedExamples(t *testing.T) {
	for _, row := range checkRows(t, "mired-examples.json") {
		t.Run(row.Name, func(t *testing.T) {
			m, err := Kelvin(row.in[0]).Mired()
			if err != nil {
				t.Fatal(err)
			}
			row.compare(t, float64(m))
			k, err := Mired(row.want[0]).Kelvin()
			if err != nil || !within(float64(k), row.in[0], 1e-9) {
				t.Errorf("back: got %v, %v, want %v", k, err, row.in[0])
			}
		})
	}
}
