package openapi

import (
	"bytes"
	"encoding/json"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/santhosh-tekuri/jsonschema/v6"

	"evenwhite/logbook"
	"evenwhite/logbook/amend"
	"evenwhite/logbook/exchange"
	"evenwhite/logbook/slate"
)

// An example of the contract and where it stands.
type example struct {
	where  string
	path   string
	media  string
	name   string // empty where it stands alone
	schema *openapi3.SchemaRef
	value  any
}

func examplesOf(where, path string, content openapi3.Content) []example {
	var all []example
	for media, c := range content {
		if c.Example != nil {
			all = append(all, example{where, path, media, "", c.Schema, c.Example})
		}
		for name, e := range c.Examples {
			all = append(all, example{where, path, media, name, c.Schema, e.Value.Value})
		}
	}
	return all
}

// lackingExample lists the media of a body that are JSON and show none.
func lackingExample(content openapi3.Content) []string {
	var all []string
	for media, c := range content {
		isJSON := media == "application/json" || strings.HasSuffix(media, "+json")
		if isJSON && c.Example == nil && len(c.Examples) == 0 {
			all = append(all, media)
		}
	}
	return all
}

// eachBody calls with every request body and every answer, problems included.
func eachBody(t *testing.T, call func(op *openapi3.Operation, where, path string, content openapi3.Content)) {
	t.Helper()
	document, err := Load()
	if err != nil {
		t.Fatal(err)
	}
	eachBodyOf(document, call)
}

func eachBodyOf(document *openapi3.T, call func(op *openapi3.Operation, where, path string, content openapi3.Content)) {
	for path, item := range document.Paths.Map() {
		for method, op := range item.Operations() {
			where := method + " " + path
			if op.RequestBody != nil {
				call(op, where+" request", path, op.RequestBody.Value.Content)
			}
			for status, response := range op.Responses.Map() {
				call(op, where+" "+status, path, response.Value.Content)
			}
		}
	}
}

func eachExample(t *testing.T, call func(op *openapi3.Operation, e example)) {
	t.Helper()
	eachBody(t, func(op *openapi3.Operation, where, path string, content openapi3.Content) {
		for _, e := range examplesOf(where, path, content) {
			call(op, e)
		}
	})
}

func TestEveryJSONBodyHasAnExample(t *testing.T) {
	found := 0
	eachBody(t, func(_ *openapi3.Operation, where, _ string, content openapi3.Content) {
		found += len(examplesOf(where, "", content))
		for _, media := range lackingExample(content) {
			t.Errorf("%s, %s: there is no example", where, media)
		}
	})
	if found == 0 {
		t.Error("no example was found")
	}
}

func TestABodyWithoutExampleIsFound(t *testing.T) {
	content := openapi3.NewContentWithSchema(openapi3.NewObjectSchema(),
		[]string{"application/json", "application/merge-patch+json", "text/csv"})
	got := lackingExample(content)
	slices.Sort(got)
	if want := []string{"application/json", "application/merge-patch+json"}; !slices.Equal(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
	content["application/json"].Example = map[string]any{}
	if got := lackingExample(content); len(got) != 1 {
		t.Errorf("got %q, want the other one alone", got)
	}
}

func TestExamplesFit(t *testing.T) {
	eachExample(t, func(_ *openapi3.Operation, e example) {
		if err := e.schema.Value.VisitJSON(e.value); err != nil {
			t.Errorf("%s, %s %s: the example does not fit: %v", e.where, e.media, e.name, err)
		}
	})
}

// served is the contract as clients read it.
func served(t *testing.T) *openapi3.T {
	t.Helper()
	text, err := Served()
	if err != nil {
		t.Fatal(err)
	}
	loader := openapi3.NewLoader()
	document, err := loader.LoadFromData(text)
	if err != nil {
		t.Fatal(err)
	}
	if err := document.Validate(loader.Context); err != nil {
		t.Fatal(err)
	}
	return document
}

func TestExamplesFitTheSchemasOfTheirKind(t *testing.T) {
	found := map[string]int{}
	eachBodyOf(served(t), func(_ *openapi3.Operation, where, path string, content openapi3.Content) {
		for _, e := range examplesOf(where, path, content) {
			name := e.schema.Ref[strings.LastIndex(e.schema.Ref, "/")+1:]
			found[name]++
			if err := e.schema.Value.VisitJSON(e.value); err != nil {
				t.Errorf("%s, %s %s: the example is no %s: %v", e.where, e.media, e.name, name, err)
			}
			kind := strings.TrimPrefix(name, "New")
			if kind == name {
				continue
			}
			kind = strings.ToLower(kind[:1]) + kind[1:]
			if _, err := amend.Changes(logbook.Kind(kind), valueOf(t, e.value)); err != nil {
				t.Errorf("%s %s: the example makes no %s: %v", e.where, e.name, kind, err)
			}
		}
	})
	for _, name := range []string{"NewProduction", "NewLight", "PatchOfClip", "Clip", "ReadingPage", "Record", "Records"} {
		if found[name] == 0 {
			t.Errorf("no example of the schema %s was found", name)
		}
	}
}

func isSchema(s *openapi3.SchemaRef, name string) bool {
	return s.Ref == "#/components/schemas/"+name
}

func valueOf(t *testing.T, v any) logbook.Value {
	t.Helper()
	text, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	value, err := logbook.ParseValue(string(text))
	if err != nil {
		t.Fatalf("%s: %v", text, err)
	}
	return value
}

func TestExampleOfAnEventIsRead(t *testing.T) {
	found := 0
	eachExample(t, func(_ *openapi3.Operation, e example) {
		if !isSchema(e.schema, "Event") {
			return
		}
		found++
		if _, err := slate.ReadEvent(logbook.ID{}, valueOf(t, e.value)); err != nil {
			t.Errorf("%s: %v", e.where, err)
		}
	})
	if found == 0 {
		t.Error("no event was found")
	}
}

// The contract calls the colour log and its schema plain objects: the schema that
// is served is not one of this dialect.
func TestExamplesOfTheColorLogMeetItsSchema(t *testing.T) {
	published, err := os.ReadFile("../logbook/colorlog/color-log.schema.json")
	if err != nil {
		t.Fatal(err)
	}
	parsed, err := jsonschema.UnmarshalJSON(bytes.NewReader(published))
	if err != nil {
		t.Fatal(err)
	}
	found := 0
	eachExample(t, func(op *openapi3.Operation, e example) {
		switch {
		case e.media == "application/problem+json":
		case op.OperationID == "getColorLogJSON":
			found++
			if err := compile(t, parsed).Validate(e.value); err != nil {
				t.Errorf("%s: %v", e.where, err)
			}
		case op.OperationID == "getColorLogSchema":
			found++
			compile(t, e.value)
		}
	})
	if found != 2 {
		t.Errorf("got %d examples of the log and of its schema, want 2", found)
	}
}

func compile(t *testing.T, schema any) *jsonschema.Schema {
	t.Helper()
	c := jsonschema.NewCompiler()
	c.AssertFormat()
	if err := c.AddResource("urn:evenwhite:test", schema); err != nil {
		t.Fatal(err)
	}
	compiled, err := c.Compile("urn:evenwhite:test")
	if err != nil {
		t.Fatal(err)
	}
	return compiled
}

func TestExamplesInRowsSayWhatTheReadableOnesSay(t *testing.T) {
	document, err := Load()
	if err != nil {
		t.Fatal(err)
	}
	value := func(name string) any { return document.Components.Examples[name].Value.Value }
	var readable struct {
		Run, Cursor string
		Have        map[string]any
		Edits       []*logbook.Edit
		LimitBytes  int
	}
	text, err := json.Marshal(value("exchangeRequest"))
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(text, &readable); err != nil {
		t.Fatal(err)
	}
	rows, _ := value("exchangeRequestRows").(string)
	q, err := exchange.ReadRequestRows([]byte(rows), readable.Edits[0].Production, nil)
	if err != nil {
		t.Fatal(err)
	}
	if q.Run.String() != readable.Run || q.Cursor != readable.Cursor || q.Limit != readable.LimitBytes ||
		len(q.Have) != len(readable.Have) || len(q.Edits) != len(readable.Edits) {
		t.Errorf("got %+v, want %+v", q, readable)
	}
	got, err := logbook.EncodeEdit(q.Edits[0])
	if err != nil {
		t.Fatal(err)
	}
	if want, err := logbook.EncodeEdit(readable.Edits[0]); err != nil || !bytes.Equal(got, want) {
		t.Errorf("got another edit than the readable one (%v)", err)
	}
	rows, _ = value("exchangeAnswerRows").(string)
	a, err := exchange.ReadAnswerRows([]byte(rows), readable.Edits[0].Production, nil)
	if err != nil {
		t.Fatal(err)
	}
	said, _ := value("exchangeAnswer").(map[string]any)
	if a.Run.String() != said["run"] || a.Identity.String() != said["log"] || a.Cursor != said["cursor"] ||
		a.More != said["more"] || a.Answers[0].Dot != q.Edits[0].Dot {
		t.Errorf("got %+v, want %v", a, said)
	}
}
