package api

import (
	"net/http"
	"strconv"

	"github.com/labstack/echo/v4"

	"evenwhite/api/pairing/audit"
	"evenwhite/logbook"
	"evenwhite/openapi"
)

// ListAudit lists what was done, newest first.
func (s *service) ListAudit(c echo.Context, params openapi.ListAuditParams) error {
	var before uint64
	if params.CursorParameter != nil {
		var err error
		if before, err = strconv.ParseUint(*params.CursorParameter, 10, 64); err != nil || before == 0 {
			return wrong("cursor", *params.CursorParameter, "the cursor of a page of this list")
		}
	}
	entries, next := s.Auth.Audit().Before(before, limitOf(params.LimitParameter))
	out := openapi.Audit{Entries: []openapi.AuditEntry{}}
	for _, e := range entries {
		row := openapi.AuditEntry{At: e.At, What: openapi.AuditEntryWhat(e.What), About: e.About}
		if row.By.Label = e.By; !e.Device.IsZero() {
			id := openapiID(e.Device)
			row.By.Device = &id
		}
		if e.From != "" {
			row.From = &e.From
		}
		out.Entries = append(out.Entries, row)
	}
	if next != 0 {
		cursor := strconv.FormatUint(next, 10)
		out.Next = &cursor
		linkNext(c, cursor)
	}
	return answer(c, http.StatusOK, out)
}

// audited lists what the caller did.
func (s *service) audited(c echo.Context, what, about string) {
	caller := callerOf(c.Request().Context())
	s.auditedBy(c, caller.Device, caller.Name, what, about)
}

// auditedBy lists what a device did that was no caller when it asked.
func (s *service) auditedBy(c echo.Context, device logbook.ID, by, what, about string) {
	s.Auth.Audit().Add(audit.Entry{At: s.Now(), What: what, Device: device, By: by, From: c.RealIP(), About: about})
}

// nameOf is how a device is called in the list.
func (s *service) nameOf(id logbook.ID) string {
	if label, ok := s.Auth.Labels()[id]; ok {
		return label
	}
	return id.String()
}
