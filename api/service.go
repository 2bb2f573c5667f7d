package api

import (
	"net/http"

	"github.com/labstack/echo/v4"

	"evenwhite/logbook/colorlog"
	"evenwhite/logbook/kinds"
	"evenwhite/openapi"
)

// GetHealth answers as long as the process does.
func (s *service) GetHealth(c echo.Context) error {
	return answer(c, http.StatusOK, openapi.Health{Status: openapi.Ok})
}

// GetReadiness answers when the store does, and says what a person should see to.
func (s *service) GetReadiness(c echo.Context) error {
	if _, err := s.Store.Productions(); err != nil {
		return err
	}
	health := openapi.Health{Status: openapi.Ok}
	if s.State != nil {
		warnings, err := s.State()
		if err != nil {
			return err
		}
		if len(warnings) > 0 {
			health.Warnings = &warnings
		}
	}
	return answer(c, http.StatusOK, health)
}

// GetVersion answers which program this is and by which rules it judges edits.
func (s *service) GetVersion(c echo.Context) error {
	return answer(c, http.StatusOK, openapi.Version{Program: s.Program, Rules: kinds.Rules.Version})
}

// GetContract serves the contract as clients read it.
func (s *service) GetContract(c echo.Context) error {
	text, err := openapi.Served()
	if err != nil {
		return err
	}
	return c.Blob(http.StatusOK, "application/yaml", text)
}

// GetColorLogSchema serves the schema of the colour log as JSON.
func (s *service) GetColorLogSchema(c echo.Context) error {
	return c.Blob(http.StatusOK, "application/schema+json", colorlog.SchemaText)
}
