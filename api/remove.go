package api

import (
	"encoding/json"
	"net/http"

	"github.com/labstack/echo/v4"

	"evenwhite/api/pairing"
	"evenwhite/api/pairing/audit"
	"evenwhite/api/removal"
	"evenwhite/logbook"
	"evenwhite/openapi"
)

// RemoveProduction writes the files of a production on the server's disk, and takes it off
// this server where the caller holds the same.
func (s *service) RemoveProduction(c echo.Context, production openapi.ProductionParameter) error {
	var said openapi.RemovalRequest
	if err := json.Unmarshal(bodyOf(c), &said); err != nil {
		return err
	}
	id := logbook.ID(production)
	leave, err := s.colorLogs.enter(id, c.Request().Context())
	if err != nil {
		return err
	}
	defer leave()
	caller := callerOf(c.Request().Context())
	mark, err := s.Logs.Remove(id, removal.Order{
		Into: s.Removals, Program: s.Program, By: caller.Name, Now: s.Now(),
		Held: &removal.Held{Bundle: said.Bundle, ColorLog: said.ColorLog},
	})
	if err != nil {
		return err
	}
	s.audited(c, audit.Removed, mark.Title+" ("+id.String()+")")
	s.Log.Warn("A PRODUCTION WAS REMOVED FROM THIS SERVER", "production", id.String(), "device", caller.Device.String(),
		"edits", mark.Edits, "folder", mark.Folder)
	return answer(c, http.StatusOK, mark)
}

// ReadmitProduction lets a production that was removed begin again.
func (s *service) ReadmitProduction(c echo.Context, production openapi.ProductionParameter) error {
	if err := s.Logs.Readmit(logbook.ID(production)); err != nil {
		return err
	}
	s.audited(c, audit.Readmitted, production.String())
	caller := callerOf(c.Request().Context())
	s.Log.Info("a removed production may be taken in again", "production", production.String(), "device", caller.Device.String())
	return c.NoContent(http.StatusNoContent)
}

// removed lists what was removed of the productions in which a caller has a role.
func (s *service) removed(caller pairing.Caller) (marks []removal.Mark, err error) {
	all, err := removal.All(s.Store)
	for _, m := range all {
		if caller.RoleIn(m.Production) != "" {
			marks = append(marks, m)
		}
	}
	return marks, err
}
