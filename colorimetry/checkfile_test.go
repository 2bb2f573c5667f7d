package colorimetry

// Check files: published values with their source and tolerance, one file a
// source, in testdata/colorimetry. A test reads one by
//
//	for _, row := range checkRows(t, "file.json") {
//		t.Run(row.Name, func(t *testing.T) { row.compare(t, got...) })
//	}
//
// where row.in holds the inputs in the order of the file's "in" and got follows
// the order of its "want". The file:
//
//	{"source": "…", "in": ["x", "y"], "want": ["cct"],
//	 "rows": [{"name": "…", "in": [0.3127, 0.3290], "want": [6504]}]}
//
// The tolerance is half a unit of the last printed digit of each wanted number.
// A row that needs another one gives "tolerance" (one for each wanted number)
// and says why in "because". A row may name a source of its own; a row without
// any is refused, and so are unknown keys and files without rows. Every file has
// a row in testdata/colorimetry/SOURCES.md.

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

type checkFile struct {
	Source string     `json:"source"`
	In     []string   `json:"in"`
	Want   []string   `json:"want"`
	Rows   []checkRow `json:"rows"`
}

type checkRow struct {
	Name      string        `json:"name"`
	Source    string        `json:"source"`
	In        []json.Number `json:"in"`
	Want      []json.Number `json:"want"`
	Tolerance []float64     `json:"tolerance"`
	Because   string        `json:"because"`

	in, want, tolerance []float64
	columns             []string
}

func checkRows(t testing.TB, file string) []checkRow {
	t.Helper()
	data, err := os.ReadFile(filepath.Join("..", "testdata", "colorimetry", file))
	if err != nil {
		t.Fatal(err)
	}
	rows, err := parseCheckFile(data)
	if err != nil {
		t.Fatalf("%s: %v", file, err)
	}
	return rows
}

func parseCheckFile(data []byte) ([]checkRow, error) {
	var f checkFile
	d := json.NewDecoder(bytes.NewReader(data))
	d.DisallowUnknownFields()
	d.UseNumber()
	if err := d.Decode(&f); err != nil {
		return nil, err
	}
	if _, err := d.Token(); err != io.EOF {
		return nil, errors.New("something follows the file's object")
	}
	if len(f.Rows) == 0 || len(f.Want) == 0 {
		return nil, errors.New("no rows, or nothing wanted")
	}
	names := map[string]bool{}
	for i := range f.Rows {
		r := &f.Rows[i]
		if r.Name == "" || names[r.Name] {
			return nil, fmt.Errorf("row %d: its name %q is missing or used twice", i+1, r.Name)
		}
		names[r.Name] = true
		if strings.TrimSpace(f.Source) == "" && strings.TrimSpace(r.Source) == "" {
			return nil, fmt.Errorf("row %q has no source", r.Name)
		}
		if len(r.In) != len(f.In) || len(r.Want) != len(f.Want) {
			return nil, fmt.Errorf("row %q: %d in and %d wanted, the file says %d and %d", r.Name, len(r.In), len(r.Want), len(f.In), len(f.Want))
		}
		r.columns = f.Want
		if err := r.parse(); err != nil {
			return nil, fmt.Errorf("row %q: %w", r.Name, err)
		}
	}
	return f.Rows, nil
}

func (r *checkRow) parse() error {
	for _, n := range r.In {
		v, err := n.Float64()
		if err != nil {
			return err
		}
		r.in = append(r.in, v)
	}
	for _, n := range r.Want {
		v, err := n.Float64()
		if err != nil {
			return err
		}
		r.want = append(r.want, v)
		r.tolerance = append(r.tolerance, halfUnit(n.String()))
	}
	if (r.Tolerance == nil) != (strings.TrimSpace(r.Because) == "") {
		return errors.New("a tolerance needs a because, and a because a tolerance")
	}
	if r.Tolerance == nil {
		return nil
	}
	if len(r.Tolerance) != len(r.Want) {
		return fmt.Errorf("%d tolerances for %d wanted numbers", len(r.Tolerance), len(r.Want))
	}
	for _, v := range r.Tolerance {
		if !(v > 0) {
			return fmt.Errorf("tolerance %v is not above 0", v)
		}
	}
	r.tolerance = r.Tolerance
	return nil
}

// halfUnit returns half a unit of the last printed digit of a decimal number.
func halfUnit(printed string) float64 {
	mantissa, exponent, _ := strings.Cut(strings.ToLower(printed), "e")
	_, fraction, _ := strings.Cut(mantissa, ".")
	e := 0
	fmt.Sscan(exponent, &e)
	return 0.5 * math.Pow(10, float64(e-len(fraction)))
}

// within is the one comparison of computed and published values. It is absolute
// and fails on NaN. The slack keeps a value that is exactly half a unit away.
func within(got, want, tolerance float64) bool {
	return math.Abs(got-want) <= tolerance*(1+1e-9)
}

func (r checkRow) compare(t testing.TB, got ...float64) {
	t.Helper()
	for _, miss := range r.misses(got...) {
		t.Error(miss)
	}
}

func (r checkRow) misses(got ...float64) (misses []string) {
	if len(got) != len(r.want) {
		return []string{fmt.Sprintf("%s: %d values, want %d", r.Name, len(got), len(r.want))}
	}
	for i, g := range got {
		if !within(g, r.want[i], r.tolerance[i]) {
			misses = append(misses, fmt.Sprintf("%s: %s: got %v, want %s ± %v", r.Name, r.columns[i], g, r.Want[i], r.tolerance[i]))
		}
	}
	return misses
}

func TestCheckFileReader(t *testing.T) {
	const row = `{"name": "a", "in": [1], "want": [2.50]}`
	refused := map[string]string{
		"an unknown key":              `{"source": "s", "in": ["x"], "want": ["y"], "note": "", "rows": [` + row + `]}`,
		"an unknown key in a row":     `{"source": "s", "in": ["x"], "want": ["y"], "rows": [{"name": "a", "in": [1], "want": [2], "tol": 1}]}`,
		"an empty file":               ``,
		"a file without rows":         `{"source": "s", "in": ["x"], "want": ["y"], "rows": []}`,
		"a row without a source":      `{"in": ["x"], "want": ["y"], "rows": [` + row + `]}`,
		"a row without a name":        `{"source": "s", "in": ["x"], "want": ["y"], "rows": [{"in": [1], "want": [2]}]}`,
		"a name used twice":           `{"source": "s", "in": ["x"], "want": ["y"], "rows": [` + row + `,` + row + `]}`,
		"a missing wanted number":     `{"source": "s", "in": ["x"], "want": ["y", "z"], "rows": [` + row + `]}`,
		"a tolerance without because": `{"source": "s", "in": ["x"], "want": ["y"], "rows": [{"name": "a", "in": [1], "want": [2], "tolerance": [1]}]}`,
		"a because without tolerance": `{"source": "s", "in": ["x"], "want": ["y"], "rows": [{"name": "a", "in": [1], "want": [2], "because": "b"}]}`,
		"a tolerance of nothing":      `{"source": "s", "in": ["x"], "want": ["y"], "rows": [{"name": "a", "in": [1], "want": [2], "tolerance": [0], "because": "b"}]}`,
		"a second object":             `{"source": "s", "in": ["x"], "want": ["y"], "rows": [` + row + `]} {}`,
	}
	for name, data := range refused {
		t.Run("refuses "+name, func(t *testing.T) {
			if rows, err := parseCheckFile([]byte(data)); err == nil {
				t.Errorf("got %d rows, want an error", len(rows))
			}
		})
	}
	rows, err := parseCheckFile([]byte(`{"source": "s", "in": ["x"], "want": ["y"], "rows": [` + row + `]}`))
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name   string
		got    []float64
		misses int
	}{
		{"the value itself passes", []float64{2.5}, 0},
		{"half a printed unit away passes", []float64{2.505}, 0},
		{"more than half a unit away fails", []float64{2.5051}, 1},
		{"NaN fails", []float64{math.NaN()}, 1},
		{"infinity fails", []float64{math.Inf(1)}, 1},
		{"a missing value fails", nil, 1},
	} {
		t.Run(c.name, func(t *testing.T) {
			if misses := rows[0].misses(c.got...); len(misses) != c.misses {
				t.Errorf("got misses %q, want %d", misses, c.misses)
			}
		})
	}
}

func TestHalfUnitFollowsThePrintedDigits(t *testing.T) {
	for printed, want := range map[string]float64{"6504": 0.5, "0.3127": 0.00005, "0.10": 0.005, "1.5e3": 50, "2e-4": 0.00005} {
		if got := halfUnit(printed); !within(got, want, 1e-15) {
			t.Errorf("%s: got %v, want %v", printed, got, want)
		}
	}
}
