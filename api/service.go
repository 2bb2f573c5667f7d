package api

import (
	"fmt"
	"net/http"
	"slices"

	"github.com/labstack/echo/v4"

	"evenwhite/logbook"
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
	warnings, degraded, err := s.readiness()
	if err != nil {
		return err
	}
	health := openapi.Health{Status: openapi.Ok}
	if degraded {
		health.Status = openapi.Degraded
	}
	if len(warnings) > 0 {
		health.Warnings = &warnings
	}
	return answer(c, http.StatusOK, health)
}

// readiness says what a person should see to, whether a part of the service is not done,
// or why no changes are taken.
func (s *service) readiness() (warnings []string, degraded bool, err error) {
	waiting, err := s.Logs.Waiting()
	if err != nil {
		return nil, false, err
	}
	if warnings, err = s.Logs.Warnings(); err != nil {
		return nil, false, err
	}
	degraded = len(warnings) > 0
	if s.State != nil {
		state := s.State()
		if state.Err != nil {
			return nil, false, state.Err
		}
		degraded = degraded || state.Degraded
		warnings = append(warnings, state.Warnings...)
	}
	if waiting > 0 {
		warnings = append(warnings, fmt.Sprintf("%d edits of a production's settings, or by post of more than its notes, "+
			"brought by devices that are no owner's, wait for one: "+
			"GET /v1/productions/{production}/aside", waiting))
	}
	return warnings, degraded, nil
}

// Warnings say what of the data is damaged, in words for anybody.
func (l *Logs) Warnings() (words []string, err error) {
	damaged, err := l.Damaged()
	for _, d := range damaged {
		if d.Fault != nil {
			words = append(words, fmt.Sprintf("production %s cannot be served: %s", d.Production, adviceOn(logbook.ErrDamaged)))
			continue
		}
		page := slices.ContainsFunc(d.Rows, func(r logbook.Damage) bool { return r.Page })
		words = append(words, fmt.Sprintf("edits of production %s that are damaged on the disk and count as not held: %d. %s",
			d.Production, len(d.Rows), wayBack(page)))
	}
	return words, err
}

// wayBack says what to do about damaged edits, which is more where a page of the file
// cannot be read.
func wayBack(page bool) string {
	if page {
		return "A part of the file cannot be read at all, and when the server is stopped it will not start again on it: " +
			"restore the newest backup into another folder, and let every device exchange: they bring what came after."
	}
	return "Everything else is served. Let every device exchange: whoever has one brings it. evenwhite missing lists them; " +
		"what no device has may stand in a backup: evenwhite help check says how to take it from there."
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
