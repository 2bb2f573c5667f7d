package review

import (
	"bytes"
	"encoding/json"
	"sort"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/amend"
	"evenwhite/logbook/setup"
)

// A Version is one value that somebody wrote to a field.
type Version struct {
	Dot         string          `json:"dot"`
	Record      logbook.ID      `json:"record"`
	Value       json.RawMessage `json:"value"`
	By          string          `json:"by"`
	Device      logbook.ID      `json:"device"`
	At          time.Time       `json:"at"`
	CorrectedAt time.Time       `json:"correctedAt"`
}

// A Conflict is a field that nobody decided, with all its values, the shown one first.
type Conflict struct {
	Kind     logbook.Kind `json:"kind"`
	Record   logbook.ID   `json:"record"`
	SetUp    logbook.ID   `json:"setUp,omitzero"`
	Field    string       `json:"field"`
	Deletion bool         `json:"deletion"`
	Values   []Version    `json:"values"`
}

// A Count is how much is open in a set-up; under no set-up, in all that belongs to none.
type Count struct {
	SetUp logbook.ID `json:"setUp,omitzero"`
	Count int        `json:"count"`
}

// Apart are records that people entered who did not know of each other, and of which one
// holds.
type Apart struct {
	Kind    logbook.Kind `json:"kind"`
	SetUp   logbook.ID   `json:"setUp,omitzero"`
	Words   string       `json:"words"`
	Choices []Choice     `json:"choices"`
	Takes   []logbook.ID `json:"takes,omitempty"`
	Next    bool         `json:"nextTake"`
}

// A Choice is one of them.
type Choice struct {
	Record      logbook.ID `json:"record"`
	Words       string     `json:"words"`
	By          string     `json:"by"`
	Device      logbook.ID `json:"device"`
	At          time.Time  `json:"at"`
	CorrectedAt time.Time  `json:"correctedAt"`
}

// A ConflictsPage is a page of what nobody decided yet. What was entered apart and the
// counts stand on the first.
type ConflictsPage struct {
	Conflicts []Conflict `json:"conflicts"`
	Apart     []Apart    `json:"apart"`
	Counts    []Count    `json:"counts"`
	Next      string     `json:"next,omitempty"`
}

// Conflicts is the page behind a cursor; nil is the first. The error wraps ErrCursor.
func Conflicts(b *logbook.Book, cursor *string, limit int, now logbook.Millis) (ConflictsPage, error) {
	out := ConflictsPage{Conflicts: []Conflict{}, Apart: []Apart{}, Counts: []Count{}}
	after, err := readConflictPlace(cursor)
	if err != nil {
		return out, err
	}
	found, last, more := amend.ConflictsFrom(b, after, limit)
	for _, f := range found {
		row := Conflict{Kind: f.Kind, Record: f.Record, SetUp: f.SetUp, Field: f.Field, Deletion: f.Deletion}
		for _, h := range f.Heads {
			e := h.Edit()
			row.Values = append(row.Values, Version{
				Dot: h.Dot.String(), Record: h.Record, Value: json.RawMessage(h.Value), By: e.By, Device: e.Device,
				At: e.At.Time(), CorrectedAt: e.Corrected().Time(),
			})
		}
		out.Conflicts = append(out.Conflicts, row)
	}
	if more {
		out.Next = conflictPlaceText(last)
	}
	if cursor == nil {
		out.open(b, now)
	}
	return out, nil
}

// open lists what was entered apart, and how much is open in each set-up.
func (out *ConflictsPage) open(b *logbook.Book, now logbook.Millis) {
	asked := map[logbook.ID]int{}
	for _, a := range setup.ApartIn(b, now) {
		row := Apart{Kind: a.Kind, SetUp: a.SetUp, Words: a.Words, Takes: a.Takes, Next: a.Next}
		for _, c := range a.Choices {
			row.Choices = append(row.Choices, Choice{c.Record, c.Words, c.Edit.By, c.Edit.Device,
				c.Edit.At.Time(), c.Edit.Corrected().Time()})
		}
		out.Apart = append(out.Apart, row)
		asked[a.SetUp]++
	}
	for _, n := range amend.ConflictCounts(b) {
		asked[n.SetUp] += n.Count
	}
	for setUp, n := range asked {
		out.Counts = append(out.Counts, Count{setUp, n})
	}
	sort.Slice(out.Counts, func(i, j int) bool { return bytes.Compare(out.Counts[i].SetUp[:], out.Counts[j].SetUp[:]) < 0 })
}
