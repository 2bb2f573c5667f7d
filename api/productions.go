package api

import (
	"errors"

	"github.com/labstack/echo/v4"

	"evenwhite/api/pairing"
	"evenwhite/api/removal"
	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
	"evenwhite/openapi"
)

// ListProductions lists those in which the caller has a role.
func (s *service) ListProductions(c echo.Context, _ openapi.ListProductionsParams) error {
	ids, err := s.Store.Productions()
	if err != nil {
		return err
	}
	type production struct {
		ID    logbook.ID   `json:"id"`
		Title string       `json:"title,omitempty"`
		Role  pairing.Role `json:"role"`
		// Damaged says that the production cannot be served, and what to do.
		Damaged string `json:"damaged,omitempty"`
	}
	caller := callerOf(c.Request().Context())
	removed, err := s.removed(caller)
	if err != nil {
		return err
	}
	out := struct {
		Productions []production   `json:"productions"`
		Removed     []removal.Mark `json:"removed,omitempty"`
	}{[]production{}, removed}
	for _, id := range ids {
		role := caller.RoleIn(id)
		if role == "" {
			continue
		}
		p := production{ID: id, Role: role}
		l, err := s.Logs.Open(id)
		if errors.Is(err, logbook.ErrDamaged) {
			p.Damaged = adviceOn(logbook.ErrDamaged)
			out.Productions = append(out.Productions, p)
			continue
		}
		if errors.Is(err, logbook.ErrRemoved) { // since they were listed
			continue
		}
		if err != nil {
			return err
		}
		head, err := l.Head()
		if errors.Is(err, logbook.ErrNoProduction) {
			continue
		}
		if err != nil {
			return err
		}
		if head.Seq == 0 {
			continue // begun by an exchange that brought nothing yet
		}
		l.Read(func(b *logbook.Book) {
			if v, ok := b.RecordOf(kinds.Production, id); ok {
				p.Title = v.Text("title")
			}
		})
		out.Productions = append(out.Productions, p)
	}
	return answerTagged(c, out)
}

// CreateProduction begins a production; an owner of the server may.
func (s *service) CreateProduction(c echo.Context, params openapi.CreateProductionParams) error {
	return s.create(c, params.IdempotencyKeyParameter, kinds.Production, s.Logs.Open)
}

// GetProduction answers with the record of the production itself.
func (s *service) GetProduction(c echo.Context, production openapi.ProductionParameter, params openapi.GetProductionParams) error {
	return s.GetRecord(c, production, openapi.KindParameter(kinds.Production), production, openapi.GetRecordParams(params))
}

// PatchProduction changes the record of the production itself.
func (s *service) PatchProduction(c echo.Context, production openapi.ProductionParameter, params openapi.PatchProductionParams) error {
	return s.PatchRecord(c, production, openapi.KindParameter(kinds.Production), production, openapi.PatchRecordParams(params))
}

// DeleteProduction strikes the record of the production out.
func (s *service) DeleteProduction(c echo.Context, production openapi.ProductionParameter, params openapi.DeleteProductionParams) error {
	return s.DeleteRecord(c, production, openapi.KindParameter(kinds.Production), production, openapi.DeleteRecordParams(params))
}
