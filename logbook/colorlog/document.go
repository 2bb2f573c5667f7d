package colorlog

import (
	"evenwhite/logbook"
	"evenwhite/logbook/cameras"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
	"evenwhite/logbook/states"
)

// Schema names the published form of the JSON document.
const Schema = "urn:evenwhite:schema:color-log:1"

// Scope picks the rows: one set-up, one day, or the whole production where both
// are zero.
type Scope struct{ SetUp, Day logbook.ID }

// Origin says where a colour log comes from: the same program makes the same bytes of the same state.
type Origin struct {
	Program string // name and version of the program
	State   states.State
}

// Head is what stands before the rows of a JSON document.
type Head struct {
	Schema     string     `json:"schema"`
	Program    string     `json:"program"`
	Production Production `json:"production"`
	State      State      `json:"state"`
	Scope      ScopeHead  `json:"scope"`
	Signs      string     `json:"signs"`
	// HowRight is how right the log was about the grey cards of the scope and of the days before it.
	HowRight *cameras.HowRight `json:"howRight,omitempty"`
}

// Production says what job the document is about. Times in the rows are UTC.
type Production struct {
	ID        logbook.ID `json:"id"`
	Title     string     `json:"title,omitempty"`
	ShortName string     `json:"shortName,omitempty"`
	TimeZone  string     `json:"timeZone,omitempty"` // IANA
}

// State names the edits that the rows were made of. Whatever sequences a log gives them, the state is
// the same, and so are the rows.
type State struct {
	Name   string `json:"name"`   // the whole of it: the document is made again from this
	Digest string `json:"digest"` // the part before the first point
	Words  string `json:"words"`  // six words of the digest, for paper
	Edits  uint64 `json:"edits"`
}

func stateOf(s states.State) State {
	return State{Name: s.String(), Digest: s.Key(), Words: s.Words(), Edits: s.Edits()}
}

// ScopeHead repeats the scope that was asked for.
type ScopeHead struct {
	Day   logbook.ID `json:"day,omitzero"`
	SetUp logbook.ID `json:"setUp,omitzero"`
}

const signs = "Every difference describes the picture: mired + warmer, − cooler; Duv + greener, − more magenta. " +
	"Steps are of 0.0011 u'v', counted in the predicted picture."

// HowRight is how right the log was until a moment: of a day or a set-up, by the cards of its date
// and before.
func HowRight(from logbook.Lender, scope Scope, until logbook.Millis) *cameras.HowRight {
	date := ""
	from.Read(func(b *logbook.Book) {
		if date = lighting.DateOf(b, scope.SetUp); scope.SetUp.IsZero() {
			day, _ := b.RecordOf(kinds.Day, scope.Day)
			date = day.Text("date")
		}
	})
	on := cameras.KnownOn(date, until)
	h := cameras.RightAbout(from, cameras.Known{Counts: func(c *cameras.Card) bool { return c.At <= until && on.Counts(c) }})
	return &h
}
