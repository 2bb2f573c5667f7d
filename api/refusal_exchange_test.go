package api

import (
	"strings"
	"testing"
)

// What a device brings is refused as a whole where it is not in the form of
// edits: the detail names what is wrong, what stands there and what may.
func TestWrongExchangesAreRefusedInWordsAndChangeNothing(t *testing.T) {
	g := setStage(t)
	changed := func(old, new string) string {
		t.Helper()
		text := strings.Replace(editOfTake, old, new, 1)
		if text == editOfTake {
			t.Fatalf("%s is not in the edit", old)
		}
		return `{"edits":[` + text + `]}`
	}
	for _, c := range []struct {
		name, body string
		says       []string
	}{
		{"an edit of another production", changed("$production", "$gel"), []string{"edit 0", "production", "$gel", "allowed is $production"}},
		{"a record that is no id", changed(`"$take"`, `"seven"`), []string{"edits/0/record", "seven", "UUID"}},
		{"a line that is too short", changed("00c0ffee00c0ffee", "00c0ffee"), []string{"edits/0/line", "00c0ffee", "^[0-9a-f]{16}$"}},
		{"a number that is a text", changed(`"n":1`, `"n":"1"`), []string{"edits/0/n", `"1"`, "integer"}},
		{"a time with a zone", changed("06:20:00Z", "07:20:00+01:00"), []string{"edits/0", "at is", "07:20:00+01:00", "UTC"}},
		{"a time that is finer than is kept", changed("06:20:00Z", "06:20:00.0001Z"), []string{"edits/0", "at is", "06:20:00.0001Z", "three decimals"}},
		{"a set of nothing", changed(`{"wanted":true}`, `{}`), []string{"edits/0/set", "{}", "properties"}},
		{"a set that is a list", changed(`{"wanted":true}`, `[true]`), []string{"edits/0/set", "[true]", "object"}},
		{"an over of a field that is not set", changed(`"set":`, `"over":{"number":["00c0ffee00c0ffee.1"]},"set":`), []string{"edits/0", "over", "number", "which set does not set"}},
		{"an over of what is no dot", changed(`"set":`, `"over":{"wanted":["first"]},"set":`), []string{"edits/0/over/wanted/0", "first", "[0-9a-f]{16}"}},
		{"an act that is no dot", changed(`"set":`, `"act":"first","set":`), []string{"edits/0/act", "first", "[0-9a-f]{16}"}},
		{"a cursor that this service never gave", `{"cursor":"xyz"}`, []string{"cursor is", "xyz", "allowed is one that this service gave"}},
		{"a limit with an exponent", `{"limitBytes":1e3}`, []string{"limitBytes is 1e3", "digits"}},
		{"a span with an exponent", `{"have":{"00c0ffee00c0ffee":[[1,1e3]]}}`, []string{"have", "1e3", "digits"}},
		{"a good edit beside a wrong one", `{"edits":[` + editOfTake + "," + strings.Replace(editOfTake, `"n":1`, `"n":0`, 1) + `]}`, []string{"edits/1/n is 0", "at least 1"}},
		{"a good edit beside one at no time", `{"edits":[` + editOfTake + "," + strings.Replace(editOfTake, "06:20:00Z", "06:20:00+00:00", 1) + `]}`, []string{"edits/1", "at is", "06:20:00+00:00", "UTC"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			before := g.head()
			r := g.ask("POST", g.base+"/exchange", g.fill(c.body))
			p := r.problem()
			if r.status != 400 {
				t.Errorf("got %d, want 400: %s", r.status, r.body)
			}
			for _, part := range c.says {
				if part = g.fill(part); !strings.Contains(p.Detail, part) {
					t.Errorf("the detail does not say %s: %s", part, p.Detail)
				}
			}
			if g.head() != before {
				t.Error("the log changed")
			}
		})
	}
	t.Run("a unit that is none", func(t *testing.T) {
		body := `{"measured":{"as":"xy","x":0.3,"y":0.3},"illuminance":{"value":640,"unit":"lx"},"takenAt":"2031-03-04T06:20:00Z","of":{"as":"everything"}}`
		if p := g.ask("POST", g.base+"/records/reading", body).want(400).problem(); !says(p, "illuminance/unit", "lx", "footCandle") {
			t.Errorf("got %+v", p.Errors)
		}
	})
}
