package api

import (
	"encoding/json"
	"net/http"
	"time"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"evenwhite/api/link"
	"evenwhite/api/pairing"
	"evenwhite/api/pairing/audit"
	"evenwhite/logbook"
	"evenwhite/logbook/review"
	"evenwhite/openapi"
)

// sharedPage is the page that fetches what a link gives; its secret follows.
const sharedPage = "/g#"

func (s *service) linkAnswer(l link.Link) openapi.Link {
	out := openapi.Link{Id: openapiID(l.ID), Format: openapi.LinkFormat(l.Format), Label: l.Label, By: l.By,
		MadeAt: l.MadeAt, ExpiresAt: l.ExpiresAt, Downloads: l.Downloads}
	for _, part := range []struct {
		is logbook.ID
		to **uuid.UUID
	}{{l.Day, &out.Day}, {l.SetUp, &out.SetUp}} {
		if !part.is.IsZero() {
			id := openapiID(part.is)
			*part.to = &id
		}
	}
	for _, part := range []struct {
		is time.Time
		to **time.Time
	}{{l.LastAt, &out.LastAt}, {l.RevokedAt, &out.RevokedAt}} {
		if !part.is.IsZero() {
			*part.to = &part.is
		}
	}
	if why := openapi.LinkOver(s.links.Over(l)); why != "" {
		out.Over = &why
	}
	return out
}

// ListLinks lists the links of a production.
func (s *service) ListLinks(c echo.Context, production openapi.ProductionParameter) error {
	if _, err := s.log(production); err != nil {
		return err
	}
	out := openapi.Links{Links: []openapi.Link{}}
	for _, l := range s.links.Of(logbook.ID(production)) {
		out.Links = append(out.Links, s.linkAnswer(l))
	}
	return answer(c, http.StatusOK, out)
}

// MakeLink makes a link that lets a guest fetch one colour log.
func (s *service) MakeLink(c echo.Context, production openapi.ProductionParameter) error {
	var said openapi.LinkRequest
	if err := json.Unmarshal(bodyOf(c), &said); err != nil {
		return err
	}
	if err := callerOf(c.Request().Context()).MayLetIn(); err != nil {
		return err
	}
	l, err := s.log(production)
	if err != nil {
		return err
	}
	wish := link.Wish{Production: logbook.ID(production), Format: string(said.Format),
		Day: optionalID(said.Day), SetUp: optionalID(said.SetUp),
		Label: said.Label, By: callerOf(c.Request().Context()).Name, ExpiresAt: s.Now().UTC().Add(time.Duration(said.Hours) * time.Hour)}
	l.Read(func(b *logbook.Book) { err = review.InScope(b, wish.SetUp, wish.Day) })
	if err != nil {
		return err
	}
	made, secret, err := s.links.Make(wish)
	if err != nil {
		return err
	}
	s.audited(c, audit.Shared, "color-log."+made.Format+" for "+made.Label+" until "+made.ExpiresAt.Format(time.RFC3339))
	out, address := s.linkAnswer(made), s.Site.Origin+sharedPage+secret
	out.Link = &address
	return answer(c, http.StatusCreated, out)
}

// RevokeLink ends a link.
func (s *service) RevokeLink(c echo.Context, production openapi.ProductionParameter, id openapi.LinkParameter) error {
	if _, err := s.log(production); err != nil {
		return err
	}
	if err := s.links.Revoke(logbook.ID(production), logbook.ID(id)); err != nil {
		return err
	}
	s.audited(c, audit.Revoked, "the link "+logbook.ID(id).String())
	return c.NoContent(http.StatusNoContent)
}

// GetShared sends what a link gives.
func (s *service) GetShared(c echo.Context) error {
	var said openapi.SharedRequest
	if err := json.Unmarshal(bodyOf(c), &said); err != nil {
		return err
	}
	l, err := s.links.Use(said.Secret)
	if err != nil {
		return err
	}
	c.SetRequest(c.Request().WithContext(withCaller(c.Request().Context(), pairing.Caller{Name: "link for " + l.Label})))
	return s.colorLog(c, openapiID(l.Production), wish{scope: scopeOf(ofID(l.SetUp), ofID(l.Day))}, l.Format)
}

// ofID is the id as the contract has it; nil for the zero one.
func ofID(id logbook.ID) *uuid.UUID {
	if id.IsZero() {
		return nil
	}
	out := openapiID(id)
	return &out
}
