package sheet

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"evenwhite/logbook/needed"
)

// read reads a workbook with a program of others.
func read(t *testing.T, book []byte) map[string]struct {
	Rows           [][][2]any
	Frozen, Filter string
} {
	t.Helper()
	const python = "/usr/bin/python3" // Debian's own: its packages are not seen by any other
	if exec.Command(python, "-c", "import openpyxl").Run() != nil {
		needed.Missing(t, "the Debian package python3-openpyxl")
	}
	path := filepath.Join(t.TempDir(), "book.xlsx")
	if err := os.WriteFile(path, book, 0o600); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(python, "../../testdata/openpyxl/read.py", path).CombinedOutput()
	if err != nil {
		t.Fatalf("openpyxl: %v\n%s", err, out)
	}
	var sheets map[string]struct {
		Rows           [][][2]any
		Frozen, Filter string
	}
	if err := json.Unmarshal(out, &sheets); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	return sheets
}

var columns = []Column{{Name: "clip", Width: 12}, {Name: "K", Kind: Number}, {Name: "on", Kind: Date}, {Name: "rolled", Kind: YesOrNo}}

func written(t *testing.T, rows [][]string) []byte {
	t.Helper()
	var out bytes.Buffer
	b := New(&out)
	if err := b.Sheet("clips & more", columns, 1); err != nil {
		t.Fatal(err)
	}
	for _, cells := range rows {
		if err := b.Row(columns, cells); err != nil {
			t.Fatal(err)
		}
	}
	if err := b.Sheet("it's empty", columns[:1], 0); err != nil {
		t.Fatal(err)
	}
	if err := b.Close(); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func TestCellsComeBackAsTheyAreMeant(t *testing.T) {
	rows := [][]string{{"007", "5600", "2031-03-04", "yes"}, {"12E3", "-0.0031", "", "no"}, {"3/4", "4 about", "soon", "perhaps"}, {"",
		"1e3", "", ""}}
	names := []string{
		"=1+1", "-3", "+4", "@a", "'x", "a,b", `say "A" <&>`, "one\rtwo", "one\ntwo", "one\r\ntwo", "\u202eabc", "\U0001f3ac", " padded ",
		"_x000D_", "_x00", "tab\there", "nul\x00", "fenêtre – nord",
	}
	for _, name := range names {
		rows = append(rows, []string{name, "", "", ""})
	}
	got := read(t, written(t, rows))
	clips := got["clips & more"]
	if len(got) != 2 || len(clips.Rows) != len(rows)+1 || clips.Frozen != "B2" || clips.Filter != fmt.Sprintf("A1:D%d", len(rows)+1) {
		t.Fatalf("got %d sheets, %d rows, frozen at %s, filters over %s", len(got), len(clips.Rows), clips.Frozen, clips.Filter)
	}
	if empty := got["it's empty"]; len(empty.Rows) != 1 || empty.Frozen != "A2" {
		t.Errorf("the empty sheet: got %v", empty)
	}
	for i, want := range [][4]string{
		{"str clip", "str K", "str on", "str rolled"}, {"str 007", "int 5600", "date 2031-03-04", "bool true"},
		{"str 12E3", "float -0.0031", "NoneType <nil>", "bool false"}, {"str 3/4", "str 4 about", "str soon", "str perhaps"},
		{"NoneType <nil>", "int 1000", "NoneType <nil>", "NoneType <nil>"},
	} {
		for j, cell := range clips.Rows[i] {
			if g := fmt.Sprint(cell[0], " ", cell[1]); g != want[j] {
				t.Errorf("row %d, cell %d: got %s, want %s", i, j, g, want[j])
			}
		}
	}
	for i, name := range names {
		got, _ := clips.Rows[i+5][0][1].(string)
		// This reader leaves characters that XML cannot hold as they are written.
		got = strings.NewReplacer("_x005F_", "_", "_x000D_", "\r", "_x0000_", "\x00").Replace(got)
		if got != name {
			t.Errorf("%q came back as %q", name, got)
		}
	}
}

func TestTheSameCallsGiveTheSameBytes(t *testing.T) {
	rows := [][]string{{"A001C001", "5600", "2031-03-04", "yes"}}
	if !bytes.Equal(written(t, rows), written(t, rows)) {
		t.Error("two workbooks of the same rows differ")
	}
}

func TestASheetSaysWhereItEnds(t *testing.T) {
	b := New(new(bytes.Buffer))
	if err := b.Sheet("wide", make([]Column, mostColumns+1), 0); !errors.Is(err, ErrFull) {
		t.Errorf("too many columns: got %v", err)
	}
	if err := b.Sheet("none", nil, 0); !errors.Is(err, ErrFull) {
		t.Errorf("no columns: got %v", err)
	}
	if err := b.Sheet("long", columns[:1], 0); err != nil {
		t.Fatal(err)
	}
	b.rows = mostRows
	if err := b.Row(columns[:1], []string{"x"}); !errors.Is(err, ErrFull) {
		t.Errorf("a row too many: got %v", err)
	}
}

func TestLongTextIsCutOffVisibly(t *testing.T) {
	rows := read(t, written(t, [][]string{{strings.Repeat("\U0001f3ac", 20_000), "", "", ""}}))["clips & more"].Rows
	text, _ := rows[1][0][1].(string)
	if n := len([]rune(text)); n != mostText/2+1 || !strings.HasSuffix(text, "…") {
		t.Errorf("got %d characters, want %d and a mark that it goes on", n, mostText/2+1)
	}
}

func TestColumnsHaveLetters(t *testing.T) {
	for column, want := range map[int]string{0: "A", 25: "Z", 26: "AA", 51: "AZ", 52: "BA", 701: "ZZ", 702: "AAA", 16383: "XFD"} {
		if got := letters(column); got != want {
			t.Errorf("column %d: got %s, want %s", column, got, want)
		}
	}
}
