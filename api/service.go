package api

import (
	"fmt"
	"net/http"

	"github.com/labstack/echo/v4"

	"evenwhite/logbook/colorlog"
	"evenwhite/logbook/exchange"
	"evenwhite/logbook/kinds"
	"evenwhite/openapi"
)

// GetHealth answers as long as the process does.
func (s *service) GetHealth(c echo.Context) error {
	return answer(c, http.StatusOK, openapi.Health{Status: openapi.Ok})
}

// GetReadiness answers when the store does, and says what a person should see to.
func (s *service) GetReadiness(c echo.Context) error {
	warnings, err := s.readiness()
	if err != nil {
		return err
	}
	health := openapi.Health{Status: openapi.Ok}
	if len(warnings) > 0 {
		health.Warnings = &warnings
	}
	return answer(c, http.StatusOK, health)
}

// readiness says what a person should see to, or why no changes are taken.
func (s *service) readiness() (warnings []string, err error) {
	waiting, err := s.Logs.Waiting()
	if err != nil {
		return nil, err
	}
	if s.State != nil {
		if warnings, err = s.State(); err != nil {
			return nil, err
		}
	}
	if waiting > 0 {
		warnings = append(warnings, fmt.Sprintf("%d edits of a production's settings, brought by devices that are no owner's, wait for one: "+
			"GET /v1/productions/{production}/aside", waiting))
	}
	return warnings, nil
}

// GetVersion answers which program this is and by which rules it judges edits.
func (s *service) GetVersion(c echo.Context) error {
	return answer(c, http.StatusOK, openapi.Version{Program: s.Program, Rules: kinds.Rules.Version})
}

// GetContract serves the contract as clients read it.
func (s *service) GetContract(c echo.Context, _ openapi.GetContractParams) error {
	text, err := openapi.Served()
	if err != nil {
		return err
	}
	return document(c, "application/yaml", text)
}

// GetRowsForm serves the page about the form that devices speak.
func (s *service) GetRowsForm(c echo.Context) error {
	return c.Blob(http.StatusOK, "text/markdown", exchange.RowsInWords)
}

// GetColorLogSchema serves the schema of the colour log as JSON.
func (s *service) GetColorLogSchema(c echo.Context, _ openapi.GetColorLogSchemaParams) error {
	return document(c, "application/schema+json", colorlog.SchemaText)
}
