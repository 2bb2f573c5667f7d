package handset

import (
	"encoding/json"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/review"
	"evenwhite/logbook/slate"
)

// A Form is all that a page needs to let a person enter a record of a kind.
type Form struct {
	Kind   logbook.Kind `json:"kind"`
	Doc    string       `json:"doc"`
	Fields []Row        `json:"fields"`
	// Values are what stands in the fields: of a record what is shown, with the dots that a
	// change names as replaced; of a new one what is carried over.
	Values map[string]Shown `json:"values"`
	Tag    string           `json:"tag,omitempty"` // of the record
}

// A Row is a field, as the table of kinds says it.
type Row struct {
	Name     string         `json:"name"`
	Type     string         `json:"type"`
	Doc      string         `json:"doc,omitempty"`
	Unit     string         `json:"unit,omitempty"`
	Required bool           `json:"required,omitempty"`
	Fact     bool           `json:"fact,omitempty"`
	Default  string         `json:"default,omitempty"`
	Allowed  string         `json:"allowed"`
	Min      string         `json:"min,omitempty"`
	Max      string         `json:"max,omitempty"`
	UsualMin string         `json:"usualMin,omitempty"`
	UsualMax string         `json:"usualMax,omitempty"`
	Longest  int            `json:"longest,omitempty"`
	Pattern  string         `json:"pattern,omitempty"`
	Choices  []string       `json:"choices,omitempty"`
	To       []logbook.Kind `json:"to,omitempty"`
	Members  []Row          `json:"members,omitempty"`
	Forms    []Row          `json:"forms,omitempty"`
	Item     *Row           `json:"item,omitempty"`
}

// Shown is the value of a field. Heads are the dots of all its versions.
type Shown struct {
	Value    json.RawMessage `json:"value"`
	Heads    []string        `json:"heads,omitempty"`
	Conflict bool            `json:"conflict,omitempty"`
	Carried  bool            `json:"carried,omitempty"`
}

var typeNames = map[kinds.Type]string{
	kinds.Text: "text", kinds.Choice: "choice", kinds.Flag: "flag", kinds.Whole: "whole", kinds.Decimal: "decimal", kinds.Date: "date",
	kinds.Instant: "instant", kinds.Reference: "reference", kinds.Group: "group", kinds.Form: "form", kinds.List: "list",
}

func rowOf(f *kinds.Field) Row {
	r := Row{Name: f.Name, Type: typeNames[f.Type], Doc: f.Doc, Unit: f.Unit, Required: f.Required, Fact: f.Fact, Default: f.Default,
		Allowed: kinds.Allowed(f), Min: f.Min, Max: f.Max, UsualMin: f.UsualMin, UsualMax: f.UsualMax, Longest: f.Longest, Pattern: f.Pattern,
		Choices: f.Choices, To: f.To, Members: rowsOf(f.Members), Forms: rowsOf(f.Forms)}
	if f.Item != nil {
		item := rowOf(f.Item)
		r.Item = &item
	}
	return r
}

func rowsOf(fields []kinds.Field) (rows []Row) {
	for i := range fields {
		rows = append(rows, rowOf(&fields[i]))
	}
	return rows
}

// form tells the fields of a kind, or of events, and what stands in them: those of a record,
// or of a new one what is carried over from the last of its kind.
func (e *Engine) form(s *said, _ []byte) (any, []byte, error) {
	kind, record, like := s.kind(), s.optional("record"), s.optional("like")
	if err := s.fault(); err != nil {
		return nil, nil, err
	}
	f := Form{Kind: kind, Values: map[string]Shown{}}
	if kind == "event" {
		f.Doc, f.Fields = "something that happened while takes are logged", rowsOf(slate.Fields)
		return &f, nil, nil
	}
	spec, ok := kinds.Of(kind)
	if !ok {
		s.wrong("kind", logbook.TextValue(string(kind)), "a kind of record, or event")
		return nil, nil, s.fault()
	}
	f.Doc, f.Fields = spec.Doc, rowsOf(spec.Fields)
	switch {
	case !record.IsZero():
		v, err := review.Find(e.book(), kind, record)
		if err != nil {
			return nil, nil, err
		}
		f.Tag, f.Values = v.ETag(), shownOf(v)
	case !like.IsZero():
		v, err := review.Find(e.book(), kind, like)
		if err != nil {
			return nil, nil, err
		}
		for name, value := range v.Values() {
			if field, ok := spec.Field(name); ok && !field.Fact && name != logbook.DeletedField {
				f.Values[name] = Shown{Value: json.RawMessage(value), Carried: true}
			}
		}
	default:
		e.carry(kind, f.Values)
	}
	return &f, nil, nil
}

func shownOf(v logbook.View) map[string]Shown {
	out := map[string]Shown{}
	for _, f := range v.Fields() {
		shown := Shown{Value: json.RawMessage(f.Shown.Value), Conflict: f.Conflict}
		for _, h := range f.Heads {
			shown.Heads = append(shown.Heads, h.Dot.String())
		}
		out[f.Name] = shown
	}
	return out
}

// carriedOver are the fields of a new record that are mostly as they were last.
var carriedOver = map[logbook.Kind][]string{
	kinds.Reading: {"meter", "setUp", "position", "sky"},
	kinds.SetUp:   {"day", "scene", "unit", "place"},
	kinds.White:   {"decidedBy", "judgedOn"},
	kinds.Sample:  {"camera", "body", "patch", "readAt", "glass", "recordingMode"},
}

// carry fills in what is as it was in the record of the kind that this device made last, else
// in the last that anybody made.
func (e *Engine) carry(kind logbook.Kind, into map[string]Shown) {
	if len(carriedOver[kind]) == 0 {
		return
	}
	var last, mine logbook.View
	for _, v := range e.book().Records(kind) {
		last = v
		if v.Created().Device == e.device {
			mine = v
		}
	}
	if mine.Known() {
		last = mine
	}
	if !last.Known() {
		return
	}
	for _, name := range carriedOver[kind] {
		if value := last.Value(name); value != "" {
			into[name] = Shown{Value: json.RawMessage(value), Carried: true}
		}
	}
}
