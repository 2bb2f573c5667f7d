package logbook_test

import (
	"encoding/json"
	"math/big"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"evenwhite/logbook"
	"evenwhite/logbook/logtest"
)

func TestValuesAreEqual(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want bool
	}{
		{`1.50`, `1.5`, true}, {`15e-1`, `1.5`, true}, {`0`, `-0.00`, true}, {`1`, `1.0000000000000000000001`, false},
		{`"1"`, `1`, false}, {`null`, `0`, false}, {`{"x":0.40,"y":1}`, `{"x":0.4,"y":1.0}`, true}, {`{"x":1}`, `{"y":1}`, false},
		{`[1,2]`, `[1.0,2]`, true}, {`[1,2]`, `[2,1]`, false}, {`[]`, `{}`, false}, {`1e400`, `1e401`, false}, {`100`, `1e2`, true},
		{`1e3000000000`, `1e4000000000`, false}, {`1e-3000000000`, `1e-4000000000`, false}, {`10e2999999999`, `1e3000000000`, true},
		{`1e99999999999999999999`, `1e99999999999999999998`, false}, {`0.1e100000000000000000000`, `1e99999999999999999999`, true},
		{`1e1000000000000000000`, `10e999999999999999999`, true}, {`0e99999999999999999999`, `0`, true},
	} {
		if got := logbook.Value(c.a).Equal(logbook.Value(c.b)); got != c.want {
			t.Errorf("%s equal to %s: got %v, want %v", c.a, c.b, got, c.want)
		}
	}
}

// A number reads the same wherever its point is written, however great its exponent is.
func TestNumbersOfAnyExponent(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		digits := rapid.StringMatching(`[1-9][0-9]{0,30}`).Draw(t, "digits")
		text := rapid.StringMatching(`[1-9][0-9]{0,24}|1000000000000000000|999999999999999999`).Draw(t, "exponent")
		exponent, _ := new(big.Int).SetString(text, 10)
		if rapid.Bool().Draw(t, "small") {
			exponent.Neg(exponent)
		}
		write := func(places int, more int64) logbook.Number {
			e := new(big.Int).Add(exponent, big.NewInt(int64(places)+more))
			return logbook.ParseNumber(digits[:len(digits)-places] + "." + digits[len(digits)-places:] + "0e" + e.String())
		}
		places := rapid.IntRange(0, len(digits)-1).Draw(t, "places")
		a, b, greater := write(0, 0), write(places, 0), write(places, 1)
		if a != b || a.Compare(b) != 0 {
			t.Errorf("%s with %d places: got %v and %v, want the same", text, places, a, b)
		}
		if a == greater || a.Compare(greater) != -1 || greater.Compare(a) != 1 {
			t.Errorf("%s: got %v and %v ten times as great, compared as %d", text, a, greater, a.Compare(greater))
		}
		if whole := exponent.Sign() >= 0; whole && !a.Whole() {
			t.Errorf("%s is not whole", text)
		}
	})
}

func FuzzParseValue(f *testing.F) {
	for _, s := range []string{`{"b":[1,2.50,"ä"],"a":null}`, `"😀"`, `-0.0e+1`, `[[[[]]]]`} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		v, err := logbook.ParseValue(s)
		if err != nil {
			return
		}
		if !json.Valid([]byte(v)) {
			t.Fatalf("%q became %q, which is not JSON", s, v)
		}
		if again, err := logbook.ParseValue(string(v)); err != nil || again != v {
			t.Fatalf("%q became %q, then %q (%v)", s, v, again, err)
		}
	})
}

// drawJSON draws JSON text that is canonical or nearly so.
func drawJSON(t *rapid.T, depth int) string {
	kind := rapid.IntRange(0, 9).Draw(t, "kind")
	if depth > 3 {
		kind += 3
	}
	parts := func(part func() string) string {
		var all []string
		for range rapid.IntRange(0, 3).Draw(t, "parts") {
			all = append(all, part())
		}
		return strings.Join(all, rapid.SampledFrom([]string{",", ",", ",", ",", ", ", ""}).Draw(t, "comma"))
	}
	name := func() string {
		return rapid.SampledFrom([]string{`""`, `"a"`, `"a"`, `"a b"`, `"a!"`, `"b"`, `"b"`, `"c"`, `"c\"d"`, `"é"`, `1`}).Draw(t, "name")
	}
	switch kind {
	case 0, 1, 2:
		return "{" + parts(func() string {
			return name() + rapid.SampledFrom([]string{":", ":", ":", ":", " :", ""}).Draw(t, "colon") + drawJSON(t, depth+1)
		}) + rapid.SampledFrom([]string{"}", "}", "}", "}", "]", ""}).Draw(t, "closing")
	case 3:
		return "[" + parts(func() string { return drawJSON(t, depth+1) }) + "]"
	}
	return rapid.SampledFrom([]string{"null", "true", "false", "1", "-0.50", "1e3", "01", `"x"`, `"\u0041"`, `"é"`, "nul", ""}).Draw(t, "scalar")
}

// TestAnEditTakesCanonicalValuesAlone: however the codec finds out.
func TestAnEditTakesCanonicalValuesAlone(t *testing.T) {
	takes := func(text string) error {
		_, err := logbook.EncodeEdit(logtest.ClipEdit(1, 1, "note", logbook.Value(text)))
		return err
	}
	for _, text := range []string{`{"a":1,"b":{"c":"x","d":[]}}`, `[1,[null,true],{"a b":-0.50,"a!":"y","é":{}}]`, `{"":"\"","a":"é"}`} {
		canonical, err := logbook.ParseValue(text)
		if refused := takes(string(canonical)); err != nil || refused != nil {
			t.Errorf("%s: got %v and %v, want it taken", text, err, refused)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		text := drawJSON(t, 0)
		canonical, err := logbook.ParseValue(text)
		if refused := takes(text); (refused == nil) != (err == nil && string(canonical) == text) {
			t.Fatalf("%s: got %v; its canonical form is %s (%v)", text, refused, canonical, err)
		}
	})
}
