package colorlog

import (
	"bytes"
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"strings"
	"testing"

	"evenwhite/logbook/figure"
)

var update = flag.Bool("update", false, "write the list of columns anew")

// TestTheColumnsAreListed holds COLUMNS.md to the table of columns.
func TestTheColumnsAreListed(t *testing.T) {
	var out strings.Builder
	out.WriteString("# The columns of the colour log\n\n" +
		"Of the table for programs (CSV) and of the sheet *clips* of the workbook, from left to right. " +
		"A cell that is empty\nwithout a reason in the column *empty because* of its group is empty as its description says.\n\n" +
		"| column | what stands in it |\n|---|---|\n")
	for _, c := range Columns() {
		fmt.Fprintf(&out, "| %s | %s |\n", c.Name, strings.ReplaceAll(c.About, "|", "\\|"))
	}
	if *update {
		if err := os.WriteFile("COLUMNS.md", []byte(out.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if got, err := os.ReadFile("COLUMNS.md"); err != nil || string(got) != out.String() {
		t.Errorf("COLUMNS.md is not what the table of columns says (%v): go test ./logbook/colorlog -run Columns -update writes it anew", err)
	}
}

// The description beside the table names its columns, in their order, and says the limits once.
func TestTheTableIsDescribed(t *testing.T) {
	limits := []SharedLimits{{SetUps: []string{"day 1, 12 A"}, Limits: []figure.Limits{{Role: "camera", Mired: 8}}}}
	var out, table bytes.Buffer
	if err := WriteCSVW(&out, handMadeHead, limits); err != nil {
		t.Fatal(err)
	}
	if err := WriteCSV(&table, handMadeHead, rowsOf()); err != nil {
		t.Fatal(err)
	}
	var said struct {
		URL         string
		TableSchema struct {
			Columns []struct {
				Name, Titles string
				Datatype     any
			}
		}
		Notes []struct{ Limits []SharedLimits }
	}
	if err := json.Unmarshal(out.Bytes(), &said); err != nil {
		t.Fatal(err)
	}
	var titles []string
	names := map[string]bool{}
	for _, c := range said.TableSchema.Columns {
		titles = append(titles, c.Titles)
		if names[c.Name] || c.Name == "" || c.Datatype == nil {
			t.Errorf("column %q is called %q, with the datatype %v", c.Titles, c.Name, c.Datatype)
		}
		names[c.Name] = true
	}
	if got, want := strings.Join(titles, ",")+"\r\n", table.String(); got != want {
		t.Errorf("got the columns %s, want %s", got, want)
	}
	if len(said.Notes) != 1 || len(said.Notes[0].Limits) != 1 || said.Notes[0].Limits[0].Limits[0].Mired != 8 || said.URL != CSVName {
		t.Errorf("got %s with the notes %+v", said.URL, said.Notes)
	}
}

// The rows of the invented production, as they lie in testdata, say why each empty cell is empty.
func TestEveryEmptyCellOfTheDemoHasAReason(t *testing.T) {
	golden, err := os.ReadFile("../../testdata/production/color-log.json")
	if err != nil {
		t.Fatal(err)
	}
	var log struct{ Rows []Row }
	if err := json.Unmarshal(golden, &log); err != nil {
		t.Fatal(err)
	}
	if len(log.Rows) < 50 {
		t.Fatalf("got %d rows, want at least 50", len(log.Rows))
	}
	mustTellWhyEmpty(t, log.Rows...)
}
