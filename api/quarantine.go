package api

import (
	"net/http"

	"github.com/labstack/echo/v4"

	"evenwhite/api/pairing"
	"evenwhite/logbook"
	"evenwhite/logbook/amend"
	"evenwhite/logbook/exchange"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/review"
	"evenwhite/logbook/slate"
	"evenwhite/openapi"
)

// ListQuarantine lists the edits that are held and do not apply.
func (s *service) ListQuarantine(c echo.Context, production openapi.ProductionParameter) error {
	l, err := s.log(production)
	if err != nil {
		return err
	}
	var out review.Quarantine
	l.Read(func(b *logbook.Book) { out = review.Quarantined(b) })
	if out.Clashes, err = s.clashes(l); err != nil {
		return err
	}
	return answer(c, http.StatusOK, &out)
}

func (s *service) clashes(l *exchange.Peer) ([]review.Clash, error) {
	out := []review.Clash{}
	entries, err := l.Clashes()
	if err != nil {
		return nil, err
	}
	for _, entry := range entries {
		row := review.Clash{Dot: entry.Dot.String(), Via: entry.Via, ReceivedAt: entry.Received.Time()}
		if row.Edit, err = logbook.DecodeEdit(entry.Bytes); err != nil { // of a newer version
			continue
		}
		held, err := s.Store.Get(l.Production(), []logbook.Dot{entry.Dot})
		if err != nil {
			return nil, err
		}
		for _, h := range held {
			row.Held, _ = logbook.DecodeEdit(h.Bytes)
		}
		out = append(out, row)
	}
	return out, nil
}

// CorrectEdit puts a refused edit right and answers with its record.
func (s *service) CorrectEdit(
	c echo.Context, production openapi.ProductionParameter, text openapi.DotParameter, params openapi.CorrectEditParams,
) error {
	return s.settleRefused(c, production, text, params.IdempotencyKeyParameter,
		func(b *logbook.Book, d logbook.Dot, note logbook.ID) (logbook.Kind, logbook.ID, []logbook.Draft, error) {
			patch, err := logbook.ParseValue(string(bodyOf(c)))
			if err != nil {
				return "", logbook.ID{}, nil, err
			}
			drafts, err := amend.Correct(b, d, patch, note)
			if err != nil {
				return "", logbook.ID{}, nil, err
			}
			if drafts[0].Kind == kinds.Production {
				err = callerOf(c.Request().Context()).May(pairing.Owner, logbook.ID(production)) // as when it is patched
			}
			return drafts[0].Kind, drafts[0].Record, drafts, err
		})
}

// DiscardEdit notes that a refused edit is discarded and answers with the note.
func (s *service) DiscardEdit(
	c echo.Context, production openapi.ProductionParameter, text openapi.DotParameter, params openapi.DiscardEditParams,
) error {
	return s.settleRefused(c, production, text, params.IdempotencyKeyParameter,
		func(b *logbook.Book, d logbook.Dot, id logbook.ID) (logbook.Kind, logbook.ID, []logbook.Draft, error) {
			note, drafts, err := amend.Discard(b, d, id)
			return kinds.Note, note, drafts, err
		})
}

// settleRefused stores what is done about a refused edit and answers with the record
// that says so.
func (s *service) settleRefused(c echo.Context, production openapi.ProductionParameter, text string, key *string,
	do func(*logbook.Book, logbook.Dot, logbook.ID) (logbook.Kind, logbook.ID, []logbook.Draft, error)) error {
	l, err := s.log(production)
	if err != nil {
		return err
	}
	d, err := parseDot(text)
	if err != nil {
		return err
	}
	var kind logbook.Kind
	var record logbook.ID
	return s.once(c, key, func(w logbook.Writer) (deed, error) {
		edits, err := l.Change(w, func(b *logbook.Book) (drafts []logbook.Draft, err error) {
			if kind, record, drafts, err = do(b, d, drawID()); err != nil {
				return nil, err
			}
			return slate.Resting(b, drafts, w.Now)
		})
		return deed{log: l, edits: edits}, err
	}, func(made deed) error {
		if len(made.edits) > 0 {
			kind, record = made.edits[0].Kind, made.edits[0].Record
		}
		return s.show(c, l, http.StatusOK, kind, record)
	})
}
