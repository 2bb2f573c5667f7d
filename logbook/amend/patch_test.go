package amend_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/amend"
	"evenwhite/logbook/amendtest"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/logtest"
)

const tintDial = `{"min":-10,"max":10,"step":1,"plusIs":"green"}`

func TestARecordsObject(t *testing.T) {
	t.Run("nests what has slashes and keeps numbers as typed", func(t *testing.T) {
		d := amendtest.New(t)
		v := d.Body(`,"tint":` + tintDial + `,"kelvinValues":[3200.0,56e2],"presets":{"sun":{"name":"sun","kelvin":5600}},"tintZero":null`)
		got := string(amend.Object(v))
		want := `{"changedAt":"2026-03-04T04:53:20.000Z","id":"` + v.ID.String() + `","kelvinValues":[3200.0,56e2],"kind":"body","label":"b1",` +
			`"madeAt":"2026-03-04T04:53:20.000Z","madeBy":"phone 1","presets":{"sun":{"kelvin":5600,"name":"sun"}},"production":"` + logtest.Production.String() +
			`","timecode":"timeOfDay","tint":{"max":10,"min":-10,"plusIs":"green","step":1},"whiteModes":["kelvin"]}`
		if got != want {
			t.Errorf("got  %s\nwant %s", got, want)
		}
		if _, changes := d.Patch(v, got); len(changes) != 0 {
			t.Errorf("its own object as a patch: got %d changes, want none", len(changes))
		}
	})
	t.Run("lists values in conflict, and is settled by a patch", func(t *testing.T) {
		d := amendtest.New(t)
		v := d.Body("")
		over := logbook.Replace(v, "label", `"b2"`)
		d.Apply(logbook.Draft{Kind: kinds.Body, Record: v.ID, Set: []logbook.Change{over}})
		d.Line, d.Now = 2, d.Now+1
		over.Value = `"b3"`
		d.Apply(logbook.Draft{Kind: kinds.Body, Record: v.ID, Set: []logbook.Change{over}})
		v = d.View(v.ID)
		conflict := string(amend.Object(v).Member("conflicts"))
		for _, want := range []string{
			`"field":"label"`, `"kind":"values"`, `"value":"b2"`, `"value":"b3"`, `"by":"phone 2"`, `"dot":"` + logtest.Line(2).String() + `.1"`,
			`"correctedAt":"2026-03-04T04:53:20.001Z"`,
		} {
			if !strings.Contains(conflict, want) {
				t.Errorf("got %s, want it to contain %s", conflict, want)
			}
		}
		v, changes := d.Patch(v, `{"label":"b3"}`)
		if len(changes) != 1 || len(changes[0].Over) != 2 || len(v.Conflicts()) != 0 || v.Text("label") != "b3" {
			t.Errorf("after settling: got %v and %s", changes, amend.Object(v))
		}
	})
}

func TestAPatch(t *testing.T) {
	d := amendtest.New(t)
	v := d.Body(`,"tint":` + tintDial + `,"presets":{"sun":{"name":"sun","kelvin":5600},"lamp":{"name":"lamp","kelvin":3200}}`)
	t.Run("clears with null", func(t *testing.T) {
		v, _ = d.Patch(v, `{"presets":{"lamp":null}}`)
		if got := v.Keys("presets"); len(got) != 1 || got[0] != "sun" {
			t.Errorf("got presets %v", got)
		}
		if v, changes := d.Patch(v, `{"presets":null,"tintZero":null}`); len(changes) != 1 || len(v.Keys("presets")) != 0 {
			t.Errorf("got %v", changes)
		}
	})
	t.Run("merges into a group and writes it whole", func(t *testing.T) {
		v, changes := d.Patch(v, `{"tint":{"duvPerUnit":0.001,"step":0.5}}`)
		if got := v.Value("tint"); got != `{"duvPerUnit":0.001,"max":10,"min":-10,"plusIs":"green","step":0.5}` || len(changes) != 1 {
			t.Errorf("got %s", got)
		}
	})
	t.Run("keeps members that only a newer version knows", func(t *testing.T) {
		d.Apply(logbook.Draft{
			Kind: kinds.Body, Record: v.ID,
			Set: []logbook.Change{logbook.Replace(d.View(v.ID), "tint", `{"aura":1,"max":10,"min":-10,"plusIs":"green","step":1}`)},
		})
		v, _ := d.Patch(d.View(v.ID), `{"tint":{"step":2}}`)
		if got := v.Value("tint"); got != `{"aura":1,"max":10,"min":-10,"plusIs":"green","step":2}` {
			t.Errorf("got %s", got)
		}
	})
	t.Run("replaces a form by one of another sort, and merges into one of the same", func(t *testing.T) {
		lamp := d.Make(kinds.Lamp, `{"name":"panel","family":"twoColorLed","kelvinDial":{"as":"range","min":2700,"max":6500,"step":100}}`)
		lamp, _ = d.Patch(lamp, `{"kelvinDial":{"step":50}}`)
		if got := lamp.Value("kelvinDial"); got != `{"as":"range","max":6500,"min":2700,"step":50}` {
			t.Errorf("got %s", got)
		}
		lamp, _ = d.Patch(lamp, `{"kelvinDial":{"as":"list","values":[3200,5600]}}`)
		if got := lamp.Value("kelvinDial"); got != `{"as":"list","values":[3200,5600]}` {
			t.Errorf("got %s", got)
		}
	})
	t.Run("of an equal decimal makes no change", func(t *testing.T) {
		if _, changes := d.Patch(d.View(v.ID), `{"tint":{"step":2.0,"max":1e1}}`); len(changes) != 0 {
			t.Errorf("got %v", changes)
		}
	})
}

func TestObjectsAreRefusedWithEveryFault(t *testing.T) {
	d := amendtest.New(t)
	body := d.Body(`,"tint":` + tintDial)
	reading := d.Make(kinds.Reading, `{"measured":{"as":"xy","x":0.44,"y":0.40},"takenAt":"2026-03-04T05:06:07Z","of":{"as":"everything"}}`)
	for _, c := range []struct {
		name  string
		of    *logbook.View // nil: a new record of kind
		kind  logbook.Kind
		body  string
		wants []string
	}{
		{"missing and bad fields at once", nil, kinds.Take, `{"number":0,"aura":1}`,
			[]string{"setUp is missing; allowed is the id of a setUp", "number is 0; allowed", "aura is 1; allowed is no field of this name, but endedAt, number, series, setUp"}},
		{"an unknown kind", nil, "dolly", `{}`, []string{`kind is "dolly"; allowed is one of production, day`}},
		{"a list", nil, kinds.Take, `[]`, []string{"the object is []; allowed is a JSON object"}},
		{"another kind in the body", nil, kinds.Meter, `{"kind":"lamp","name":"m","meterKind":"other"}`, []string{`kind is "lamp"`}},
		{"a name with a slash", nil, kinds.SetUp, `{"cameras/x/lens":"35"}`, []string{"cameras/x/lens is \"35\"; allowed is no field of this name"}},
		{"an unknown entry member", nil, kinds.SetUp, `{"cameras":{` + logtest.SomeID + `:{"aura":1}}}`, []string{"/aura is 1; allowed is no field of this name, but filters, inUse, lens"}},
		{"a key that is no id", nil, kinds.SetUp, `{"cameras":{"A":{"inUse":true}}}`, []string{`cameras/A is {"inUse":true}; allowed is a key that is the id`}},
		{"a key that is no role", nil, kinds.SetUp, `{"limits":{"sun":{"mired":1}}}`, []string{"limits/sun is", "a key that is one of camera, key, fill"}},
		{"a map that is a text", nil, kinds.SetUp, `{"cameras":"A"}`, []string{`cameras is "A"; allowed is an object of keys, each the id`}},
		{"an unknown member of a group", nil, kinds.Body, `{"tint":{"aura":1,"min":0,"max":1,"step":1,"plusIs":"green"}}`, []string{"tint/aura is 1", "label is missing"}},
		{"who made it", nil, kinds.Meter, `{"madeBy":"x","name":"m","meterKind":"other"}`, []string{`madeBy is "x"; allowed is none`}},
		{"a required field cleared", &body, "", `{"label":null}`, []string{"label is null; allowed is a text of 1 to 80 characters, for it is required"}},
		{"a fact changed", &reading, "", `{"measured":{"x":0.45}}`, []string{"measured is {\"x\":0.45}; allowed is what it was", "make a new one and strike this one out"}},
		{"a fact added later", &reading, "", `{"illuminance":{"value":500,"unit":"lux"}}`, []string{"make a new one and strike this one out"}},
		{"an id changed", &body, "", `{"id":` + logtest.SomeID + `}`, []string{"id is \"018f6d2a", "allowed is what it was"}},
		{"deleted", &body, "", `{"deleted":true}`, []string{"strike the record out"}},
		{"an answer to a twin", &body, "", `{"same":{` + logtest.SomeID + `:"one"}}`, []string{"answer the twins instead"}},
		{"a group broken by its patch", &body, "", `{"tint":{"step":null}}`, []string{"tint/step is missing"}},
		{"an unknown member in a patch", &body, "", `{"tint":{"aura":1}}`, []string{"tint/aura is 1; allowed is no member of this name"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			v, err := logbook.ParseValue(c.body)
			if err != nil {
				t.Fatal(err)
			}
			if c.of != nil {
				_, err = amend.Patch(*c.of, v)
			} else {
				_, err = amend.Changes(c.kind, v)
			}
			var all amend.Errors
			var one *logbook.FieldError
			if !errors.As(err, &all) || !errors.As(err, &one) {
				t.Fatalf("got %v, want errors about fields", err)
			}
			for _, want := range c.wants {
				if !strings.Contains(err.Error(), want) {
					t.Errorf("got %v, want it to contain %q", err, want)
				}
			}
		})
	}
}

func TestAnObjectFullOfFaultsIsAnsweredInBoundedRoom(t *testing.T) {
	var object strings.Builder
	object.WriteString(`{"name":"x"`)
	for i := range 20000 {
		fmt.Fprintf(&object, `,"a%d":%d`, i, i)
	}
	v, err := logbook.ParseValue(object.String() + "}")
	if err != nil {
		t.Fatal(err)
	}
	d := amendtest.New(t)
	_, made := amend.Changes(kinds.Meter, v)
	_, patched := amend.Patch(d.Body(""), v)
	for _, err := range []error{made, patched} {
		var all amend.Errors
		if !errors.As(err, &all) || len(all) == 0 || len(all) > 100 || len(err.Error()) > 100000 {
			t.Errorf("got %d faults in %d bytes, want the first hundred of 20000", len(all), len(err.Error()))
		}
	}
}
