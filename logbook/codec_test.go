package logbook_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"evenwhite/logbook"
	"evenwhite/logbook/logtest"
)

func TestEditForms(t *testing.T) {
	t.Run("bytes and readable form give the edit back without loss", rapid.MakeCheck(func(t *rapid.T) {
		e := logtest.DrawEdit(t)
		b, err := logbook.EncodeEdit(e)
		if err != nil {
			t.Fatal(err)
		}
		decoded, err := logbook.DecodeEdit(b)
		if err != nil {
			t.Fatal(err)
		}
		text, err := json.Marshal(decoded)
		if err != nil {
			t.Fatal(err)
		}
		var read logbook.Edit
		if err := json.Unmarshal(text, &read); err != nil {
			t.Fatalf("%s: %v", text, err)
		}
		again, err := logbook.EncodeEdit(&read)
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(b, again) {
			t.Fatalf("bytes differ after %s", text)
		}
	}))
	t.Run("numbers stay as they were typed and unknown members are kept", func(t *testing.T) {
		text := readableEdit(`"set":{"kelvin":5600.00,"x":4.5E-1}`, `"futureMember":{"b":1.0,"a":[2]}`)
		var e logbook.Edit
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
		logtest.Production, logtest.ID(2), logtest.ID(3), strings.Join(members, ","))
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
		"a nil record":       {strings.Replace(readableEdit(`"set":{"lens":1}`), logtest.ID(2).String(), logbook.ID{}.String(), 1), "record is"},
		"a list":             {`[]`, "JSON object"},
		"half a surrogate":   {readableEdit(`"set":{"lens":"\ud800"}`), "surrogate"},
		"a broken number":    {readableEdit(`"set":{"lens":01}`), "01"},
		"a control sign":     {readableEdit("\"set\":{\"lens\":\"a\tb\"}"), "control character"},
		"too deep":           {readableEdit(`"set":{"lens":` + strings.Repeat("[", 40) + strings.Repeat("]", 40) + `}`), "deeper"},
		"a very long person": {strings.Replace(readableEdit(`"set":{"lens":1}`), "2nd AC", strings.Repeat("a", 300), 1), "by must be"},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			var e logbook.Edit
			err := e.UnmarshalJSON([]byte(c.text))
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("got %v, want an error with %q", err, c.want)
			}
		})
	}
}

func FuzzDecodeEdit(f *testing.F) {
	e := &logbook.Edit{
		Production: logtest.Production, Record: logtest.ID(2), Device: logtest.ID(3), Kind: "take", Dot: logtest.Dot(1, 1), By: "DIT",
		Set: []logbook.Change{{Field: "number", Value: "3", Over: []logbook.Dot{logtest.Dot(2, 9)}}},
	}
	b, err := logbook.EncodeEdit(e)
	if err != nil {
		f.Fatal(err)
	}
	f.Add(b)
	f.Fuzz(func(t *testing.T, b []byte) {
		e, err := logbook.DecodeEdit(b)
		if err != nil {
			return
		}
		again, err := logbook.EncodeEdit(e)
		if err != nil || !bytes.Equal(b, again) {
			t.Fatalf("accepted bytes that are not canonical: %x, again %x, %v", b, again, err)
		}
	})
}

func FuzzReadableEdit(f *testing.F) {
	f.Add([]byte(readableEdit(`"set":{"lens":"50 mm"}`, `"over":{"lens":["aa00000000000000.1"]}`)))
	f.Fuzz(func(t *testing.T, text []byte) {
		var e, again logbook.Edit
		if e.UnmarshalJSON(text) != nil {
			return
		}
		b, err := logbook.EncodeEdit(&e)
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
		if b2, err := logbook.EncodeEdit(&again); err != nil || !bytes.Equal(b, b2) {
			t.Fatalf("%s reads as another edit (%v)", out, err)
		}
	})
}

// yearTenThousand is the first instant that has no date of four digits.
const yearTenThousand = logbook.Millis(253402300800000)

func TestACorrectedTimeStaysWithinTheYearsThatCanBeWritten(t *testing.T) {
	for _, c := range []struct {
		name             string
		at, offset, want logbook.Millis
	}{
		{"an offset of ten years", 1e12, 315e9, 1e12 + 315e9},
		{"before 1970", 5, -10, 0},
		{"after the year 9999", yearTenThousand - 1, yearTenThousand - 1, yearTenThousand - 1},
	} {
		e := logtest.ClipEdit(1, 1, "lens", `"35"`)
		e.At, e.Offset = c.at, c.offset
		if _, err := logbook.EncodeEdit(e); err != nil {
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
	deep := func(n int) logbook.Value { return logbook.Value(strings.Repeat("[", n) + strings.Repeat("]", n)) }
	carried := 0
	for n := 1; n <= 40; n++ {
		e := logtest.ClipEdit(1, 1, "someday", deep(n))
		b, err := logbook.EncodeEdit(e)
		if err != nil {
			continue
		}
		carried = n
		if _, err := logbook.DecodeEdit(b); err != nil {
			t.Fatalf("depth %d: written and not read: %v", n, err)
		}
		text, err := e.MarshalJSON()
		if err != nil {
			t.Fatal(err)
		}
		if _, err := logbook.ParseValue(`{"edits":[` + string(text) + `]}`); err != nil {
			t.Errorf("an edit with a value of depth %d can be stored and not be sent: %v", n, err)
		}
	}
	if carried < 16 {
		t.Errorf("got depth %d at the most, want at least 16", carried)
	}
}
