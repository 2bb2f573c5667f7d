package api

import (
	"github.com/labstack/echo/v4"

	"evenwhite/logbook/lighting"
	"evenwhite/openapi"
)

// GetLampLearnt answers how far a lamp is off its dial.
func (s *service) GetLampLearnt(c echo.Context, production openapi.ProductionParameter, record openapi.RecordParameter) error {
	return about(s, production, record, lighting.LearntOfLamp).answer(c)
}

// GetGelLearnt answers what a gel really does.
func (s *service) GetGelLearnt(c echo.Context, production openapi.ProductionParameter, record openapi.RecordParameter) error {
	return about(s, production, record, lighting.LearntOfGel).answer(c)
}

// GetMeterLearnt answers how far a meter differs from the others.
func (s *service) GetMeterLearnt(c echo.Context, production openapi.ProductionParameter, record openapi.RecordParameter) error {
	return about(s, production, record, lighting.LearntOfMeter).answer(c)
}
