package api

import (
	"bytes"
	"encoding/json"
	"slices"
	"time"

	"github.com/labstack/echo/v4"

	"evenwhite/logbook"
	"evenwhite/logbook/amend"
	"evenwhite/logbook/setup"
	"evenwhite/openapi"
)

// fieldVersion is one value that somebody wrote to a field.
type fieldVersion struct {
	Dot         string          `json:"dot"`
	Record      logbook.ID      `json:"record"`
	Value       json.RawMessage `json:"value"`
	By          string          `json:"by"`
	Device      logbook.ID      `json:"device"`
	At          time.Time       `json:"at"`
	CorrectedAt time.Time       `json:"correctedAt"`
}

type conflict struct {
	Kind     logbook.Kind   `json:"kind"`
	Record   logbook.ID     `json:"record"`
	SetUp    logbook.ID     `json:"setUp,omitzero"`
	Field    string         `json:"field"`
	Deletion bool           `json:"deletion"`
	Values   []fieldVersion `json:"values"`
}

type setUpCount struct {
	SetUp logbook.ID `json:"setUp,omitzero"`
	Count int        `json:"count"`
}

// setApart are records that people entered who did not know of each other, and of which one
// holds.
type setApart struct {
	Kind    logbook.Kind  `json:"kind"`
	SetUp   logbook.ID    `json:"setUp,omitzero"`
	Words   string        `json:"words"`
	Choices []apartChoice `json:"choices"`
	Takes   []logbook.ID  `json:"takes,omitempty"`
	Next    bool          `json:"nextTake"`
}

type apartChoice struct {
	Record      logbook.ID `json:"record"`
	Words       string     `json:"words"`
	By          string     `json:"by"`
	Device      logbook.ID `json:"device"`
	At          time.Time  `json:"at"`
	CorrectedAt time.Time  `json:"correctedAt"`
}

type conflicts struct {
	Conflicts []conflict   `json:"conflicts"`
	Apart     []setApart   `json:"apart"`
	Counts    []setUpCount `json:"counts"`
	Next      string       `json:"next,omitempty"`
}

// ListConflicts lists a page of what nobody decided yet.
func (s *service) ListConflicts(c echo.Context, production openapi.ProductionParameter, params openapi.ListConflictsParams) error {
	now := s.now()
	after, err := parseConflictPlace(params.CursorParameter)
	if err != nil {
		return err
	}
	out := conflicts{Conflicts: []conflict{}, Apart: []setApart{}, Counts: []setUpCount{}}
	r := readKept(s, production, func(b *logbook.Book) (conflicts, error) {
		found, last, more := amend.ConflictsFrom(b, after, limitOf(params.LimitParameter))
		for _, f := range found {
			row := conflict{Kind: f.Kind, Record: f.Record, SetUp: f.SetUp, Field: f.Field, Deletion: f.Deletion}
			for _, h := range f.Heads {
				row.Values = append(row.Values, fieldVersion{
					Dot: h.Dot.String(), Record: h.Record, Value: json.RawMessage(h.Value), By: h.Edit.By, Device: h.Edit.Device,
					At: h.Edit.At.Time(), CorrectedAt: h.Edit.Corrected().Time(),
				})
			}
			out.Conflicts = append(out.Conflicts, row)
		}
		if more {
			out.Next = conflictPlaceText(last)
		}
		if params.CursorParameter == nil {
			out.open(b, now)
		}
		return out, nil
	})
	linkNext(c, out.Next)
	return r.answer(c)
}

// open lists what was entered apart, and how much is open in each set-up.
func (out *conflicts) open(b *logbook.Book, now logbook.Millis) {
	asked := map[logbook.ID]int{}
	for _, a := range setup.ApartIn(b, now) {
		row := setApart{Kind: a.Kind, SetUp: a.SetUp, Words: a.Words, Takes: a.Takes, Next: a.Next}
		for _, c := range a.Choices {
			row.Choices = append(row.Choices, apartChoice{c.Record, c.Words, c.Edit.By, c.Edit.Device,
				c.Edit.At.Time(), c.Edit.Corrected().Time()})
		}
		out.Apart = append(out.Apart, row)
		asked[a.SetUp]++
	}
	for _, n := range amend.ConflictCounts(b) {
		asked[n.SetUp] += n.Count
	}
	for setUp, n := range asked {
		out.Counts = append(out.Counts, setUpCount{setUp, n})
	}
	slices.SortFunc(out.Counts, func(x, y setUpCount) int { return bytes.Compare(x.SetUp[:], y.SetUp[:]) })
}
