package api

import (
	"github.com/labstack/echo/v4"

	"evenwhite/logbook"
	"evenwhite/logbook/colorlog"
	"evenwhite/logbook/review"
	"evenwhite/openapi"
)

// GetHowRight says how right the log was about its own grey cards, as of one head.
func (s *service) GetHowRight(c echo.Context, production openapi.ProductionParameter, params openapi.GetHowRightParams) error {
	l, err := s.log(production)
	if err != nil {
		return err
	}
	scope, until := scopeOf(params.SetUpFilterParameter, params.DayFilterParameter), logbook.Ever
	if params.Until != nil {
		until = logbook.MillisOf(*params.Until)
	}
	leave, err := s.colorLogs.enter(l.Production(), c.Request().Context())
	if err != nil {
		return err
	}
	defer leave()
	frozen, err := l.Freeze()
	if err != nil {
		return err
	}
	defer frozen.Close()
	frozen.Read(func(b *logbook.Book) { err = review.InScope(b, scope.SetUp, scope.Day) })
	if err != nil {
		return err
	}
	return answer(c, 200, colorlog.HowRight(frozen, scope, until))
}
