package api

import (
	"encoding/csv"
	"encoding/json"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"
)

// What follows takes a spectrum to x y, lux, CCT and Duv with nothing of package
// colorimetry, not even its tables: the observer is another copy, at 5 nm.

// A measuredLight is a spectrum at the wavelengths of its file.
type measuredLight struct {
	name      string
	nm, power []float64
}

// readColumns reads a table of testdata/colorimetry with a header row.
func readColumns(t *testing.T, file string) (names []string, columns [][]float64) {
	t.Helper()
	f, err := os.Open("../testdata/colorimetry/" + file)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = f.Close() }()
	r := csv.NewReader(f)
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	columns = make([][]float64, len(rows[0]))
	for _, row := range rows[1:] {
		for i, cell := range row {
			v, err := strconv.ParseFloat(cell, 64)
			if err != nil {
				t.Fatal(err)
			}
			columns[i] = append(columns[i], v)
		}
	}
	return rows[0], columns
}

// readMeasuredLights returns F1 to F11, and the other lights by the number of
// their column [PSYCHTOOLBOX].
func readMeasuredLights(t *testing.T) (fluorescent, others []measuredLight) {
	t.Helper()
	names, columns := readColumns(t, "spectra.csv")
	for i, name := range names {
		l := measuredLight{name, columns[0], columns[i]}
		switch {
		case strings.HasPrefix(name, "F"):
			fluorescent = append(fluorescent, l)
		case strings.HasPrefix(name, "column"):
			others = append(others, l)
		}
	}
	return fluorescent, others
}

// cut keeps what passes an invented filter with sharp edges.
func (l measuredLight) cut(name string, from, to float64) measuredLight {
	passed := measuredLight{name, l.nm, make([]float64, len(l.power))}
	for i, nm := range l.nm {
		if nm >= from && nm <= to {
			passed.power[i] = l.power[i]
		}
	}
	return passed
}

// An ownObserver is the 2° observer: nm, then x̄, ȳ and z̄ [CIE15].
type ownObserver [][]float64

func readObserver(t *testing.T) ownObserver {
	t.Helper()
	_, columns := readColumns(t, "observer1931.csv")
	if first, last := columns[0][0], columns[0][len(columns[0])-1]; first != 360 || last != 780 || len(columns[0]) != 85 {
		t.Fatalf("the observer has %d rows from %v to %v nm, want 85 from 360 to 780", len(columns[0]), first, last)
	}
	return columns
}

// see sums a light; power is 0 where it was not measured.
func (o ownObserver) see(l measuredLight) (x, y, z float64) {
	at := map[float64]float64{}
	for i, nm := range l.nm {
		at[nm] = l.power[i]
	}
	for i, nm := range o[0] {
		x, y, z = x+at[nm]*o[1][i], y+at[nm]*o[2][i], z+at[nm]*o[3][i]
	}
	return x, y, z
}

// uvOf is the CIE 1960 u v of x y [CIE15].
func uvOf(x, y float64) (u, v float64) {
	d := -2*x + 12*y + 3
	return 4 * x / d, 6 * y / d
}

// blackBody is u v of Planck's law with c2 = 1.4388e-2 m K [ITS90].
func (o ownObserver) blackBody(mired float64) (u, v float64) {
	var x, y, z float64
	for i, nm := range o[0] {
		power := math.Pow(nm/560, -5) / (math.Exp(14.388*mired/nm) - 1)
		x, y, z = x+power*o[1][i], y+power*o[2][i], z+power*o[3][i]
	}
	return uvOf(x/(x+y+z), y/(x+y+z))
}

// nearest finds the nearest black body from 10 to 1000 mired by golden section:
// kelvin, and the distance in u v, greater than 0 above the locus.
func (o ownObserver) nearest(x, y float64) (kelvin, duv float64) {
	u, v := uvOf(x, y)
	away := func(mired float64) float64 {
		bu, bv := o.blackBody(mired)
		return math.Hypot(u-bu, v-bv)
	}
	low := 10.0
	for mired := 10.0; mired <= 1000; mired += 5 {
		if away(mired) < away(low) {
			low = mired
		}
	}
	low, high := max(low-5, 10), min(low+5, 1000)
	golden := (math.Sqrt(5) - 1) / 2
	for high-low > 1e-7 {
		a, b := high-golden*(high-low), low+golden*(high-low)
		if away(a) < away(b) {
			high = b
		} else {
			low = a
		}
	}
	mired := (low + high) / 2
	_, bv := o.blackBody(mired)
	return 1e6 / mired, math.Copysign(away(mired), v-bv)
}

// spread is how far kelvin and Duv may move where x and y are rounded by at most
// half: the farthest corner.
func (o ownObserver) spread(x, y, half float64) (kelvin, duv float64) {
	k, d := o.nearest(x, y)
	for _, dx := range []float64{-half, half} {
		for _, dy := range []float64{-half, half} {
			ck, cd := o.nearest(x+dx, y+dy)
			kelvin, duv = max(kelvin, math.Abs(ck-k)), max(duv, math.Abs(cd-d))
		}
	}
	return kelvin, duv
}

// If the sums of this file were wrong, they would not give what the standard
// prints for F1 to F11 to four decimals [CIE15].
func TestOwnSumsGiveThePublishedChromaticities(t *testing.T) {
	text, err := os.ReadFile("../testdata/colorimetry/cie15-illuminants.json")
	if err != nil {
		t.Fatal(err)
	}
	var published struct {
		Rows []struct {
			Name string
			Want [2]float64
		}
	}
	if err := json.Unmarshal(text, &published); err != nil {
		t.Fatal(err)
	}
	lights, _ := readMeasuredLights(t)
	o, checked := readObserver(t), 0
	for _, row := range published.Rows {
		for _, l := range lights {
			if l.name != row.Name {
				continue
			}
			x, y, z := o.see(l)
			got := [2]float64{x / (x + y + z), y / (x + y + z)}
			if math.Abs(got[0]-row.Want[0]) > 0.00005 || math.Abs(got[1]-row.Want[1]) > 0.00005 {
				t.Errorf("%s: got x y %v, want %v", l.name, got, row.Want)
			}
			checked++
		}
	}
	if checked != 11 {
		t.Errorf("%d lights were checked, want F1 to F11", checked)
	}
}
