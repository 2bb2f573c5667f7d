package handset

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"os"
	"reflect"
	"regexp"
	"strings"
	"testing"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/advice"
	"evenwhite/logbook/cameras"
	"evenwhite/logbook/deviation"
	"evenwhite/logbook/glance"
	"evenwhite/logbook/lighting"
	"evenwhite/logbook/review"
	"evenwhite/logbook/setup"
	"evenwhite/logbook/slate"
)

// all are the answers that are written by what is generated.
var all = []any{
	State{}, Held{}, Prepared{}, Form{}, Judged{}, Written{}, Findings{}, SetUps{}, Takes{}, Clips{}, Record{}, Waits{}, Asked{}, Taken{},
	Bundled{}, Fault{},
	glance.SetUpNow{}, glance.Verdicts{}, glance.Supposed{}, glance.SetUpPlane{}, glance.SetUpSwatches{},
	advice.SetUpPlan{}, advice.Matched{}, advice.ClipCorrections{}, slate.Next{}, deviation.List{},
	review.RecordsPage{}, review.History{}, review.ConflictsPage{}, review.TwinsPage{}, review.Quarantine{},
	lighting.ReadingColor{}, lighting.LampLearnt{}, lighting.GelLearnt{}, lighting.MeterLearnt{},
	cameras.SampleColor{}, cameras.StillReading{}, setup.SetUpDrift{},
}

// A drawer draws values of any type of an answer.
type drawer struct {
	*rand.Rand
	drawn map[string]bool // types
}

func (d drawer) text() string {
	parts := []string{"a", `"`, `\`, "\n", "\r", "\t", "\b", "\f", "\x00", "\x1f", "\x7f", "<b>", "&", "'", "/",
		"\u2028", "\u2029", "\u2027", "é", "e\u0301", "\ufffd", "\xff", "\xe2\x80", "\xed\xa0\x80", "\xe2", "😀"}
	var out strings.Builder
	for range d.IntN(6) {
		out.WriteString(parts[d.IntN(len(parts))])
	}
	return out.String()
}

func (d drawer) number() float64 {
	for {
		f := []float64{0, math.Copysign(0, -1), 1e21, math.Nextafter(1e21, 0), 1e-7, 1e-6, math.Nextafter(1e-6, 0),
			1e-10, -1e-9, 1e100, 5600, -0.003,
			math.MaxFloat64, math.SmallestNonzeroFloat64, math.Float64frombits(d.Uint64())}[d.IntN(15)]
		if !math.IsNaN(f) && !math.IsInf(f, 0) {
			return f
		}
	}
}

func (d drawer) json() json.RawMessage {
	return []json.RawMessage{nil, json.RawMessage(`{"a":"<&>"}`), json.RawMessage("\"\u2028 \u2029 \u2027\""),
		json.RawMessage(`"\u0001"`),
		json.RawMessage(`5600.0`), json.RawMessage(`[]`), json.RawMessage(`null`)}[d.IntN(7)]
}

func (d drawer) edit() *logbook.Edit {
	return &logbook.Edit{Kind: "take", By: d.text(), At: logbook.Millis(d.Int64N(1 << 41)), Set: []logbook.Change{
		{Field: "number", Value: "12"},
		{Field: "name", Value: logbook.TextValue(strings.ToValidUTF8(d.text(), "?")), Over: []logbook.Dot{{N: 1}}}}}
}

// fill draws a value; below some depth lists are empty.
func (d drawer) fill(v reflect.Value, depth int) {
	d.drawn[strings.ReplaceAll(v.Type().String(), "handset.", "")] = true
	switch at := v.Addr().Interface().(type) {
	case *time.Time:
		*at = []time.Time{{}, time.UnixMilli(d.Int64N(1 << 41)).UTC(),
			time.Unix(d.Int64N(1<<31), d.Int64N(1e9)).In(time.FixedZone("", 5400))}[d.IntN(3)]
		return
	case *json.RawMessage:
		*at = d.json()
		return
	case **logbook.Edit:
		if *at = nil; d.IntN(3) > 0 {
			*at = d.edit()
		}
		return
	}
	switch v.Kind() {
	case reflect.String:
		v.SetString(d.text())
	case reflect.Bool:
		v.SetBool(d.IntN(2) == 0)
	case reflect.Int:
		v.SetInt([]int64{0, 1, -1, math.MaxInt64, math.MinInt64, d.Int64()}[d.IntN(6)])
	case reflect.Uint8:
		v.SetUint(uint64(d.IntN(2) * d.IntN(256)))
	case reflect.Float64:
		v.SetFloat(d.number())
	case reflect.Pointer:
		if depth > 0 && d.IntN(3) > 0 {
			v.Set(reflect.New(v.Type().Elem()))
			d.fill(v.Elem(), depth-1)
		}
	case reflect.Struct:
		for i := range v.NumField() {
			if v.Type().Field(i).IsExported() {
				d.fill(v.Field(i), depth)
			}
		}
	case reflect.Array:
		zero := d.IntN(3) == 0
		for i := 0; i < v.Len() && !zero; i++ {
			d.fill(v.Index(i), depth-1)
		}
	case reflect.Slice:
		if n := d.IntN(4); n > 0 {
			if depth <= 0 {
				n = 1
			}
			v.Set(reflect.MakeSlice(v.Type(), n-1, n-1))
			for i := range n - 1 {
				d.fill(v.Index(i), depth-1)
			}
		}
	case reflect.Map:
		if n := d.IntN(5); n > 0 {
			v.Set(reflect.MakeMap(v.Type()))
			for range n - 1 {
				key, one := reflect.New(v.Type().Key()).Elem(), reflect.New(v.Type().Elem()).Elem()
				d.fill(key, depth-1)
				d.fill(one, depth-1)
				key.SetString(strings.ToValidUTF8(key.String(), "?"))
				v.SetMapIndex(key, one)
			}
		}
	default:
		panic(v.Type().String() + " is of no kind that is drawn")
	}
}

func TestAnswersAreWrittenAsEncodingJSONWritesThem(t *testing.T) {
	const seed = 7
	chance := drawer{rand.New(rand.NewPCG(seed, seed)), map[string]bool{}}
	for _, one := range all {
		for range 200 {
			v := reflect.New(reflect.TypeOf(one)).Elem()
			chance.fill(v, 6)
			want, err := json.Marshal(v.Interface())
			if err != nil {
				t.Fatal(err)
			}
			got, err := WrittenOut(v.Addr().Interface())
			if err != nil || string(got) != string(want) {
				t.Fatalf("seed %d: of %T wrote\n%s (%v), and encoding/json writes\n%s", seed, one, got, err, want)
			}
		}
	}
	for _, name := range []string{"answers.gen.go", "../answers/answers.gen.go"} {
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		cases := regexp.MustCompile(`(?m)^\tcase \*(.+):$`).FindAllSubmatch(text, -1)
		for _, m := range cases {
			if !chance.drawn[string(m[1])] {
				t.Errorf("%s writes %s, which was not drawn", name, m[1])
			}
		}
		if len(cases) < 20 {
			t.Errorf("%s has %d types", name, len(cases))
		}
	}
}

func TestAnAnswerThatIsNoJSONIsAFault(t *testing.T) {
	infinite := math.Inf(1)
	for _, v := range []any{
		&lighting.ReadingColor{FloorXY: math.NaN()}, &lighting.ReadingColor{IlluminanceLux: &infinite},
		&glance.SetUpNow{At: time.Date(10000, 1, 1, 0, 0, 0, 0, time.UTC)}, &map[string]any{"a": 1}, Takes{}, nil,
	} {
		if out, err := WrittenOut(v); err == nil {
			t.Errorf("%T was written as %s", v, out)
		}
	}
}

// BenchmarkAnswer writes a long answer both ways.
func BenchmarkAnswer(b *testing.B) {
	page := Takes{Takes: make([]glance.TakeLine, 500)}
	for i := range page.Takes {
		page.Takes[i].Clips = make([]glance.ClipLine, 3)
	}
	b.Run("written", func(b *testing.B) {
		for b.Loop() {
			if _, err := WrittenOut(&page); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("marshalled", func(b *testing.B) {
		for b.Loop() {
			if _, err := json.Marshal(page); err != nil {
				b.Fatal(err)
			}
		}
	})
}
