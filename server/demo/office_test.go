package demo

import (
	"encoding/csv"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"evenwhite/logbook/colorlog"
)

var readers = flag.Bool("readers", false, "also open the forms in LibreOffice Calc")

// LibreOffice Calc, in Germany and in the United States, opens workbook and table and saves them again: names stay
// text, whatever they look like, and decimals stay numbers. Only where it is asked for, because Calc takes long to
// install: make readers.
func TestCalcKeepsNamesAndNumbers(t *testing.T) {
	if !*readers {
		t.Skip("not asked for: make readers opens the forms in LibreOffice Calc")
	}
	if _, err := exec.LookPath("soffice"); err != nil {
		t.Fatal("NOT CHECKED: soffice is not here; make readers installs it")
	}
	b, _ := hostileBook(t)
	table := hostileDocument(t, b, colorlog.Scope{}, "csv")
	want, err := csv.NewReader(strings.NewReader(string(table))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	columns := colorlog.Columns()
	// 44 is the comma, 34 the quote, 76 UTF-8. For the table each column is told its type as the description of
	// the table has it: 2 is text, 10 a number as the United States write it, in whatever country.
	var types []string
	for i, c := range columns {
		as := 2
		if c.Kind == colorlog.Number || c.Kind == colorlog.Whole {
			as = 10
		}
		types = append(types, fmt.Sprintf("%d/%d", i+1, as))
	}
	asTable := "--infilter=CSV:44,34,76,1," + strings.Join(types, "/")
	for _, locale := range []string{"de_DE", "en_US"} {
		for _, form := range []struct {
			file   string
			bytes  []byte
			filter []string
		}{{"log.xlsx", hostileDocument(t, b, colorlog.Scope{}, "xlsx"), nil}, {"log.csv", table, []string{asTable}}} {
			folder := t.TempDir()
			if err := os.WriteFile(filepath.Join(folder, form.file), form.bytes, 0o600); err != nil {
				t.Fatal(err)
			}
			settings := filepath.Join(folder, "profile", "user", "registrymodifications.xcu")
			if err := os.MkdirAll(filepath.Dir(settings), 0o755); err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(settings, []byte(fmt.Sprintf(calcIn, strings.Replace(locale, "_", "-", 1))), 0o600); err != nil {
				t.Fatal(err)
			}
			out := filepath.Join(folder, "saved")
			cmd := exec.Command("soffice", append(append([]string{"-env:UserInstallation=file://" + filepath.Join(folder, "profile"), "--headless"},
				form.filter...), "--convert-to", "xlsx", "--outdir", out, filepath.Join(folder, form.file))...)
			if said, err := cmd.CombinedOutput(); err != nil {
				t.Fatalf("soffice: %v\n%s", err, said)
			}
			saved, err := os.ReadFile(filepath.Join(out, "log.xlsx"))
			if err != nil {
				t.Fatal(err)
			}
			compareCells(t, locale+" "+form.file, columns, want, firstSheet(t, saved))
		}
	}
}

// calcIn is the setting of Calc that says in which country it is.
const calcIn = `<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry"><item oor:path="/org.openoffice.Setup/L10N"><prop oor:name="ooSetupSystemLocale"
 oor:op="fuse"><value>%s</value></prop></item></oor:items>
`

func firstSheet(t *testing.T, saved []byte) [][]inSheet {
	t.Helper()
	sheets := readWorkbook(t, saved)
	for _, name := range []string{"clips", "log"} {
		if s, ok := sheets[name]; ok {
			return s.Rows
		}
	}
	t.Fatal("the saved workbook has no sheet of clips")
	return nil
}

func compareCells(t *testing.T, about string, columns []colorlog.Column, want [][]string, got [][]inSheet) {
	t.Helper()
	if len(got) != len(want) {
		t.Fatalf("%s: %d rows, want %d", about, len(got), len(want))
	}
	texts, numbers := 0, 0
	for i, row := range want[1:] {
		for j, cell := range row {
			if cell == "" {
				continue
			}
			seen := got[i+1][j]
			kind, value := fmt.Sprint(seen[0]), fmt.Sprint(seen[1])
			switch columns[j].Kind {
			case colorlog.Typed, colorlog.TimecodeText:
				texts++
				if kind != "str" || value != cell && "'"+value != cell {
					t.Errorf("%s, row %d, %s: %q was saved as %s %q", about, i+1, columns[j].Name, cell, kind, value)
				}
			case colorlog.Number, colorlog.Whole:
				numbers++
				if !slices.Contains([]string{"int", "float"}, kind) || asTyped(columns[j].Kind, cell) != kind+" "+value {
					t.Errorf("%s, row %d, %s: %s was saved as %s %s", about, i+1, columns[j].Name, cell, kind, value)
				}
			}
		}
	}
	if texts < 500 || numbers < 500 {
		t.Errorf("%s: %d texts and %d numbers were compared", about, texts, numbers)
	}
}
