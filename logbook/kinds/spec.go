package kinds

import (
	"strings"

	"evenwhite/logbook"
)

// Type is the form of a field's value.
type Type int

// The types of fields. Group is an object whose members are decided as one;
// Form is an object of which the member "as" names one of several groups; List
// holds items of one sort.
const (
	Text Type = iota
	Choice
	Flag
	Whole
	Decimal
	Date
	Instant
	Reference
	Group
	Form
	List
)

// A Field is one row of the table: what a person decides as one. The same rows
// feed the validator, the contract's schemas and the documentation.
//
// A name with a slash is an entry of a map or a part of a group whose parts are
// decided apart; a star stands for the entry's key: cameras/*/lens. In a record
// such a field is nested: {"cameras": {"<key>": {"lens": …}}}.
type Field struct {
	Name     string
	Type     Type
	Doc      string
	Unit     string
	Required bool   // a record without it is incomplete
	Fact     bool   // set by the creating edit only
	Default  string // what a record without it is read as, in words
	Min, Max string // hard limits: beyond them is the impossible
	UsualMin string // beyond the usual range is only remarked
	UsualMax string
	Longest  int            // of a text, in characters; of a list, in items
	Pattern  string         // of a text: a named pattern of judge.go
	Choices  []string       // of a choice
	To       []logbook.Kind // of a reference; empty: any record
	Members  []Field        // of a group
	Forms    []Field        // of a form: groups named by "as"
	Item     *Field         // of a list
}

// A Spec is the table of one kind.
type Spec struct {
	Kind   logbook.Kind
	Doc    string
	Fields []Field
	// Natural are the fields by which a person knows a record of this kind from
	// another; two records with equal ones may be twins.
	Natural []string
	index   map[string]*Field
}

// Field finds the row of a field by its name in an edit, where the keys of map
// entries stand in place of stars.
func (s *Spec) Field(name string) (*Field, bool) {
	if f, ok := s.index[name]; ok {
		return f, true
	}
	first, rest, starred := strings.Cut(name, "/")
	key, last, more := strings.Cut(rest, "/")
	if !starred || key == "" || len(key) > 64 || key == "*" || strings.IndexByte(last, '/') >= 0 {
		return nil, false
	}
	var row [64]byte // on the stack: this is asked for each field of each edit of a log
	star := append(append(row[:0], first...), "/*"...)
	if more {
		star = append(append(star, '/'), last...)
	}
	f, ok := s.index[string(star)]
	return f, ok
}

// Specs is the table of all record kinds, in the order of documentation.
var Specs = Indexed([]Spec{
	productionSpec, daySpec, sceneSpec, setUpSpec,
	lampSpec, lightSpec, gelSpec,
	bodySpec, cameraSpec, meterSpec,
	readingSpec, whiteSpec, sampleSpec,
	takeSpec, ClipSpec, acceptanceSpec, noteSpec,
})

// Rules are the rules by which this version judges edits: by the table of kinds.
var Rules = logbook.Rules{Version: 1, Judge: Judge, MostNames: MaxNames}

// Of finds the table of a kind; a kind of a newer version has none.
func Of(kind logbook.Kind) (*Spec, bool) {
	for i := range Specs {
		if Specs[i].Kind == kind {
			return &Specs[i], true
		}
	}
	return nil, false
}

// everyKind are the fields that records of all kinds have.
var everyKind = []Field{
	FlagField(logbook.DeletedField, "the record is struck out: hidden, kept whole"),
	ChoiceField(logbook.SamePrefix+"*", "the answer to \"one or two?\" about the twin record whose id is the key; held by the record with the smaller id", "one two"),
}

func Indexed(specs []Spec) []Spec {
	for i := range specs {
		s := &specs[i]
		s.Fields = append(append([]Field(nil), s.Fields...), everyKind...)
		s.index = make(map[string]*Field, len(s.Fields))
		for j := range s.Fields {
			s.index[s.Fields[j].Name] = &s.Fields[j]
		}
	}
	return specs
}

// The functions below write the rows of the table.

func TextField(name, doc string, longest int) Field {
	return Field{Name: name, Type: Text, Doc: doc, Longest: longest}
}

func PatternField(name, doc, pattern string) Field {
	return Field{Name: name, Type: Text, Doc: doc, Longest: 64, Pattern: pattern}
}

func ChoiceField(name, doc, choices string) Field {
	return Field{Name: name, Type: Choice, Doc: doc, Choices: strings.Fields(choices)}
}

func FlagField(name, doc string) Field { return Field{Name: name, Type: Flag, Doc: doc} }

func WholeField(name, doc, least, most string) Field {
	return Field{Name: name, Type: Whole, Doc: doc, Min: least, Max: most}
}

func number(name, unit, doc, least, most string) Field {
	return Field{Name: name, Type: Decimal, Unit: unit, Doc: doc, Min: least, Max: most}
}

func date(name, doc string) Field { return Field{Name: name, Type: Date, Doc: doc} }

func InstantField(name, doc string) Field { return Field{Name: name, Type: Instant, Doc: doc} }

func ReferenceField(name, doc string, to ...logbook.Kind) Field {
	return Field{Name: name, Type: Reference, Doc: doc, To: to}
}

func group(name, doc string, members ...Field) Field {
	return Field{Name: name, Type: Group, Doc: doc, Members: members}
}

func form(name, doc string, forms ...Field) Field {
	return Field{Name: name, Type: Form, Doc: doc, Forms: forms}
}

func list(name, doc string, longest int, item Field) Field {
	return Field{Name: name, Type: List, Doc: doc, Longest: longest, Item: &item}
}

func (f Field) Must() Field { f.Required = true; return f }

func (f Field) fact() Field { f.Fact = true; return f }

func (f Field) byDefault(words string) Field { f.Default = words; return f }

func (f Field) usual(least, most string) Field { f.UsualMin, f.UsualMax = least, most; return f }
