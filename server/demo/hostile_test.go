package demo

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"html"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/colorlog"
	"evenwhite/logbook/handover"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/needed"
	"evenwhite/logbook/stage"
)

// hostileNames are what people type, and what others might want a reader to trip over: what spreadsheets take
// for numbers, dates and formulas, what ends a cell or a line, marks of direction, and pictures.
var hostileNames = []string{
	"12E3", "007", "3/4", "-3", "+49", "1,5", "TRUE", "2031-03-04", "=1+1", "@SUM(A1)", "=cmd|' /C calc'!A0", `a,b;c`, `say "white"`,
	"two\nlines", "tab\there", "<script>alert(1)", "</bdi>&amp;", "]]>",
	"\u202eevil\u202c", "\u2066left", "🎬 grün 白", "e\u0301", "\u200b=1", "'quoted",
	" spaced ", "100%",
}

// hostileBook is a production in which every name is one of those, with a name twice on a card, a clip without a
// name, and a day without anything.
func hostileBook(t *testing.T) (b *logbook.Book, empty logbook.ID) {
	s := stage.New(t)
	quote := func(text string) string { return string(logbook.TextValue(text)) }
	s.Set(s.ProductionID(), "title", quote(`=HYPERLINK("x") <b>`))
	s.Set(s.BodyA, "recordingModes/main", `{"name":"=main","white":"baked","encoding":"bt1886","primaries":"bt709"}`)
	s.Set(s.BodyB, "recordingModes/main", `{"name":"-1","white":"baked","encoding":"linear","primaries":"bt709"}`)
	for i, name := range hostileNames {
		s.Minute(10 + 5*i)
		take, a, second := s.Shoot("5600", "4300")
		s.Set(a, "name", fmt.Sprintf(`{"text":%s,"from":"readOff"}`, quote(name)), "card", quote(name), "lens", quote(name), "filters", quote(name))
		if i > 0 { // one of B has no name, all others the same on one card
			s.Set(second, "name", `{"text":"=twice","from":"readOff"}`, "card", `"007"`)
		}
		s.Add(kinds.Note, "about", stage.Ref(take), "to", `{"as":"post"}`, "text", quote(name+"\n\n"+name))
		s.Add(kinds.Light, "setUp", stage.Ref(s.SetUp), "name", quote(name), "role", `"fill"`)
	}
	empty = s.Add(kinds.Day, "number", "2", "date", `"2026-03-05"`)
	return s.Book(), empty
}

func hostileDocument(t *testing.T, b *logbook.Book, scope colorlog.Scope, format string) []byte {
	t.Helper()
	form, _ := handover.FormOf(format)
	log, err := handover.Of(b, scope, colorlog.Origin{Program: "test"})
	var out bytes.Buffer
	if err == nil {
		err = form.Write(&out, log)
	}
	if err != nil {
		t.Fatalf("%s: %v", format, err)
	}
	return out.Bytes()
}

// What was typed comes out of every form as it was typed, and as text.
func TestWhatIsHardToReadComesThroughEveryForm(t *testing.T) {
	b, _ := hostileBook(t)
	table, err := csv.NewReader(bytes.NewReader(hostileDocument(t, b, colorlog.Scope{}, "csv"))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	columns := colorlog.Columns()
	at := func(name string) int {
		return slices.IndexFunc(columns, func(c colorlog.Column) bool { return c.Name == name })
	}
	inTable, inSheets := map[string]bool{}, map[string]bool{}
	for _, row := range table[1:] {
		inTable[row[at("clip name")]] = true
		if len(row) != len(columns) {
			t.Fatalf("a row has %d cells, want %d", len(row), len(columns))
		}
	}
	for _, row := range readWorkbook(t, hostileDocument(t, b, colorlog.Scope{}, "xlsx"))["clips"].Rows[1:] {
		for _, column := range []string{"clip name", "card", "lens", "filters"} {
			if cell := row[at(column)]; cell[0] != "str" && cell[0] != "NoneType" {
				t.Errorf("%s is a %s in the workbook: %v", column, cell[0], cell[1])
			}
		}
		inSheets[fmt.Sprint(row[at("clip name")][1])] = true
	}
	var doc struct{ Rows []colorlog.Row }
	if err := json.Unmarshal(hostileDocument(t, b, colorlog.Scope{}, "json"), &doc); err != nil {
		t.Fatal(err)
	}
	page := string(hostileDocument(t, b, colorlog.Scope{}, "html"))
	unnamed, twice := 0, 0
	for _, r := range doc.Rows {
		switch r.Find.ClipName {
		case "":
			unnamed++
		case "=twice":
			twice++
		}
	}
	if unnamed != 3 || twice != len(hostileNames)-1 {
		t.Errorf("%d rows have no name and %d the same, want 3 (two charts) and %d", unnamed, twice, len(hostileNames)-1)
	}
	for _, name := range hostileNames {
		if !inTable[name] && !inTable["'"+name] {
			t.Errorf("%q is not in the table", name)
		}
		if !inSheets[name] {
			t.Errorf("%q is not in the workbook", name)
		}
		if !slices.ContainsFunc(doc.Rows, func(r colorlog.Row) bool { return r.Find.ClipName == name && r.Set.Lens == name }) {
			t.Errorf("%q is not in the JSON", name)
		}
		if !strings.Contains(html.UnescapeString(page), "<bdi>"+name+"</bdi>") {
			t.Errorf("%q is not in the page", name)
		}
	}
	for _, raw := range []string{"<script>alert", "</bdi>&amp;<", ") <b>"} {
		if strings.Contains(page, raw) {
			t.Errorf("the page holds %q as it was typed", raw)
		}
	}
	for cell := range inTable {
		if strings.HasPrefix(cell, "=") || strings.HasPrefix(cell, "@") {
			t.Errorf("the table has the formula %q", cell)
		}
	}
}

// A day on which nothing was shot has every form.
func TestAnEmptyDayHasEveryForm(t *testing.T) {
	b, empty := hostileBook(t)
	scope := colorlog.Scope{Day: empty}
	for _, f := range handover.Forms() {
		if out := hostileDocument(t, b, scope, f.Name); len(out) == 0 {
			t.Errorf("%s is empty", f.Name)
		}
	}
	if lines := strings.Count(string(hostileDocument(t, b, scope, "csv")), "\r\n"); lines != 1 {
		t.Errorf("the table has %d lines, want its head", lines)
	}
	if rows := readWorkbook(t, hostileDocument(t, b, scope, "xlsx"))["clips"].Rows; len(rows) != 1 {
		t.Errorf("the workbook has %d rows, want its head", len(rows))
	}
	for name := range unpacked(t, hostileDocument(t, b, scope, "zip")) {
		if strings.HasPrefix(name, "cdl/") {
			t.Errorf("the archive has %s", name)
		}
	}
}

// Two validators of others find that the documents are of the schema, and that spoiled ones are not.
func TestOtherValidatorsTakeTheJSON(t *testing.T) {
	const python = "/usr/bin/python3"
	validators := map[string][]string{"ajv": {"node", "../../testdata/clients/schema.mjs"},
		"python3-jsonschema": {python, "../../testdata/jsonschema/validate.py"}}
	for name, probe := range map[string][]string{
		"ajv": {"node", "--input-type=module", "-e", ""}, "python3-jsonschema": {python, "-c", "import jsonschema"},
	} {
		_, err := os.Stat("../../testdata/clients/node_modules/ajv")
		if exec.Command(probe[0], probe[1:]...).Run() != nil || name == "ajv" && err != nil {
			delete(validators, name)
			needed.Part(t, name)
		}
	}
	folder := t.TempDir()
	write := func(name string, text []byte) string {
		path := filepath.Join(folder, name)
		if err := os.WriteFile(path, text, 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	b, empty := hostileBook(t)
	demo := demoDocument(t, demoLog(t), colorlog.Scope{}, "json")
	schema := write("schema.json", colorlog.SchemaText)
	documents := []string{write("demo.json", demo), write("hostile.json", hostileDocument(t, b, colorlog.Scope{}, "json")),
		write("empty.json", hostileDocument(t, b, colorlog.Scope{Day: empty}, "json")),
		write("spoiled-1.json", bytes.Replace(demo, []byte(`"medianSteps":`), []byte(`"medianSteps":"far","was":`), 1)),
		write("spoiled-2.json", bytes.Replace(demo, []byte(`"clipKind":"take"`), []byte(`"clipKind":"cake"`), 1))}
	for name, command := range validators {
		out, err := exec.Command(command[0], append(append(command[1:], schema), documents...)...).CombinedOutput()
		if err != nil {
			t.Fatalf("%s: %v\n%s", name, err, out)
		}
		said := strings.Split(strings.TrimSpace(string(out)), "\n")
		if len(said) != len(documents) {
			t.Fatalf("%s says %q of %d documents", name, said, len(documents))
		}
		for i, word := range said {
			if spoiled := strings.Contains(documents[i], "spoiled"); (word == "ok") == spoiled {
				t.Errorf("%s says of %s: %s", name, filepath.Base(documents[i]), word)
			}
		}
	}
}
