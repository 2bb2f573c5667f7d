package handset_test

import (
	"encoding/hex"
	"encoding/json"
	"flag"
	"os"
	"strings"
	"testing"

	"evenwhite/logbook"
)

var update = flag.Bool("update", false, "write the bytes of testdata/capture.json anew")

// A captured row is what a form holds, and the edit that the page makes of it.
type captured struct {
	What       string `json:"what"`
	Production string `json:"production"`
	Kind       string `json:"kind"`
	Record     string `json:"record"`
	Device     string `json:"device"`
	Line       string `json:"line"`
	N          uint64 `json:"n"`
	At         int64  `json:"at"`
	OffsetMs   int64  `json:"offsetMs"`
	By         string `json:"by"`
	// Fields hold texts of JSON, with the digits that were typed, in the order of the form.
	Fields []capturedField `json:"fields"`
	Bytes  string          `json:"bytes"` // hexadecimal
}

type capturedField struct {
	Name  string   `json:"name"`
	Value string   `json:"value"`
	Over  []string `json:"over,omitempty"`
}

func (c *captured) edit() (*logbook.Edit, error) {
	e := &logbook.Edit{Kind: logbook.Kind(c.Kind), At: logbook.Millis(c.At), Offset: logbook.Millis(c.OffsetMs), By: c.By}
	for to, text := range map[*logbook.ID]string{&e.Production: c.Production, &e.Record: c.Record, &e.Device: c.Device} {
		id, err := logbook.ParseID(text)
		if err != nil {
			return nil, err
		}
		*to = id
	}
	line, err := logbook.ParseLine(c.Line)
	if err != nil {
		return nil, err
	}
	e.Dot = logbook.Dot{Line: line, N: c.N}
	for _, f := range c.Fields {
		value, err := logbook.ParseValue(f.Value)
		if err != nil {
			return nil, err
		}
		change := logbook.Change{Field: f.Name, Value: value}
		for _, text := range f.Over {
			d, err := logbook.ParseDot(text)
			if err != nil {
				return nil, err
			}
			change.Over = append(change.Over, d)
		}
		e.Set = append(e.Set, change)
	}
	return e, nil
}

// What a page must make of a form stands in a file, so that the page's own test replays it.
func TestTheRowsOfCaptureAreWhatGoMakes(t *testing.T) {
	const file = "testdata/capture.json"
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	var rows []captured
	if err := json.Unmarshal(text, &rows); err != nil {
		t.Fatal(err)
	}
	for i := range rows {
		c := &rows[i]
		e, err := c.edit()
		if err != nil {
			t.Fatalf("%s: %v", c.What, err)
		}
		bytes, err := logbook.EncodeEdit(e)
		if err != nil {
			t.Fatalf("%s: %v", c.What, err)
		}
		if got := hex.EncodeToString(bytes); *update {
			c.Bytes = got
		} else if got != c.Bytes {
			t.Errorf("%s: got %s, want %s", c.What, got, c.Bytes)
		}
		if again, err := logbook.DecodeEdit(bytes); err != nil || again.Dot != e.Dot {
			t.Errorf("%s: its bytes do not read back: %v", c.What, err)
		}
	}
	if len(rows) < 8 {
		t.Errorf("%d rows are too few to say anything", len(rows))
	}
	if !*update {
		return
	}
	var out strings.Builder
	w := json.NewEncoder(&out)
	w.SetEscapeHTML(false)
	w.SetIndent("", " ")
	if err := w.Encode(rows); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(file, []byte(out.String()), 0o644); err != nil {
		t.Fatal(err)
	}
}
