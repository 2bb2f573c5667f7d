package api

import (
	"net/http"

	"github.com/labstack/echo/v4"

	"evenwhite/logbook/kinds"
	"evenwhite/openapi"
)

// Site is how the server is called, and how it is known again.
type Site struct {
	// Origin is the one that a phone keeps its edits under: scheme, host and port, as in
	// https://set7.local:8443.
	Origin string
	// Origins are others under which it is asked, as in http://127.0.0.1:8480. The proof
	// of a device may name any of them.
	Origins []string
	Name    string
	// RootFingerprint is the SHA-256 of the root certificate's DER, in hexadecimal; "" where
	// a certificate from elsewhere is used, or none.
	RootFingerprint string
}

// GetServer answers which server this is, before anybody is let in.
func (s *service) GetServer(c echo.Context) error {
	out := openapi.Server{Identity: openapiID(s.Auth.Own()), Rules: kinds.Rules.Version, Paired: s.Auth.Paired()}
	for _, part := range []struct {
		is string
		to **string
	}{{s.Site.Origin, &out.Origin}, {s.Site.Name, &out.Name}, {s.Site.RootFingerprint, &out.RootFingerprint}} {
		if part.is != "" {
			*part.to = &part.is
		}
	}
	return answer(c, http.StatusOK, out)
}
