package kinds_test

import (
	"errors"
	"strings"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/logtest"
)

// judged is an edit of one field, the third of its line.
func judged(kind logbook.Kind, field string, value logbook.Value, over ...logbook.Dot) *logbook.Edit {
	return &logbook.Edit{Production: logtest.Production, Record: logtest.ID(2), Device: logtest.ID(3), Kind: kind, Dot: logtest.Dot(1, 3),
		At: 1, By: "A", Set: []logbook.Change{{Field: field, Value: value, Over: over}}}
}

func TestJudgeRefusesWhatIsImpossible(t *testing.T) {
	other := logtest.Dot(2, 9)
	many := make([]logbook.Dot, kinds.MaxNames+1)
	for i := range many {
		many[i] = logtest.Dot(2, uint64(i+1))
	}
	for _, c := range []struct {
		name, kind, field, value string
		over                     []logbook.Dot
		want                     string
	}{
		{"a kelvin below zero", "clip", "kelvin", `-3`, nil, "kelvin is -3; allowed is a number from 1000 to 25000 K"},
		{"a kelvin a hair too high", "clip", "kelvin", `25000.000000000000000001`, nil, "kelvin is 25000.000000000000000001; allowed is a number from 1000"},
		{"a kelvin with a huge exponent", "clip", "kelvin", `1e400`, nil, "kelvin is 1e400; allowed is a number from"},
		{"a kelvin that vanishes", "clip", "kelvin", `1e-400`, nil, "kelvin is 1e-400; allowed is a number from"},
		{"a kelvin as text", "clip", "kelvin", `"5600"`, nil, `kelvin is "5600"; allowed is a number from`},
		{"a kelvin as flag", "clip", "kelvin", `true`, nil, "kelvin is true; allowed is a number"},
		{"a kelvin as list", "clip", "kelvin", `[5600]`, nil, "kelvin is [5600]; allowed is a number"},
		{"a part of a half", "clip", "part", `1.5`, nil, "part is 1.5; allowed is a whole number from 1 to 99"},
		{"a part with a long fraction", "clip", "part", `1.0000000000000000000001`, nil, "part is 1.0000"},
		{"take number zero", "take", "number", `0`, nil, "number is 0; allowed is a whole number from 1 to 999"},
		{"take number a thousand", "take", "number", `1000`, nil, "number is 1000; allowed"},
		{"an unknown mode", "clip", "whiteMode", `"magic"`, nil, `whiteMode is "magic"; allowed is one of kelvin, preset`},
		{"a choice as number", "clip", "timecode/rate", `24`, nil, `timecode/rate is 24; allowed is one of 23.976, 24`},
		{"a flag as text", "clip", "rolled", `"yes"`, nil, `rolled is "yes"; allowed is true or false`},
		{"an empty title", "production", "title", `" "`, nil, `title is " "; allowed is a text of 1 to 200 characters`},
		{"a bell in a title", "production", "title", `"Night\u0007 Ferry"`, nil, "with no control characters"},
		{"x and y beyond a light", "reading", "measured", `{"as":"xy","x":0.9,"y":0.9}`, nil, "adds up with x, which is 0.9, to at most 1"},
		{"a title as number", "production", "title", `7`, nil, `title is 7; allowed is a text`},
		{"a long letter", "camera", "letter", `"ABCD"`, nil, `letter is "ABCD"; allowed is a text of 1 to 3 characters`},
		{"a short name with a space", "production", "shortName", `"a b"`, nil, "allowed is a text of 1 to 16 letters, digits and -"},
		{"a short name of 17 letters", "production", "shortName", `"abcdefghijklmnopq"`, nil, "allowed is a text of 1 to 16"},
		{"an empty short name", "production", "shortName", `""`, nil, "allowed is a text of 1 to 16"},
		{"a time zone with a space", "production", "timeZone", `"Central Europe"`, nil, "an IANA time zone"},
		{"a time zone that ends early", "production", "timeZone", `"Europe/"`, nil, "an IANA time zone"},
		{"a time zone as offset", "production", "timeZone", `"+01:00"`, nil, "an IANA time zone"},
		{"30 February", "day", "date", `"2026-02-30"`, nil, `date is "2026-02-30"; allowed is a date`},
		{"29 February of a common year", "day", "date", `"2100-02-29"`, nil, "allowed is a date"},
		{"month 13", "day", "date", `"2026-13-01"`, nil, "allowed is a date"},
		{"a date with a time", "day", "date", `"2026-03-04T00:00:00Z"`, nil, "allowed is a date"},
		{"a time without zone", "take", "startedAt", `"2026-03-04T05:06:07"`, nil, "allowed is an RFC 3339 time"},
		{"a time with a comma", "take", "startedAt", `"2026-03-04T05:06:07,5Z"`, nil, "allowed is an RFC 3339 time"},
		{"hour 24", "take", "startedAt", `"2026-03-04T24:00:00Z"`, nil, "allowed is an RFC 3339 time"},
		{"an offset of a day", "take", "startedAt", `"2026-03-04T05:06:07+24:00"`, nil, "allowed is an RFC 3339 time"},
		{"a time before 1970", "take", "startedAt", `"1969-12-31T23:59:59Z"`, nil, "allowed is an RFC 3339 time"},
		{"a reference to a name", "take", "setUp", `"12A"`, nil, "the id of a setUp"},
		{"a reference to nothing", "take", "setUp", `"00000000-0000-0000-0000-000000000000"`, nil, "the id of a setUp"},
		{"a reference in capitals", "take", "setUp", `"018F6D2A-0000-7000-8000-000000000001"`, nil, "lower-case"},
		{"a timecode of minute 60", "clip", "timecode/start", `"10:60:00:00"`, nil, "timecode/start is"},
		{"a timecode with a dot", "clip", "timecode/start", `"10:20:00.00"`, nil, "a timecode hh:mm:ss:ff"},
		{"a group as number", "body", "tint", `3`, nil, "tint is 3; allowed is an object of min, max, step"},
		{"a group without a member", "body", "tint", `{"min":-10,"max":10,"plusIs":"green"}`, nil, "tint/step is missing; allowed is a number from 0.01 to 100 units"},
		{"a group with a bad member", "body", "tint", `{"min":-10,"max":10,"step":0,"plusIs":"green"}`, nil, "tint/step is 0; allowed"},
		{"a group with a null member", "body", "tint", `{"max":10,"min":null,"plusIs":"green","step":1}`, nil, "tint/min is null; allowed"},
		{"a dial that ends before it begins", "body", "tint", `{"max":-10,"min":10,"plusIs":"green","step":1}`, nil, "tint/max is -10; allowed is a number not less than min, which is 10"},
		{"an entry of a map", "setUp", "cameras/x1/plannedKelvin", `9e9`, nil, "cameras/x1/plannedKelvin is 9e9"},
		{"a group in a map", "body", "presets/day", `{"name":"sun"}`, nil, "presets/day/kelvin is missing"},
		{"an item of a list", "body", "kelvinValues", `[3200,999]`, nil, "kelvinValues/1 is 999; allowed is a number from 1000 to 25000 K"},
		{"too many items", "body", "whiteModes", `["kelvin","kelvin","kelvin","kelvin","kelvin","kelvin"]`, nil, "a list of 1 to 5 items"},
		{"no item where one is needed", "body", "whiteModes", `[]`, nil, "a list of 1 to 5 items"},
		{"a list as object", "body", "whiteModes", `{}`, nil, "whiteModes is {}; allowed is a list"},
		{"a form without as", "reading", "measured", `{"x":0.3,"y":0.3}`, nil, "measured/as is missing; allowed is one of cctDuv, cctCc, xy"},
		{"a form of another sort", "reading", "measured", `{"as":"lab"}`, nil, `measured/as is "lab"; allowed is one of cctDuv`},
		{"a form with a bad member", "reading", "measured", `{"as":"cctDuv","cctKelvin":3200,"duv":0.06}`, nil, "measured/duv is 0.06; allowed is a number from -0.05 to 0.05 Duv"},
		{"wavelengths that fall", "reading", "measured", `{"as":"spectrum","values":[1,1],"wavelengthsNm":[400,390]}`, nil, "measured/wavelengthsNm is 390"},
		{"a value too few", "reading", "measured", `{"as":"spectrum","values":[1],"wavelengthsNm":[400,410]}`, nil, "as many values as wavelengthsNm"},
		{"a code beyond its bits", "sample", "rgb", `{"as":"codeValues","b":100,"bits":8,"encoding":"log","g":300,"primaries":"camera","r":100,"range":"full"}`, nil, "rgb/g is 300; allowed is a code value from 0 to 255"},
		{"a black patch", "sample", "rgb", `{"as":"codeValues","b":20,"bits":8,"encoding":"log","g":20,"primaries":"camera","r":20,"range":"narrow"}`, nil, "5 to 90 %"},
		{"a burnt patch", "sample", "rgb", `{"as":"percent","b":95,"encoding":"sRGB","g":95,"primaries":"bt709","r":95}`, nil, "5 to 90 %"},
		{"a fact that is cleared", "reading", "takenAt", `null`, nil, "a fact is never cleared"},
		{"a fact that is replaced", "reading", "takenAt", `"2026-03-04T05:06:07Z"`, []logbook.Dot{other}, "over/takenAt is 1 name; allowed is none"},
		{"deleted as text", "clip", "deleted", `"true"`, nil, `deleted is "true"; allowed is true or false`},
		{"an answer of three", "clip", "same/018f6d2a-0000-7000-8000-000000000009", `"three"`, nil, "allowed is one of one, two"},
		{"a name of itself", "clip", "kelvin", `3200`, []logbook.Dot{logtest.Dot(1, 3)}, "over/kelvin is"},
		{"a name of a later edit of its line", "clip", "kelvin", `3200`, []logbook.Dot{logtest.Dot(1, 4)}, "allowed is an edit made before this one"},
		{"257 names", "clip", "kelvin", `3200`, many, "over/kelvin is 257 names; allowed is at most 256"},
		{"257 names of a field that is not known", "clip", "aura", `3200`, many, "over/aura is 257 names"},
	} {
		t.Run(c.name, func(t *testing.T) {
			v, err := logbook.ParseValue(c.value)
			if err != nil {
				t.Fatal(err)
			}
			err = kinds.Judge(judged(logbook.Kind(c.kind), c.field, v, c.over...))
			var field *logbook.FieldError
			if !errors.As(err, &field) || !strings.Contains(err.Error(), c.want) {
				t.Fatalf("got %v, want a field error with %q", err, c.want)
			}
			if field.Kind != logbook.Kind(c.kind) || field.Allowed == "" {
				t.Errorf("got kind %q, allowed %q", field.Kind, field.Allowed)
			}
		})
	}
}

func TestJudgeTakesWhatIsPossible(t *testing.T) {
	for _, c := range []struct{ name, kind, field, value string }{
		{"the least kelvin", "clip", "kelvin", `1000`},
		{"the greatest kelvin, as a power", "clip", "kelvin", `2.5e4`},
		{"digits nobody asked for", "clip", "kelvin", `3200.00000000000000000000000`},
		{"a whole number as a power", "clip", "part", `1e1`},
		{"minus zero", "clip", "tint", `-0.0`},
		{"a cleared value", "clip", "kelvin", `null`},
		{"an unknown field", "clip", "aura", `{"a":[1]}`},
		{"an unknown kind", "dolly", "kelvin", `-3`},
		{"an unknown member", "body", "tint", `{"aura":7,"max":10,"min":-10,"plusIs":"green","step":1}`},
		{"an unknown member of a form", "reading", "measured", `{"as":"xy","aura":1,"x":0.3,"y":0.3}`},
		{"a text at its limit in characters", "camera", "letter", `"äöü"`},
		{"an empty optional text", "clip", "card", `""`},
		{"a drop-frame timecode", "clip", "timecode/start", `"23:59:59;29"`},
		{"a time with an offset", "take", "startedAt", `"2026-03-04T05:06:07.089-05:30"`},
		{"a leap day", "day", "date", `"2028-02-29"`},
		{"a time zone in three parts", "production", "timeZone", `"America/Argentina/Buenos_Aires"`},
		{"a time zone with a sign", "production", "timeZone", `"Etc/GMT+5"`},
		{"no gels", "light", "planned/gels", `[]`},
		{"an empty group", "reading", "of", `{"as":"everything"}`},
		{"a grey patch", "sample", "rgb", `{"as":"codeValues","b":420,"bits":10,"encoding":"log","g":400,"primaries":"camera","r":410,"range":"narrow"}`},
		{"a fact", "reading", "takenAt", `"2026-03-04T05:06:07Z"`},
		{"struck out", "clip", "deleted", `true`},
		{"brought back", "clip", "deleted", `null`},
		{"an answer to a twin", "clip", "same/018f6d2a-0000-7000-8000-000000000009", `"one"`},
	} {
		t.Run(c.name, func(t *testing.T) {
			v, err := logbook.ParseValue(c.value)
			if err != nil {
				t.Fatal(err)
			}
			if err := kinds.Judge(judged(logbook.Kind(c.kind), c.field, v)); err != nil {
				t.Errorf("got %v, want none", err)
			}
		})
	}
	t.Run("a name of an earlier edit of its line", func(t *testing.T) {
		if err := kinds.Judge(judged(kinds.Clip, "kelvin", "3200", logtest.Dot(1, 2), logtest.Dot(2, 300))); err != nil {
			t.Errorf("got %v, want none", err)
		}
	})
}

func TestJudgeStrictlyRefusesUnknownMembers(t *testing.T) {
	for field, value := range map[string]logbook.Value{
		"tint":         `{"aura":7,"max":10,"min":-10,"plusIs":"green","step":1}`,
		"kelvinRanges": `[{"aura":7,"max":5600,"min":3200,"step":100}]`,
		"clipNameRule": `[{"as":"fixed","aura":7,"text":"A"}]`,
	} {
		f, _ := bodyField(field)
		if err := kinds.JudgeValue(f, value, false); err != nil {
			t.Errorf("%s: got %v, want none", field, err)
		}
		err := kinds.JudgeValue(f, value, true)
		if err == nil || !strings.Contains(err.Error(), "aura is 7; allowed is no member of this name") {
			t.Errorf("%s, strictly: got %v, want aura to be refused", field, err)
		}
	}
}

func bodyField(name string) (*kinds.Field, bool) {
	spec, _ := kinds.Of(kinds.Body)
	return spec.Field(name)
}

func TestRemarksAreNoErrors(t *testing.T) {
	v := logbook.Value(`{"as":"cctDuv","cctKelvin":60000,"duv":0}`)
	if err := kinds.Judge(judged(kinds.Reading, "measured", v)); err != nil {
		t.Fatal(err)
	}
	got := kinds.Remarks(kinds.Reading, []logbook.Change{{Field: "measured", Value: v}, {Field: "aura", Value: "1"}})
	if len(got) != 1 || got[0].String() != "measured/cctKelvin is 60000; usual is a number from 1600 to 20000 K" {
		t.Errorf("got %v", got)
	}
}

func TestJudgeAllocatesNothingForPlainFields(t *testing.T) {
	e := judged(kinds.Clip, "kelvin", "5600.5", logtest.Dot(2, 1))
	e.Set = append(e.Set, logbook.Change{Field: "lens", Value: `"35 mm"`},
		logbook.Change{Field: "rolled", Value: "true"}, logbook.Change{Field: "whiteMode", Value: `"kelvin"`},
		logbook.Change{Field: "setUp", Value: logtest.SomeID}, logbook.Change{Field: "startedAt", Value: `"2026-03-04T05:06:07Z"`})
	if err := kinds.Judge(e); err != nil {
		t.Fatal(err)
	}
	if n := testing.AllocsPerRun(100, func() { _ = kinds.Judge(e) }); n != 0 {
		t.Errorf("got %v allocations, want 0", n)
	}
}

func BenchmarkJudge(b *testing.B) {
	e := judged(kinds.Clip, "kelvin", "5600", logtest.Dot(2, 1))
	for b.Loop() {
		_ = kinds.Judge(e)
	}
}

func FuzzJudgeValue(f *testing.F) {
	for _, seed := range []string{`-3`, `1e400`, `"2026-03-04"`, `{"as":"xy","x":0.3,"y":0.3}`, `[{"as":"fixed","text":"A"}]`,
		`{"min":1,"max":2,"step":1,"plusIs":"green"}`, `{"as":"codeValues","bits":16,"r":1,"g":1,"b":1}`, `[]`, `""`} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		v, err := logbook.ParseValue(text)
		if err != nil {
			return
		}
		for _, spec := range kinds.Specs {
			for i := range spec.Fields {
				row := &spec.Fields[i]
				strict := kinds.JudgeValue(row, v, true)
				loose := kinds.JudgeValue(row, v, false)
				if strict == nil && loose != nil {
					t.Fatalf("%s %s: %s is valid strictly, but else %v", spec.Kind, row.Name, v, loose)
				}
				for _, err := range []error{strict, loose} {
					var field *logbook.FieldError
					if err != nil && (!errors.As(err, &field) || field.Allowed == "" || !strings.HasPrefix(field.Field, row.Name)) {
						t.Fatalf("%s %s: got %v, want a field error of the row", spec.Kind, row.Name, err)
					}
				}
			}
		}
	})
}

// FuzzJudge: whatever an edit holds, it is judged.
func FuzzJudge(f *testing.F) {
	e := judged(kinds.Take, "number", "3", logtest.Dot(2, 9))
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
		var field *logbook.FieldError
		if err := kinds.Judge(e); err != nil && !errors.As(err, &field) {
			t.Fatalf("got %v, want a field error", err)
		}
	})
}
