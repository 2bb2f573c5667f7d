package api

import (
	"net/http"

	"github.com/labstack/echo/v4"

	"evenwhite/logbook"
	"evenwhite/openapi"
)

// GetLampLearnt tells how far a lamp is off its dial.
func (s *service) GetLampLearnt(c echo.Context, production openapi.ProductionParameter, record openapi.RecordParameter) error {
	return learnt(s, c, production, record, logbook.LearntOfLamp)
}

// GetGelLearnt tells what a gel really does.
func (s *service) GetGelLearnt(c echo.Context, production openapi.ProductionParameter, record openapi.RecordParameter) error {
	return learnt(s, c, production, record, logbook.LearntOfGel)
}

// GetMeterLearnt tells how far a meter differs from the others.
func (s *service) GetMeterLearnt(c echo.Context, production openapi.ProductionParameter, record openapi.RecordParameter) error {
	return learnt(s, c, production, record, logbook.LearntOfMeter)
}

func learnt[T any](s *service, c echo.Context, production openapi.ProductionParameter, record openapi.RecordParameter, of func(*logbook.Book, logbook.ID, logbook.Millis) (T, error)) error {
	l, err := s.log(production)
	if err != nil {
		return err
	}
	var out T
	l.Read(func(b *logbook.Book) { out, err = of(b, logbook.ID(record), s.now()) })
	if err != nil {
		return err
	}
	return answer(c, http.StatusOK, out)
}
