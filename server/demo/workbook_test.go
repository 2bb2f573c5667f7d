package demo

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"evenwhite/logbook/colorlog"
	"evenwhite/logbook/needed"
)

// inSheet is a cell as another program reads it: its type and its value.
type inSheet [2]any

// readWorkbook reads a workbook with openpyxl.
func readWorkbook(t *testing.T, book []byte) (sheets map[string]struct{ Rows [][]inSheet }) {
	t.Helper()
	const python = "/usr/bin/python3" // Debian's own: its packages are not seen by any other
	if exec.Command(python, "-c", "import openpyxl").Run() != nil {
		needed.Missing(t, "the Debian package python3-openpyxl")
	}
	path := filepath.Join(t.TempDir(), "color-log.xlsx")
	if err := os.WriteFile(path, book, 0o600); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(python, "../../testdata/openpyxl/read.py", path).CombinedOutput()
	if err != nil {
		t.Fatalf("openpyxl: %v\n%s", err, out)
	}
	if err := json.Unmarshal(out, &sheets); err != nil {
		t.Fatal(err)
	}
	return sheets
}

// The workbook has the cells of the table for programs, each as what it is, in whatever country it is
// opened: numbers are numbers, names are text.
func TestTheWorkbookHasTheCellsOfTheTable(t *testing.T) {
	l := demoLog(t)
	table, err := csv.NewReader(bytes.NewReader(demoDocument(t, l, colorlog.Scope{}, "csv"))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	sheets := readWorkbook(t, demoDocument(t, l, colorlog.Scope{}, "xlsx"))
	clips := sheets["clips"].Rows
	if len(clips) != len(table) {
		t.Fatalf("got %d rows, want %d", len(clips), len(table))
	}
	columns, compared := colorlog.Columns(), map[string]int{}
	at := slices.Index(table[0], colorlog.StateNameColumn) // may be longer than a cell of a workbook
	columns = slices.Delete(columns, at, at+1)
	for i := range table {
		table[i] = slices.Delete(table[i], at, at+1)
	}
	for i, row := range clips {
		for j, cell := range row {
			want := "str " + table[i][j]
			if i > 0 {
				want = asTyped(columns[j].Kind, table[i][j])
			}
			if got := fmt.Sprint(cell[0], " ", cell[1]); got != want {
				t.Errorf("row %d, %s: got %s, want %s", i, columns[j].Name, got, want)
			}
			compared[fmt.Sprint(cell[0])]++
		}
	}
	for _, kind := range []string{"str", "int", "float", "bool", "date"} {
		if compared[kind] == 0 {
			t.Errorf("no cell was a %s", kind)
		}
	}
	for _, name := range []string{"readings", "deviations", "cameras", "about"} {
		if len(sheets[name].Rows) < 2 {
			t.Errorf("the sheet %s has %d rows, want some below its head", name, len(sheets[name].Rows))
		}
	}
}

// asTyped is how a cell of the table is read from the workbook.
func asTyped(kind colorlog.Kind, cell string) string {
	switch {
	case cell == "":
		return "NoneType <nil>"
	case kind == colorlog.YesOrNo:
		return "bool " + map[string]string{"yes": "true", "no": "false"}[cell]
	case kind == colorlog.Date:
		return "date " + cell
	case kind == colorlog.Number || kind == colorlog.Whole:
		f, err := strconv.ParseFloat(cell, 64)
		if err != nil {
			return "not a number: " + cell
		}
		if f == float64(int64(f)) {
			return fmt.Sprint("int ", f)
		}
		return fmt.Sprint("float ", f)
	}
	return "str " + strings.TrimPrefix(cell, "'")
}

var columnWidth = regexp.MustCompile(`<col min="([0-9]+)" max="[0-9]+" width="([0-9.]+)"`)

// A date in a column that is too narrow is shown as ###.
func TestColumnsAreWideEnoughForDates(t *testing.T) {
	sheet := string(unpacked(t, demoDocument(t, demoLog(t), colorlog.Scope{}, "xlsx"))["xl/worksheets/sheet1.xml"])
	widths := map[string]float64{}
	for _, found := range columnWidth.FindAllStringSubmatch(sheet, -1) {
		widths[found[1]], _ = strconv.ParseFloat(found[2], 64)
	}
	dates := 0
	for i, c := range colorlog.Columns() {
		if c.Kind == colorlog.Date {
			if dates++; widths[strconv.Itoa(i+1)] < 11 {
				t.Errorf("the column %s is %g wide, want 11 for a date", c.Name, widths[strconv.Itoa(i+1)])
			}
		}
	}
	if dates == 0 {
		t.Error("there is no column of dates")
	}
}
