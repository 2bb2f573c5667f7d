package colorlog

import (
	"bytes"
	"encoding/json"
	"reflect"
	"sort"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"evenwhite/logbook/cameras"
	"evenwhite/logbook/figure"
)

func compiled(t *testing.T) *jsonschema.Schema {
	t.Helper()
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(SchemaText))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	c.AssertFormat()
	if err := c.AddResource(Schema, doc); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile(Schema)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func mustMeetSchema(t *testing.T, document []byte) {
	t.Helper()
	v, err := jsonschema.UnmarshalJSON(bytes.NewReader(document))
	if err != nil {
		t.Fatalf("the document is not JSON: %v", err)
	}
	if err := compiled(t).Validate(v); err != nil {
		t.Errorf("the document does not meet %s: %v", Schema, err)
	}
}

func TestTheSchemaRefusesWhatItDoesNotKnow(t *testing.T) {
	var out bytes.Buffer
	if err := WriteJSON(&out, handMadeHead, rowsOf(handMadeRow())); err != nil {
		t.Fatal(err)
	}
	good := out.String()
	for name, change := range map[string][2]string{
		"an unknown member":    {`"find":{`, `"find":{"shoeSize":44,`},
		"a missing row part":   {`"limits":[`, `"limit":[`},
		"a word for a number":  {`"kelvin":3900.0`, `"kelvin":"warm"`},
		"an impossible kelvin": {`"kelvin":3900.0`, `"kelvin":12`},
		"an unknown mode":      {`"whiteMode":"kelvin"`, `"whiteMode":"magic"`},
		"a date in words":      {`"date":"2031-03-04"`, `"date":"4 March"`},
		"a document cut off":   {`"count":1}`, `"note":1}`},
		"another schema":       {Schema, Schema + "0"},
	} {
		t.Run(name, func(t *testing.T) {
			bad := strings.Replace(good, change[0], change[1], 1)
			if bad == good {
				t.Fatalf("%q does not occur in the document", change[0])
			}
			v, err := jsonschema.UnmarshalJSON(strings.NewReader(bad))
			if err != nil {
				t.Fatal(err)
			}
			if compiled(t).Validate(v) == nil {
				t.Errorf("got no complaint about %s", name)
			}
		})
	}
}

// TestTheSchemaNamesExactlyTheMembersOfTheTypes keeps the types from growing a
// member that the published form does not have.
func TestTheSchemaNamesExactlyTheMembersOfTheTypes(t *testing.T) {
	type object struct {
		Properties map[string]object
	}
	var schema struct {
		Properties map[string]object
		Defs       map[string]object `json:"$defs"`
	}
	if err := json.Unmarshal(SchemaText, &schema); err != nil {
		t.Fatal(err)
	}
	head := schema.Properties
	delete(head, "rows")
	delete(head, "count")
	of := func(name string) map[string]object { return schema.Defs[name].Properties }
	for name, pair := range map[string]struct {
		schema map[string]object
		typ    any
	}{
		"document": {head, Head{}}, "production": {head["production"].Properties, Production{}},
		"state": {head["state"].Properties, State{}}, "scope": {head["scope"].Properties, ScopeHead{}},
		"row": {of("row"), Row{}}, "find": {of("find"), Find{}}, "take": {of("take"), Take{}}, "timecode": {of("timecode"), Timecode{}},
		"set": {of("set"), Set{}}, "meant": {of("meant"), Meant{}}, "there": {of("there"), There{}}, "light": {of("light"), Light{}},
		"correction": {of("correction"), Correction{}}, "cameraCorrection": {of("cameraCorrection"), cameras.Correction{}},
		"rgb": {of("rgb"), figure.RGB{}}, "dialled": {of("dialled"), cameras.Dialled{}},
		"gives": {of("gives"), Gives{}}, "off": {of("off"), Off{}}, "finding": {of("finding"), Finding{}},
		"conflict": {of("conflict"), Conflict{}}, "note": {of("note"), Note{}}, "answer": {of("answer"), Answer{}},
		"chromaticity": {of("chromaticity"), figure.Chromaticity{}}, "difference": {of("difference"), figure.Difference{}},
		"intendedCast": {of("intendedCast"), figure.IntendedCast{}}, "limits": {of("limits"), figure.Limits{}},
		"size": {of("size"), figure.Size{}}, "howRight": {of("howRight"), cameras.HowRight{}},
		"cameraRight": {of("cameraRight"), cameras.CameraRight{}}, "basisRight": {of("basisRight"), cameras.BasisRight{}},
		"cardRight": {of("cardRight"), cameras.CardRight{}}, "untried": {of("untried"), cameras.Untried{}},
	} {
		var got, want []string
		for member := range pair.schema {
			got = append(got, member)
		}
		typ := reflect.TypeOf(pair.typ)
		for i := range typ.NumField() {
			if member, _, _ := strings.Cut(typ.Field(i).Tag.Get("json"), ","); member != "-" {
				want = append(want, member)
			}
		}
		sort.Strings(got)
		sort.Strings(want)
		if !reflect.DeepEqual(got, want) {
			t.Errorf("%s: the schema has %v, the type has %v", name, got, want)
		}
	}
}
