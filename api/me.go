package api

import (
	"encoding/json"
	"net/http"
	"slices"

	"github.com/labstack/echo/v4"

	"evenwhite/api/pairing"
	"evenwhite/api/pairing/audit"
	"evenwhite/openapi"
)

// GetMe answers who the caller is here.
func (s *service) GetMe(c echo.Context) error {
	me := callerOf(c.Request().Context()).Device
	all := s.Auth.Devices()
	at := slices.IndexFunc(all, func(d pairing.Device) bool { return d.ID == me })
	if at < 0 {
		return pairing.ErrUnknown
	}
	return answer(c, http.StatusOK, deviceAnswer(all[at]))
}

// PatchMe renames the caller's device, or notes what it says of itself.
func (s *service) PatchMe(c echo.Context) error {
	var said openapi.PatchOfMe
	if err := json.Unmarshal(bodyOf(c), &said); err != nil {
		return err
	}
	me := callerOf(c.Request().Context()).Device
	if err := s.Auth.Tell(me, pairing.Report{Label: said.Label, Unsent: said.Unsent, Program: said.Program}); err != nil {
		return err
	}
	return s.GetMe(c)
}

// Leave ends the admission of the caller's device.
func (s *service) Leave(c echo.Context, params openapi.LeaveParams) error {
	yes := func(b *bool) bool { return b != nil && *b }
	me := callerOf(c.Request().Context()).Device
	if err := s.Auth.Leave(me, params.UnsentParameter, yes(params.LoseParameter), yes(params.LastOwnerParameter)); err != nil {
		return err
	}
	s.audited(c, audit.Left, s.nameOf(me))
	return c.NoContent(http.StatusNoContent)
}
