package demo

import (
	"strings"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
)

// A mistake in the data is named with its file and line.
func TestMistakesInTheDataAreRefused(t *testing.T) {
	const begun = `{"phone": {"name": "DIT", "behindMs": 0}}
{"date": "2026-03-04"}
{"by": "DIT", "at": "06:40", "make": "day/1", "fields": {"number": 1, "date": "2026-03-04"}}
`
	for _, c := range []struct{ name, line, want string }{
		{"a member that nothing knows", `{"by": "DIT", "mkae": "day/2"}`, `x.jsonl:4: json: unknown field "mkae"`},
		{"the same within an event", `{"by": "DIT", "read": {"name": "reading/1", "luxx": 3}}`, `x.jsonl:4: json: unknown field "luxx"`},
		{"a field that records lack", `{"by": "DIT", "make": "day/2", "fields": {"wether": "sun"}}`, `x.jsonl:4: day/2: there is no field "wether"`},
		{"a value that it cannot have", `{"by": "DIT", "make": "day/2", "fields": {"number": "two"}}`, `x.jsonl:4: day/2: `},
		{"a member that it cannot have", `{"by": "DIT", "make": "note/1", "fields": {"about": "#day/1", "text": "rain", "to": {"as": "post", "too": 1}}}`, `x.jsonl:4: note/1: `},
		{"a field of two values", `{"by": "DIT", "make": "day/2", "fields": {"number": 2, "number": 3}}`, `x.jsonl:4: the fields of day/2: `},
		{"a field that the event gives", `{"by": "DIT", "shoot": {"take": "take/1", "number": 1}, "fields": {"number": 2}}`, `x.jsonl:4: the fields of take/1: `},
		{"no fields", `{"by": "DIT", "make": "day/2"}`, `x.jsonl:4: the fields of day/2: `},
		{"fields that are a list", `{"by": "DIT", "read": {"name": "reading/1", "measured": {}, "lux": 1}, "fields": ["sun"]}`, `x.jsonl:4: the fields of reading/1: `},
		{"a name of no kind", `{"by": "DIT", "make": "dya/2", "fields": {"number": 2}}`, `x.jsonl:4: dya/2: there is no kind`},
		{"no name", `{"by": "DIT", "make": "Day 2", "fields": {"number": 2}}`, `x.jsonl:4: Day 2: there is no kind`},
		{"a name made twice", `{"by": "DIT", "make": "day/1", "fields": {"number": 2}}`, `x.jsonl:4: day/1 is made twice`},
		{"a change of nothing", `{"by": "DIT", "change": "day/2", "fields": {"number": 2}}`, `x.jsonl:4: day/2 is made twice, or changed before`},
		{"a reference to nothing", `{"by": "DIT", "make": "note/1", "fields": {"about": "#day/2", "text": "rain", "to": {"as": "post"}}}`, `x.jsonl:4: #day/2 is never made`},
		{"an unknown phone", `{"by": "gaffer", "make": "day/2", "fields": {"number": 2}}`, `x.jsonl:4: there is no phone "gaffer"`},
		{"an unknown phone in a meeting", `{"meet": ["DIT", "gaffer"]}`, `x.jsonl:4: there is no phone "gaffer"`},
		{"no time", `{"by": "DIT", "at": "7 am", "make": "day/2", "fields": {"number": 2}}`, `x.jsonl:4: parsing time`},
		{"two events", `{"note": "rain", "date": "2026-03-05"}`, `x.jsonl:4: got 2 events`},
		{"no event", `{"by": "DIT"}`, `x.jsonl:4: got 0 events`},
		{"a meeting that has a time", `{"meet": ["DIT"], "at": "07:00"}`, `x.jsonl:4: by, at and fields belong to an edit`},
		{"a camera without a card", `{"by": "DIT", "shoot": {"kind": "chart", "clips": {"A": {"kelvin": 5600}}}}`, `x.jsonl:4: camera "A" has no card`},
		{"fields of no take", `{"by": "DIT", "shoot": {"kind": "chart"}, "fields": {"sky": "sun"}}`, `x.jsonl:4: there is no take`},
		{"two objects", `{"note": "rain"} {"note": "sun"}`, `x.jsonl:4: something follows`},
		{"an empty line", "\n" + `{"note": "rain"}`, `x.jsonl:4: EOF`},
	} {
		t.Run(c.name, func(t *testing.T) {
			l, err := logbook.OpenLog(logbook.NewMemory(), Production, kinds.Rules, func() logbook.Line { return logbook.Line{1} })
			if err != nil {
				t.Fatal(err)
			}
			s := newStory(l)
			if err = s.read("x.jsonl", []byte(begun+c.line+"\n")); err == nil {
				err = s.end()
			}
			if err == nil || !strings.HasPrefix(err.Error(), c.want) {
				t.Errorf("got %v, want %s…", err, c.want)
			}
		})
	}
}

func TestTheDemoHasARecordOfEveryKind(t *testing.T) {
	demoLog(t).Read(func(b *logbook.Book) {
		for _, spec := range kinds.Specs {
			if len(b.Records(spec.Kind)) == 0 {
				t.Errorf("the demo has no %s", spec.Kind)
			}
		}
		for _, spec := range kinds.Specs {
			for _, v := range b.Records(spec.Kind) {
				for _, f := range spec.Fields {
					if f.Required && v.Value(f.Name) == "" {
						t.Errorf("%s %s has no %s, which is required", spec.Kind, v.ID, f.Name)
					}
				}
			}
		}
	})
}
