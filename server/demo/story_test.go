package demo

import (
	"strings"
	"testing"
	"testing/fstest"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
)

// A mistake in the data is named with its file and line.
func TestMistakesInTheDataAreRefused(t *testing.T) {
	const begun = `{"phone": "DIT", "behindMs": 0}
{"phone": "gaffer", "behindMs": 0}
{"date": "2026-03-04"}
{"by": "DIT", "at": "06:40:00", "make": "day/1", "fields": {"number": 1, "date": "2026-03-04"}}
`
	for _, c := range []struct{ name, line, want string }{
		{"a member that nothing knows", `{"by": "DIT", "at": "07:00:00", "mkae": "day/2", "fields": {"number": 2}}`, `no line has the members "at by fields mkae"`},
		{"a member in capitals", `{"by": "DIT", "at": "07:00:00", "Make": "day/2", "fields": {"number": 2}}`, `no line has the members "Make at by fields"`},
		{"a field that records lack", `{"by": "DIT", "at": "07:00:00", "make": "day/2", "fields": {"wether": "sun"}}`, `day/2: there is no field "wether"`},
		{"a value that it cannot have", `{"by": "DIT", "at": "07:00:00", "make": "day/2", "fields": {"number": "two"}}`, `day/2: `},
		{"a member that it cannot have", `{"by": "DIT", "at": "07:00:00", "make": "note/1", "fields": {"about": "#day/1", "text": "rain", "to": {"as": "post", "too": 1}}}`, `note/1: `},
		{"a field of two values", `{"by": "DIT", "at": "07:00:00", "make": "day/2", "fields": {"number": 2, "number": 3}}`, `day/2: `},
		{"no fields", `{"by": "DIT", "at": "07:00:00", "make": "day/2"}`, `no line has the members "at by make"`},
		{"fields that are a list", `{"by": "DIT", "at": "07:00:00", "make": "day/2", "fields": ["sun"]}`, `day/2: it has no fields`},
		{"a name of no kind", `{"by": "DIT", "at": "07:00:00", "make": "dya/2", "fields": {"number": 2}}`, `dya/2: there is no such kind`},
		{"no name", `{"by": "DIT", "at": "07:00:00", "make": "Day 2", "fields": {"number": 2}}`, `Day 2: there is no such kind`},
		{"a name made twice", `{"by": "DIT", "at": "07:00:00", "make": "day/1", "fields": {"number": 2}}`, `day/1: it is made twice`},
		{"a name made twice by two phones", `{"by": "gaffer", "at": "07:00:00", "make": "day/1", "fields": {"number": 2}}`, `day/1: it is made twice`},
		{"a change of nothing", `{"by": "DIT", "at": "07:00:00", "change": "day/2", "fields": {"number": 2}}`, `day/2: it is made twice, or changed before`},
		{"a change of what the phone has not seen", `{"by": "gaffer", "at": "07:00:00", "change": "day/1", "fields": {"number": 2}}`, `day/1: it is made twice, or changed before`},
		{"a reference to nothing", `{"by": "DIT", "at": "07:00:00", "make": "note/1", "fields": {"about": "#day/2", "text": "rain", "to": {"as": "post"}}}`, `#day/2 is never made`},
		{"an unknown phone", `{"by": "grip", "at": "07:00:00", "make": "day/2", "fields": {"number": 2}}`, `day/2: there is no phone "grip"`},
		{"an unknown phone in a meeting", `{"meet": ["DIT", "grip"], "at": "07:00:00"}`, `there is no phone "grip"`},
		{"an edit that nobody else sees", `{"by": "DIT", "at": "07:00:00", "make": "day/2", "fields": {"number": 2}}`, `DIT has edits that no meeting follows`},
		{"no time of day", `{"by": "DIT", "at": "7 am", "make": "day/2", "fields": {"number": 2}}`, `parsing time`},
		{"no time", `{"by": "DIT", "make": "day/2", "fields": {"number": 2}}`, `no line has the members "by fields make"`},
		{"two events", `{"note": "rain", "date": "2026-03-05"}`, `no line has the members "date note"`},
		{"no event", `{"by": "DIT"}`, `no line has the members "by"`},
		{"two objects", `{"note": "rain"} {"note": "sun"}`, `invalid character`},
		{"an empty line", "\n" + `{"note": "rain"}`, `unexpected end`},
	} {
		t.Run(c.name, func(t *testing.T) {
			l, err := logbook.OpenLog(logbook.NewMemory(), Production, kinds.Rules, func() logbook.Line { return logbook.Line{1} })
			if err != nil {
				t.Fatal(err)
			}
			err = fill(l, fstest.MapFS{"x.jsonl": {Data: []byte(begun + c.line + "\n")}}, calendar{zone: zoneOf(1)})
			if err == nil || !strings.HasPrefix(err.Error(), "x.jsonl:5: "+c.want) {
				t.Errorf("got %v, want x.jsonl:5: %s…", err, c.want)
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
