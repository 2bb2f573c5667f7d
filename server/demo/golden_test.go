package demo

import (
	"bytes"
	"encoding/json"
	"flag"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"evenwhite/logbook"
	"evenwhite/logbook/colorlog"
	"evenwhite/logbook/handover"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/states"
)

var update = flag.Bool("update", false, "write the golden colour log of the demo anew")

const goldenFolder = "../../testdata/production"

// asWritten is when the production is filled whose days are those of the data.
var asWritten = logbook.MillisOf(time.Date(2026, 3, 7, 11, 40, 0, 0, time.UTC))

// demoLog is the invented production in a log of its own, filled on the last day of its data.
func demoLog(t *testing.T) *logbook.Log {
	t.Helper()
	drawn := byte(0)
	draw := func() (line logbook.Line) {
		drawn++
		line[0], line[7] = 0xde, drawn
		return line
	}
	l, err := logbook.OpenLog(logbook.NewMemory(), Production, kinds.Rules, draw)
	if err != nil {
		t.Fatal(err)
	}
	if err := Fill(l, asWritten); err != nil {
		t.Fatal(err)
	}
	return l
}

// demoDocument encodes the colour log of a scope.
func demoDocument(t *testing.T, l *logbook.Log, scope colorlog.Scope, format string) []byte {
	t.Helper()
	head, err := l.Head()
	if err != nil {
		t.Fatal(err)
	}
	var digests states.Digests
	state, err := digests.At(l.Page, Production, head)
	if err != nil {
		t.Fatal(err)
	}
	form, ok := handover.FormOf(format)
	if !ok {
		t.Fatalf("there is no form %q", format)
	}
	var out bytes.Buffer
	l.Read(func(b *logbook.Book) {
		var log *handover.Log
		if log, err = handover.Of(b, scope, colorlog.Origin{Program: "evenwhite demo", State: state}); err == nil {
			err = form.Write(&out, log)
		}
	})
	if err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func localMillis(t *testing.T, date, clock string) logbook.Millis {
	t.Helper()
	at, err := calendar{zone: zoneOf(1)}.localTime(date, clock+":00")
	if err != nil {
		t.Fatal(err)
	}
	return at
}

func demoRows(t *testing.T, l *logbook.Log) []colorlog.Row {
	t.Helper()
	var doc struct{ Rows []colorlog.Row }
	if err := json.Unmarshal(demoDocument(t, l, colorlog.Scope{}, "json"), &doc); err != nil {
		t.Fatal(err)
	}
	return doc.Rows
}

// rowOf finds the row of a scene and set-up, take and camera: "12A", "4", "B".
func rowOf(t *testing.T, rows []colorlog.Row, setUp, take, camera string) colorlog.Row {
	t.Helper()
	for _, r := range rows {
		if r.Find.Take != nil && r.Find.Scene+r.Find.SetUp == setUp && r.Find.Take.Number.String()+r.Find.Take.Suffix == take &&
			r.Find.Camera == camera {
			return r
		}
	}
	t.Fatalf("no row of %s take %s camera %s", setUp, take, camera)
	return colorlog.Row{}
}

func TestTheDemosColorLogIsTheGoldenOne(t *testing.T) {
	l := demoLog(t)
	for _, format := range []string{"csv", "csvw", "json"} {
		form, _ := handover.FormOf(format)
		path := filepath.Join(goldenFolder, form.File)
		got := demoDocument(t, l, colorlog.Scope{}, format)
		if *update {
			if err := os.WriteFile(path, got, 0o644); err != nil {
				t.Fatal(err)
			}
		}
		want, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(got, want) {
			t.Errorf("%s differs from what the program writes; go test ./server/demo "+
				"-run Golden -update writes it anew, git diff shows what changed", path)
		}
	}
}

func TestFillingTheDemoAgainChangesNothing(t *testing.T) {
	l := demoLog(t)
	before := demoDocument(t, l, colorlog.Scope{}, "json")
	if err := Fill(l, asWritten); err != nil {
		t.Fatal(err)
	}
	if after := demoDocument(t, l, colorlog.Scope{}, "json"); !bytes.Equal(before, after) {
		t.Error("got another colour log after filling the demo a second time")
	}
	l.Read(func(b *logbook.Book) {
		if refused := b.Refused(); len(refused) > 0 {
			t.Errorf("%d edits of the demo are refused, the first: %s", len(refused), refused[0].Reason)
		}
	})
}

func TestTheJSONColorLogMeetsItsSchema(t *testing.T) {
	schema, err := jsonschema.UnmarshalJSON(bytes.NewReader(colorlog.SchemaText))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	c.AssertFormat()
	if err := c.AddResource(colorlog.Schema, schema); err != nil {
		t.Fatal(err)
	}
	compiled, err := c.Compile(colorlog.Schema)
	if err != nil {
		t.Fatal(err)
	}
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(demoDocument(t, demoLog(t), colorlog.Scope{}, "json")))
	if err != nil {
		t.Fatal(err)
	}
	if err := compiled.Validate(doc); err != nil {
		t.Error(err)
	}
}
