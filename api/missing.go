package api

import (
	"github.com/labstack/echo/v4"

	"evenwhite/logbook"
	"evenwhite/logbook/exchange"
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
	labels := s.Auth.Labels()
	return read(s, production, func(b *logbook.Book) (map[string][]missingLine, error) {
		lines := []missingLine{}
		for _, m := range exchange.Missing(b) {
			lines = append(lines, missingLineOf(m, labels))
		}
		return map[string][]missingLine{"lines": lines}, nil
	}).answer(c)
}

func missingLineOf(m exchange.MissingEdits, labels map[logbook.ID]string) missingLine {
	labelled := func(h exchange.Holder) holder { return holder{h.Device, labels[h.Device], h.By} }
	line := missingLine{Line: m.Line.String(), SeenBy: []holder{}}
	for _, span := range m.Spans {
		line.Spans = append(line.Spans, []uint64{span.From, span.To})
	}
	if m.Writer != (exchange.Holder{}) {
		writer := labelled(m.Writer)
		line.Writer = &writer
	}
	for _, h := range m.SeenBy {
		line.SeenBy = append(line.SeenBy, labelled(h))
	}
	return line
}
