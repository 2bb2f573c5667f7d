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

// damagedRow is an edit that was stored here and is damaged.
type damagedRow struct {
	Sequence logbook.Seq `json:"sequence,omitempty"`
	Edit     string      `json:"edit,omitempty"`
	Why      string      `json:"why"`
}

type missingAnswer struct {
	Lines   []missingLine `json:"lines"`
	Damaged []damagedRow  `json:"damaged"`
}

// GetMissing lists the edits that are known of and not here, and who may have
// them.
func (s *service) GetMissing(c echo.Context, production openapi.ProductionParameter) error {
	labels := s.Auth.Labels()
	l, err := s.log(production)
	if err != nil {
		return err
	}
	damage, err := l.Damaged()
	if err != nil {
		return err
	}
	return readIn(l, nil, func(b *logbook.Book) (missingAnswer, error) {
		out := missingAnswer{[]missingLine{}, []damagedRow{}}
		for _, m := range exchange.Missing(b) {
			out.Lines = append(out.Lines, missingLineOf(m, labels))
		}
		for _, d := range damage {
			out.Damaged = append(out.Damaged, damagedRow{Sequence: d.Seq, Edit: dotText(d.Dot), Why: d.Why})
		}
		return out, nil
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
