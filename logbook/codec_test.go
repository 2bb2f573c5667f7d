package logbook

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func testID(n int) ID {
	var id ID
	id[6], id[8] = 0x70, 0x80
	id[14], id[15] = byte(n>>8), byte(n)
	id[0] = 1
	return id
}

func testLine(n int) Line { return Line{0xaa, byte(n >> 8), byte(n)} }

// drawEdit makes any edit that the byte form can hold.
func drawEdit(t *rapid.T) *Edit {
	name := rapid.StringMatching(`[a-zA-Zä/*]{1,12}`)
	value := rapid.SampledFrom([]string{`1`, `1.50`, `-0`, `1e-7`, `true`, `false`, `null`, `"a"`, `"ä\n\"\u0001"`, `[1,[2.0,"x"]]`, `{"b":1,"a":{"c":[]}}`, `"😀"`})
	dotTo := func(most uint64) *rapid.Generator[Dot] {
		return rapid.Custom(func(t *rapid.T) Dot {
			return Dot{testLine(rapid.IntRange(0, 3).Draw(t, "line")), rapid.Uint64Range(1, most).Draw(t, "n")}
		})
	}
	dot := dotTo(math.MaxUint64) // which is what an edit may name
	e := &Edit{
		Production: testID(1), Record: testID(rapid.IntRange(2, 9).Draw(t, "record")), Device: testID(100),
		Kind: Kind(name.Draw(t, "kind")), Dot: dotTo(1<<62).Draw(t, "dot"),
		At:     Millis(rapid.Int64Range(0, int64(yearTenThousand)-1).Draw(t, "at")),
		Offset: Millis(rapid.Int64Range(1-int64(yearTenThousand), int64(yearTenThousand)-1).Draw(t, "offset")),
		By:     rapid.String().Draw(t, "by"),
	}
	if len(e.By) > maxName {
		e.By = e.By[:0]
	}
	if rapid.Bool().Draw(t, "hasAct") {
		e.Act = dot.Draw(t, "act")
	}
	canonical := func(label string) Value {
		v, err := ParseValue(value.Draw(t, label))
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	for _, field := range rapid.SliceOfNDistinct(name, 1, 5, rapid.ID[string]).Draw(t, "fields") {
		e.Set = append(e.Set, Change{Field: field, Value: canonical("value"),
			Over: rapid.SliceOfNDistinct(dot, 0, 3, rapid.ID[Dot]).Draw(t, "over")})
	}
	for _, n := range rapid.SliceOfNDistinct(rapid.StringMatching(`x[a-z]{1,8}`), 0, 2, rapid.ID[string]).Draw(t, "extra") {
		e.Extra = append(e.Extra, Member{n, canonical("extra value")})
	}
	return e
}

func TestEditForms(t *testing.T) {
	t.Run("bytes and readable form give the edit back without loss", rapid.MakeCheck(func(t *rapid.T) {
		e := drawEdit(t)
		b, err := EncodeEdit(e)
		if err != nil {
			t.Fatal(err)
		}
		decoded, err := DecodeEdit(b)
		if err != nil {
			t.Fatal(err)
		}
		text, err := json.Marshal(decoded)
		if err != nil {
			t.Fatal(err)
		}
		var read Edit
		if err := json.Unmarshal(text, &read); err != nil {
			t.Fatalf("%s: %v", text, err)
		}
		again, err := EncodeEdit(&read)
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(b, again) {
			t.Fatalf("bytes differ after %s", text)
		}
	}))
	t.Run("numbers stay as they were typed and unknown members are kept", func(t *testing.T) {
		text := readableEdit(`"set":{"kelvin":5600.00,"x":4.5E-1}`, `"futureMember":{"b":1.0,"a":[2]}`)
		var e Edit
		if err := json.Unmarshal([]byte(text), &e); err != nil {
			t.Fatal(err)
		}
		out, err := json.Marshal(&e)
		if err != nil {
			t.Fatal(err)
		}
		for _, want := range []string{`"kelvin":5600.00`, `"x":4.5E-1`, `"futureMember":{"a":[2],"b":1.0}`} {
			if !strings.Contains(string(out), want) {
				t.Errorf("got %s, want it to hold %s", out, want)
			}
		}
	})
}

func readableEdit(members ...string) string {
	return fmt.Sprintf(`{"production":%q,"kind":"clip","record":%q,"device":%q,"line":"aa00000000000000","n":3,"at":"2026-03-04T05:06:07.089Z","offsetMs":-12,"by":"2nd AC",%s}`,
		testID(1), testID(2), testID(3), strings.Join(members, ","))
}

func TestEditRefusesWhatIsNoEdit(t *testing.T) {
	cases := map[string]struct{ text, want string }{
		"no set":             {readableEdit(`"act":"aa00000000000000.1"`), "set is missing"},
		"an empty set":       {readableEdit(`"set":{}`), "sets no field"},
		"a field twice":      {readableEdit(`"set":{"lens":1,"lens":2}`), `"lens" stands twice`},
		"over of no field":   {readableEdit(`"set":{"lens":1}`, `"over":{"card":[]}`), "which set does not set"},
		"a bad dot":          {readableEdit(`"set":{"lens":1}`, `"over":{"lens":["7"]}`), "line.n"},
		"a dot twice":        {readableEdit(`"set":{"lens":1}`, `"over":{"lens":["aa00000000000000.1","aa00000000000000.1"]}`), "twice"},
		"a bad time":         {strings.Replace(readableEdit(`"set":{"lens":1}`), "Z", "+01:00", 1), "at is"},
		"microseconds":       {strings.Replace(readableEdit(`"set":{"lens":1}`), "089Z", "089001Z", 1), "three decimals"},
		"n 0":                {strings.Replace(readableEdit(`"set":{"lens":1}`), `"n":3`, `"n":0`, 1), "n is 0"},
		"n with a fraction":  {strings.Replace(readableEdit(`"set":{"lens":1}`), `"n":3`, `"n":3.5`, 1), "n is 3.5"},
		"a nil record":       {strings.Replace(readableEdit(`"set":{"lens":1}`), testID(2).String(), ID{}.String(), 1), "record is"},
		"a list":             {`[]`, "JSON object"},
		"half a surrogate":   {readableEdit(`"set":{"lens":"\ud800"}`), "surrogate"},
		"a broken number":    {readableEdit(`"set":{"lens":01}`), "01"},
		"a control sign":     {readableEdit("\"set\":{\"lens\":\"a\tb\"}"), "control character"},
		"too deep":           {readableEdit(`"set":{"lens":` + strings.Repeat("[", 40) + strings.Repeat("]", 40) + `}`), "deeper"},
		"a very long person": {strings.Replace(readableEdit(`"set":{"lens":1}`), "2nd AC", strings.Repeat("a", 300), 1), "by must be"},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			var e Edit
			err := e.UnmarshalJSON([]byte(c.text))
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("got %v, want an error with %q", err, c.want)
			}
		})
	}
}

func TestValuesAreEqual(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want bool
	}{
		{`1.50`, `1.5`, true}, {`15e-1`, `1.5`, true}, {`0`, `-0.00`, true}, {`1`, `1.0000000000000000000001`, false},
		{`"1"`, `1`, false}, {`null`, `0`, false}, {`{"x":0.40,"y":1}`, `{"x":0.4,"y":1.0}`, true}, {`{"x":1}`, `{"y":1}`, false},
		{`[1,2]`, `[1.0,2]`, true}, {`[1,2]`, `[2,1]`, false}, {`[]`, `{}`, false}, {`1e400`, `1e401`, false}, {`100`, `1e2`, true},
	} {
		if got := Value(c.a).Equal(Value(c.b)); got != c.want {
			t.Errorf("%s equal to %s: got %v, want %v", c.a, c.b, got, c.want)
		}
	}
}

func FuzzDecodeEdit(f *testing.F) {
	e := &Edit{Production: testID(1), Record: testID(2), Device: testID(3), Kind: KindTake, Dot: Dot{testLine(1), 1}, By: "DIT", Set: []Change{{"number", "3", []Dot{{testLine(2), 9}}}}}
	b, err := EncodeEdit(e)
	if err != nil {
		f.Fatal(err)
	}
	f.Add(b)
	f.Fuzz(func(t *testing.T, b []byte) {
		e, err := DecodeEdit(b)
		if err != nil {
			return
		}
		again, err := EncodeEdit(e)
		if err != nil || !bytes.Equal(b, again) {
			t.Fatalf("accepted bytes that are not canonical: %x, again %x, %v", b, again, err)
		}
		_ = Judge(e)
	})
}

func FuzzReadableEdit(f *testing.F) {
	f.Add([]byte(readableEdit(`"set":{"lens":"50 mm"}`, `"over":{"lens":["aa00000000000000.1"]}`)))
	f.Fuzz(func(t *testing.T, text []byte) {
		var e, again Edit
		if e.UnmarshalJSON(text) != nil {
			return
		}
		b, err := EncodeEdit(&e)
		if err != nil {
			return // larger than an edit may be
		}
		out, err := e.MarshalJSON()
		if err != nil {
			t.Fatal(err)
		}
		if err := again.UnmarshalJSON(out); err != nil {
			t.Fatalf("%s: %v", out, err)
		}
		if b2, err := EncodeEdit(&again); err != nil || !bytes.Equal(b, b2) {
			t.Fatalf("%s reads as another edit (%v)", out, err)
		}
	})
}

func FuzzParseValue(f *testing.F) {
	for _, s := range []string{`{"b":[1,2.50,"ä"],"a":null}`, `"😀"`, `-0.0e+1`, `[[[[]]]]`} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		v, err := ParseValue(s)
		if err != nil {
			return
		}
		if !json.Valid([]byte(v)) {
			t.Fatalf("%q became %q, which is not JSON", s, v)
		}
		if again, err := ParseValue(string(v)); err != nil || again != v {
			t.Fatalf("%q became %q, then %q (%v)", s, v, again, err)
		}
	})
}

func TestACorrectedTimeStaysWithinTheYearsThatCanBeWritten(t *testing.T) {
	for _, c := range []struct {
		name             string
		at, offset, want Millis
	}{
		{"an offset of ten years", 1e12, 315e9, 1e12 + 315e9},
		{"before 1970", 5, -10, 0},
		{"after the year 9999", yearTenThousand - 1, yearTenThousand - 1, yearTenThousand - 1},
	} {
		e := clipEdit(1, 1, "lens", `"35"`)
		e.At, e.Offset = c.at, c.offset
		if _, err := EncodeEdit(e); err != nil {
			t.Fatalf("%s: %v", c.name, err)
		}
		if got := e.Corrected(); got != c.want {
			t.Errorf("%s: got %d, want %d", c.name, got, c.want)
		}
		if _, err := e.Corrected().Time().MarshalJSON(); err != nil {
			t.Errorf("%s: %v", c.name, err)
		}
	}
}

func TestAnEditIsAsDeepAsABodyCanCarry(t *testing.T) {
	deep := func(n int) Value { return Value(strings.Repeat("[", n) + strings.Repeat("]", n)) }
	carried := 0
	for n := 1; n <= 40; n++ {
		e := clipEdit(1, 1, "someday", deep(n))
		b, err := EncodeEdit(e)
		if err != nil {
			continue
		}
		carried = n
		if _, err := DecodeEdit(b); err != nil {
			t.Fatalf("depth %d: written and not read: %v", n, err)
		}
		text, err := e.MarshalJSON()
		if err != nil {
			t.Fatal(err)
		}
		if _, err := ParseValue(`{"edits":[` + string(text) + `]}`); err != nil {
			t.Errorf("an edit with a value of depth %d can be stored and not be sent: %v", n, err)
		}
	}
	if carried < 16 {
		t.Errorf("got depth %d at the most, want at least 16", carried)
	}
}
