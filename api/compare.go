package api

import (
	"context"
	"net/http"

	"github.com/labstack/echo/v4"

	"evenwhite/logbook"
	"evenwhite/logbook/colorlog"
	"evenwhite/logbook/comparison"
	"evenwhite/logbook/states"
	"evenwhite/openapi"
)

// Compare says what changed in a production between two states.
func (l *Logs) Compare(
	ctx context.Context, production logbook.ID, before, after states.State, scope colorlog.Scope,
) (*comparison.Comparison, error) {
	side := func(s states.State) comparison.Side {
		return comparison.Side{State: s, Lend: func() (logbook.Lender, func(), error) {
			book, err := l.AsOf(ctx, production, &s)
			if err != nil {
				return nil, nil, err
			}
			return book, book.Close, nil
		}}
	}
	read := func(dots []logbook.Dot) ([]logbook.Stored, error) { return l.store.Get(production, dots) }
	return comparison.Of(side(before), side(after), scope, read)
}

// CompareColorLogs says what changed between two states of the colour log.
func (s *service) CompareColorLogs(c echo.Context, production openapi.ProductionParameter, params openapi.CompareColorLogsParams) error {
	id, ctx := logbook.ID(production), c.Request().Context()
	before, err := s.Logs.StateNamed(id, params.Before)
	if err != nil {
		return err
	}
	after := ""
	if params.After != nil {
		after = *params.After
	}
	later, err := s.Logs.StateOr(id, after)
	if err != nil {
		return err
	}
	leave, err := s.colorLogs.enter(id, ctx)
	if err != nil {
		return err
	}
	defer leave()
	found, err := s.Logs.Compare(ctx, id, *before, later, scopeOf(params.SetUpFilterParameter, params.DayFilterParameter))
	if err != nil {
		return err
	}
	return answer(c, http.StatusOK, found)
}
