package phone_test

import (
	"bytes"
	"encoding"
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"path"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/advice"
	"evenwhite/logbook/cameras"
	"evenwhite/logbook/deviation"
	"evenwhite/logbook/glance"
	"evenwhite/logbook/handset"
	"evenwhite/logbook/lighting"
	"evenwhite/logbook/review"
	"evenwhite/logbook/setup"
	"evenwhite/logbook/slate"
)

var update = flag.Bool("update", false, "write the app's types of answers anew")

// answers are what the engine's messages are answered with.
var answers = []any{
	handset.State{}, handset.Held{}, handset.Form{}, handset.Judged{}, handset.Written{}, handset.Takes{}, handset.Record{}, handset.Asked{},
	handset.Waits{}, handset.Prepared{}, handset.Taken{}, handset.Bundled{}, handset.Fault{}, handset.Findings{},
	handset.SetUps{}, handset.Clips{},
	glance.SetUpNow{}, glance.Verdicts{}, glance.Supposed{}, glance.SetUpPlane{},
	glance.SetUpSwatches{}, advice.SetUpPlan{}, advice.Matched{}, advice.ClipCorrections{}, slate.Next{}, deviation.List{},
	review.RecordsPage{}, review.History{}, review.ConflictsPage{}, review.TwinsPage{}, review.Quarantine{}, lighting.ReadingColor{},
	cameras.SampleColor{}, cameras.StillReading{}, lighting.LampLearnt{}, lighting.GelLearnt{}, lighting.MeterLearnt{}, setup.SetUpDrift{},
}

// edit is what an edit's own writer makes of it.
const edit = `// Written by go test ./server/phone -run Answers -update from the types of the engine's answers.
// Do not change it by hand.

export interface Edit {
  production: string; kind: string; record: string; device: string; line: string; n: number; at: string;
  offsetMs: number; by: string; act?: string; set: Record<string, unknown>; over: Record<string, string[]>;
}
`

// The app's types of answers follow from those of Go, so that a screen cannot read a member that
// no answer has.
func TestTheAppKnowsTheAnswersOfTheEngine(t *testing.T) {
	const file = "app/src/engine/answers.gen.ts"
	w := writer{names: map[reflect.Type]string{}, taken: map[string]bool{}}
	for _, a := range answers {
		w.name(reflect.TypeOf(a))
	}
	for len(w.waiting) > 0 {
		next := w.waiting[0]
		w.waiting = w.waiting[1:]
		w.declare(next)
	}
	var out bytes.Buffer
	out.WriteString(edit)
	slices.SortFunc(w.declared, func(a, b [2]string) int { return strings.Compare(a[0], b[0]) })
	for _, d := range w.declared {
		out.WriteString("\n" + d[1])
	}
	if *update {
		if err := os.WriteFile(file, out.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	before, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(before, out.Bytes()) {
		t.Errorf("%s is not what the types of the engine say: go test ./server/phone -run Answers -update", file)
	}
}

type writer struct {
	names    map[reflect.Type]string
	taken    map[string]bool
	waiting  []reflect.Type
	declared [][2]string
}

// name gives a struct its name: that of Go, behind its room's where two are called alike.
func (w *writer) name(t reflect.Type) string {
	if name, ok := w.names[t]; ok {
		return name
	}
	name := t.Name()
	if room := path.Base(t.PkgPath()); w.taken[name] || name == "Record" || name == "Error" {
		name = strings.ToUpper(room[:1]) + room[1:] + name
	}
	w.names[t], w.taken[name] = name, true
	w.waiting = append(w.waiting, t)
	return name
}

func (w *writer) declare(t reflect.Type) {
	var b strings.Builder
	fmt.Fprintf(&b, "export interface %s {\n", w.names[t])
	w.members(&b, t)
	b.WriteString("}\n")
	w.declared = append(w.declared, [2]string{w.names[t], b.String()})
}

func (w *writer) members(b *strings.Builder, t reflect.Type) {
	for f := range t.Fields() {
		tag := f.Tag.Get("json")
		name, options, _ := strings.Cut(tag, ",")
		if f.Anonymous && name == "" {
			w.members(b, f.Type)
			continue
		}
		if !f.IsExported() || name == "-" {
			continue
		}
		optional := ""
		if strings.Contains(options, "omit") {
			optional = "?"
		}
		if name == "" {
			name = f.Name
		}
		of := w.of(f.Type)
		if optional == "" && f.Type.Kind() == reflect.Pointer {
			of += " | null"
		}
		fmt.Fprintf(b, "  %s%s: %s;\n", name, optional, of)
	}
}

// of is what JSON makes of a Go type.
func (w *writer) of(t reflect.Type) string {
	switch {
	case t == reflect.TypeFor[logbook.Edit]():
		return "Edit"
	case t == reflect.TypeFor[time.Time]():
		return "string"
	case t == reflect.TypeFor[json.RawMessage]():
		return "unknown"
	case t.Kind() != reflect.Pointer && t.Implements(reflect.TypeFor[encoding.TextMarshaler]()):
		return "string"
	case t.Kind() != reflect.Pointer && t.Implements(reflect.TypeFor[json.Marshaler]()):
		panic(fmt.Sprintf("%s writes itself: say here as what", t))
	}
	switch t.Kind() {
	case reflect.Pointer:
		return w.of(t.Elem())
	case reflect.Struct:
		if t.Name() == "" {
			var b strings.Builder
			w.members(&b, t)
			return "{ " + strings.Join(strings.Fields(b.String()), " ") + " }"
		}
		return w.name(t)
	case reflect.Slice, reflect.Array:
		of := w.of(t.Elem())
		if strings.ContainsAny(of, " |") && of[0] != '{' {
			of = "(" + of + ")"
		}
		return of + "[]"
	case reflect.Map:
		return "Record<string, " + w.of(t.Elem()) + ">"
	case reflect.String:
		return "string"
	case reflect.Bool:
		return "boolean"
	case reflect.Interface:
		return "unknown"
	}
	return "number"
}
