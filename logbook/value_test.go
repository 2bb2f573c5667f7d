package logbook_test

import (
	"encoding/json"
	"testing"

	"evenwhite/logbook"
)

func TestValuesAreEqual(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want bool
	}{
		{`1.50`, `1.5`, true}, {`15e-1`, `1.5`, true}, {`0`, `-0.00`, true}, {`1`, `1.0000000000000000000001`, false},
		{`"1"`, `1`, false}, {`null`, `0`, false}, {`{"x":0.40,"y":1}`, `{"x":0.4,"y":1.0}`, true}, {`{"x":1}`, `{"y":1}`, false},
		{`[1,2]`, `[1.0,2]`, true}, {`[1,2]`, `[2,1]`, false}, {`[]`, `{}`, false}, {`1e400`, `1e401`, false}, {`100`, `1e2`, true},
	} {
		if got := logbook.Value(c.a).Equal(logbook.Value(c.b)); got != c.want {
			t.Errorf("%s equal to %s: got %v, want %v", c.a, c.b, got, c.want)
		}
	}
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
