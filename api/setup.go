package api

import (
	"net/http"

	"github.com/labstack/echo/v4"

	"evenwhite/logbook"
	"evenwhite/logbook/advice"
	"evenwhite/logbook/exchange"
	"evenwhite/logbook/glance"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/review"
	"evenwhite/logbook/slate"
	"evenwhite/openapi"
)

// GetNow answers what is white in a set-up, what to dial and what is off.
func (s *service) GetNow(c echo.Context, production openapi.ProductionParameter, setUp openapi.SetUpParameter) error {
	return about(s, production, setUp, glance.Now).answer(c)
}

// GetMatch answers what to dial on one camera so that it matches another.
func (s *service) GetMatch(
	c echo.Context, production openapi.ProductionParameter, setUp openapi.SetUpParameter, params openapi.GetMatchParams,
) error {
	asked := advice.MatchQuery{SetUp: logbook.ID(setUp), Camera: logbook.ID(params.MatchCameraParameter),
		To: optionalID(params.MatchToParameter), Follow: params.MatchFollowParameter != nil}
	return read(s, production, func(b *logbook.Book) (advice.Matched, error) {
		return advice.Match(b, asked, s.now())
	}).answer(c)
}

// LogEvent logs what happened: one act of several records.
func (s *service) LogEvent(
	c echo.Context, production openapi.ProductionParameter, setUp openapi.SetUpParameter, params openapi.LogEventParams,
) error {
	l, err := s.Logs.Keeping(logbook.ID(production))
	if err != nil {
		return err
	}
	return s.once(c, params.IdempotencyKeyParameter, func(w logbook.Writer) (deed, error) {
		object, err := logbook.ParseValue(string(bodyOf(c)))
		if err != nil {
			return deed{}, err
		}
		event, err := slate.ReadEvent(logbook.ID(setUp), object)
		if err != nil {
			return deed{}, err
		}
		edits, err := l.Change(w, func(b *logbook.Book) ([]logbook.Draft, error) {
			if err := review.InScope(b, logbook.ID(setUp), logbook.ID{}); err != nil {
				return nil, err
			}
			drafts, err := slate.Drafts(b, event, drawID, w.Now)
			if err != nil {
				return nil, err
			}
			return slate.Counted(b, drafts)
		})
		return deed{log: l, edits: edits}, err
	}, func(made deed) error {
		first := addressOf(l.Production(), kinds.SetUp, logbook.ID(setUp)) // where nothing had to be written
		if len(made.edits) > 0 {
			first = addressOf(l.Production(), made.edits[0].Kind, made.edits[0].Record)
		}
		c.Response().Header().Set(echo.HeaderLocation, first)
		return answer(c, http.StatusCreated, changedRecords(l, made.edits))
	})
}

// changedRecords are the records of edits as they read now, each once.
func changedRecords(l *exchange.Peer, edits []*logbook.Edit) (page review.RecordsPage) {
	l.Read(func(b *logbook.Book) { page = review.Changed(b, edits) })
	return page
}
