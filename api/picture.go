package api

import (
	"net/http"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"evenwhite/logbook"
	"evenwhite/openapi"
)

// GetPlane tells where the colours of a set-up lie.
func (s *service) GetPlane(c echo.Context, production openapi.ProductionParameter, setUp openapi.SetUpParameter) error {
	plane, err := told(s, production, func(b *logbook.Book) (logbook.SetUpPlane, error) {
		return logbook.PlaneOf(b, logbook.ID(setUp), s.now())
	})
	if err != nil {
		return err
	}
	return answer(c, http.StatusOK, plane)
}

// GetDrift tells how the lights of a set-up went over time.
func (s *service) GetDrift(c echo.Context, production openapi.ProductionParameter, setUp openapi.SetUpParameter, params openapi.GetDriftParams) error {
	drift, err := s.drift(production, setUp, params.DriftLightParameter)
	if err != nil {
		return err
	}
	return answer(c, http.StatusOK, drift)
}

func (s *service) drift(production openapi.ProductionParameter, setUp openapi.SetUpParameter, light *uuid.UUID) (logbook.SetUpDrift, error) {
	var of logbook.ID
	if light != nil {
		of = logbook.ID(*light)
	}
	return told(s, production, func(b *logbook.Book) (logbook.SetUpDrift, error) {
		return logbook.DriftOf(b, logbook.ID(setUp), of, s.now())
	})
}

// GetSwatches predicts the picture of each light in each white.
func (s *service) GetSwatches(c echo.Context, production openapi.ProductionParameter, setUp openapi.SetUpParameter) error {
	swatches, err := told(s, production, func(b *logbook.Book) (logbook.SetUpSwatches, error) {
		return logbook.SwatchesOf(b, logbook.ID(setUp), s.now())
	})
	if err != nil {
		return err
	}
	return answer(c, http.StatusOK, swatches)
}

// told reads from the book of a production.
func told[T any](s *service, production openapi.ProductionParameter, tell func(*logbook.Book) (T, error)) (out T, err error) {
	l, err := s.log(production)
	if err != nil {
		return out, err
	}
	l.Read(func(b *logbook.Book) { out, err = tell(b) })
	return out, err
}
