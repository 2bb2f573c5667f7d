package api

import (
	"time"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"evenwhite/logbook"
	"evenwhite/logbook/glance"
	"evenwhite/logbook/picture"
	"evenwhite/logbook/setup"
	"evenwhite/openapi"
)

// GetPlane answers where the colours of a set-up lie.
func (s *service) GetPlane(c echo.Context, production openapi.ProductionParameter, setUp openapi.SetUpParameter) error {
	return s.plane(production, setUp).answer(c)
}

// GetPlanePicture draws it.
func (s *service) GetPlanePicture(c echo.Context, production openapi.ProductionParameter, setUp openapi.SetUpParameter) error {
	return s.plane(production, setUp).draw(c, picture.Plane)
}

func (s *service) plane(production openapi.ProductionParameter, setUp openapi.SetUpParameter) result[glance.SetUpPlane] {
	return about(s, production, setUp, glance.Plane)
}

// GetDrift answers how the lights of a set-up went over time.
func (s *service) GetDrift(
	c echo.Context, production openapi.ProductionParameter, setUp openapi.SetUpParameter, params openapi.GetDriftParams,
) error {
	return s.drift(production, setUp, params.DriftLightParameter).answer(c)
}

// GetDriftPicture draws it, in the time zone of the production where this machine
// knows it.
func (s *service) GetDriftPicture(
	c echo.Context, production openapi.ProductionParameter, setUp openapi.SetUpParameter, params openapi.GetDriftPictureParams,
) error {
	return s.drift(production, setUp, params.DriftLightParameter).draw(c, func(d setup.SetUpDrift) []byte {
		zone, err := time.LoadLocation(d.TimeZone)
		if err != nil {
			zone = time.UTC
		}
		return picture.Drift(d, zone)
	})
}

func (s *service) drift(production openapi.ProductionParameter, setUp openapi.SetUpParameter, light *uuid.UUID) result[setup.SetUpDrift] {
	return read(s, production, func(b *logbook.Book) (setup.SetUpDrift, error) {
		return setup.Drifts(b, logbook.ID(setUp), optionalID(light), s.now())
	})
}

// GetSwatches predicts the picture of each light in each white.
func (s *service) GetSwatches(c echo.Context, production openapi.ProductionParameter, setUp openapi.SetUpParameter) error {
	return s.swatches(production, setUp).answer(c)
}

// GetSwatchesPicture draws them.
func (s *service) GetSwatchesPicture(c echo.Context, production openapi.ProductionParameter, setUp openapi.SetUpParameter) error {
	return s.swatches(production, setUp).draw(c, picture.Swatches)
}

func (s *service) swatches(production openapi.ProductionParameter, setUp openapi.SetUpParameter) result[glance.SetUpSwatches] {
	return about(s, production, setUp, glance.Swatches)
}
