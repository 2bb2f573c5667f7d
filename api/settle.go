package api

import (
	"encoding/json"
	"time"

	"github.com/labstack/echo/v4"

	"evenwhite/logbook"
	"evenwhite/logbook/amend"
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

type conflicts struct {
	Conflicts []conflict   `json:"conflicts"`
	Counts    []setUpCount `json:"counts"`
}

// ListConflicts lists what nobody decided yet.
func (s *service) ListConflicts(c echo.Context, production openapi.ProductionParameter) error {
	return read(s, production, func(b *logbook.Book) (conflicts, error) {
		out := conflicts{[]conflict{}, []setUpCount{}}
		found, counts := amend.Conflicts(b)
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
		for _, n := range counts {
			out.Counts = append(out.Counts, setUpCount(n))
		}
		return out, nil
	}).answer(c)
}
