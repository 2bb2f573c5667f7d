package api

import (
	"net/http"
	"time"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"evenwhite/logbook"
	"evenwhite/logbook/picture"
	"evenwhite/openapi"
)

// GetPlane tells where the colours of a set-up lie.
func (s *service) GetPlane(c echo.Context, production openapi.ProductionParameter, setUp openapi.SetUpParameter) error {
	return tell(c, s.plane(production, setUp))
}

// GetPlanePicture draws it.
func (s *service) GetPlanePicture(c echo.Context, production openapi.ProductionParameter, setUp openapi.SetUpParameter) error {
	return draw(c, s.plane(production, setUp), picture.Plane)
}

func (s *service) plane(production openapi.ProductionParameter, setUp openapi.SetUpParameter) told[logbook.SetUpPlane] {
	return readTold(s, production, func(b *logbook.Book) (logbook.SetUpPlane, error) {
		return logbook.PlaneOf(b, logbook.ID(setUp), s.now())
	})
}

// GetDrift tells how the lights of a set-up went over time.
func (s *service) GetDrift(c echo.Context, production openapi.ProductionParameter, setUp openapi.SetUpParameter, params openapi.GetDriftParams) error {
	return tell(c, s.drift(production, setUp, params.DriftLightParameter))
}

// GetDriftPicture draws it, in the time zone of the production where this machine
// knows it.
func (s *service) GetDriftPicture(c echo.Context, production openapi.ProductionParameter, setUp openapi.SetUpParameter, params openapi.GetDriftPictureParams) error {
	return draw(c, s.drift(production, setUp, params.DriftLightParameter), func(d logbook.SetUpDrift) []byte {
		zone, err := time.LoadLocation(d.TimeZone)
		if err != nil {
			zone = time.UTC
		}
		return picture.Drift(d, zone)
	})
}

func (s *service) drift(production openapi.ProductionParameter, setUp openapi.SetUpParameter, light *uuid.UUID) told[logbook.SetUpDrift] {
	var of logbook.ID
	if light != nil {
		of = logbook.ID(*light)
	}
	return readTold(s, production, func(b *logbook.Book) (logbook.SetUpDrift, error) {
		return logbook.DriftOf(b, logbook.ID(setUp), of, s.now())
	})
}

// GetSwatches predicts the picture of each light in each white.
func (s *service) GetSwatches(c echo.Context, production openapi.ProductionParameter, setUp openapi.SetUpParameter) error {
	return tell(c, s.swatches(production, setUp))
}

// GetSwatchesPicture draws them.
func (s *service) GetSwatchesPicture(c echo.Context, production openapi.ProductionParameter, setUp openapi.SetUpParameter) error {
	return draw(c, s.swatches(production, setUp), picture.Swatches)
}

func (s *service) swatches(production openapi.ProductionParameter, setUp openapi.SetUpParameter) told[logbook.SetUpSwatches] {
	return readTold(s, production, func(b *logbook.Book) (logbook.SetUpSwatches, error) {
		return logbook.SwatchesOf(b, logbook.ID(setUp), s.now())
	})
}

// told is what a book tells, or why it does not.
type told[T any] struct {
	what T
	err  error
}

func readTold[T any](s *service, production openapi.ProductionParameter, from func(*logbook.Book) (T, error)) (t told[T]) {
	l, err := s.log(production)
	if err != nil {
		t.err = err
		return t
	}
	l.Read(func(b *logbook.Book) { t.what, t.err = from(b) })
	return t
}

func tell[T any](c echo.Context, t told[T]) error {
	if t.err != nil {
		return t.err
	}
	return answer(c, http.StatusOK, t.what)
}

func draw[T any](c echo.Context, t told[T], pen func(T) []byte) error {
	if t.err != nil {
		return t.err
	}
	h := c.Response().Header()
	h.Set("Content-Security-Policy", picture.Policy)
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("Cache-Control", "no-store")
	return c.Blob(http.StatusOK, "image/svg+xml", pen(t.what))
}
