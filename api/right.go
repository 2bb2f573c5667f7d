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
	scope, until := scopeOf(params.SetUpFilterParameter, params.DayFilterParameter), logbook.Ever
	if params.Until != nil {
		until = logbook.MillisOf(*params.Until)
	}
	book, err := s.lend(c.Request().Context(), logbook.ID(production), nil)
	if err != nil {
		return err
	}
	defer book.Close()
	book.Read(func(b *logbook.Book) { err = review.InScope(b, scope.SetUp, scope.Day) })
	if err != nil {
		return err
	}
	return answer(c, 200, colorlog.HowRight(book, scope, until))
}
