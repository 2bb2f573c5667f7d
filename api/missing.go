package api

import (
	"net/http"

	"github.com/labstack/echo/v4"

	"evenwhite/logbook"
	"evenwhite/openapi"
)

// A holder is a device that may have what is missing.
type holder struct {
	Device logbook.ID `json:"device"`
	Label  string     `json:"label,omitempty"` // as it was invited here
	By     string     `json:"by"`
}

type missingLine struct {
	Line   string     `json:"line"`
	Spans  [][]uint64 `json:"spans"`
	Writer *holder    `json:"writer,omitempty"`
	SeenBy []holder   `json:"seenBy"`
}

// GetMissing lists the edits that are known of and not here, and who may have
// them.
func (s *service) GetMissing(c echo.Context, production openapi.ProductionParameter) error {
	l, err := s.log(production)
	if err != nil {
		return err
	}
	var found []logbook.MissingEdits
	l.Read(func(b *logbook.Book) { found = logbook.Missing(b) })
	labels := s.Auth.Labels()
	told := func(h logbook.Holder) holder { return holder{h.Device, labels[h.Device], h.By} }
	lines := []missingLine{}
	for _, m := range found {
		line := missingLine{Line: m.Line.String(), SeenBy: []holder{}}
		for _, span := range m.Spans {
			line.Spans = append(line.Spans, []uint64{span.From, span.To})
		}
		if m.Writer != (logbook.Holder{}) {
			writer := told(m.Writer)
			line.Writer = &writer
		}
		for _, h := range m.SeenBy {
			line.SeenBy = append(line.SeenBy, told(h))
		}
		lines = append(lines, line)
	}
	return answer(c, http.StatusOK, map[string]any{"lines": lines})
}
