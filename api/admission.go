package api

import (
	"encoding/json"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"evenwhite/api/pairing"
	"evenwhite/api/pairing/audit"
	"evenwhite/logbook"
	"evenwhite/openapi"
)

// The headers of RFC 9449.
const (
	proofHeader = "DPoP"
	nonceHeader = "DPoP-Nonce"
)

// origins are all under which a proof may name the server, as a browser writes them.
func (s Site) origins() (all []string) {
	for _, origin := range slices.Concat([]string{s.Origin}, s.Origins) {
		if origin != "" {
			all = append(all, strings.ToLower(origin))
		}
	}
	return all
}

// credentials are what a request shows of who makes it.
func (s *service) credentials(c echo.Context) pairing.Credentials {
	r := c.Request()
	return pairing.Credentials{Authorization: r.Header.Get(echo.HeaderAuthorization), Proofs: r.Header.Values(proofHeader),
		Method: r.Method, Origins: s.origins, Path: r.URL.EscapedPath()}
}

// offerNonce hands who shows a proof the nonce for the next one.
func (s *service) offerNonce(c echo.Context) {
	if len(c.Request().Header.Values(proofHeader)) > 0 {
		c.Response().Header().Set(nonceHeader, s.Auth.Nonce())
	}
}

// challenge says how to come in (RFC 9110, section 11.6.1; RFC 9449, section 7.1).
func challenge(p Problem) string {
	code := `, error="invalid_token"`
	switch strings.TrimPrefix(p.Type, problemPrefix) {
	case "no-token":
		code = ""
	case "nonce":
		code = `, error="use_dpop_nonce"`
	case "bad-proof", "no-proof":
		code = `, error="invalid_dpop_proof"`
	}
	return `DPoP realm="evenwhite", algs="ES256"` + code + `, Bearer realm="evenwhite"`
}

func admissionAnswer(a pairing.Admission) openapi.Admission {
	out := openapi.Admission{Device: openapiID(a.Device), Role: openapi.Role(a.Role),
		Productions: a.Productions, Token: a.Token, TokenType: openapi.Bearer, ExpiresAt: a.ExpiresAt}
	if a.Bound {
		out.TokenType = openapi.DPoP
	}
	if !a.Claims.IsZero() {
		id := openapiID(a.Claims)
		out.Claims = &id
	}
	return out
}

// Pair redeems an invitation.
func (s *service) Pair(c echo.Context, _ openapi.PairParams) error {
	var said openapi.Pairing
	if err := json.Unmarshal(bodyOf(c), &said); err != nil {
		return err
	}
	request := pairing.Request{Address: c.RealIP(), Code: said.Code, Shown: s.credentials(c)}
	if said.Label != nil {
		request.Label = *said.Label
	}
	if said.Claims != nil {
		request.Claims.Device = logbook.ID(said.Claims.Device)
		if said.Claims.Label != nil {
			request.Claims.Label = *said.Claims.Label
		}
	}
	admission, err := s.Auth.Pair(request)
	if err != nil {
		return err
	}
	s.auditedBy(c, admission.Device, s.nameOf(admission.Device), audit.Paired, string(admission.As))
	c.Response().Header().Set(echo.HeaderLocation, "/v1/devices/"+admission.Device.String())
	return answer(c, http.StatusCreated, admissionAnswer(admission))
}

// RenewToken gives the next token to a device that proves itself: by its key, its secret, or
// a token that still holds.
func (s *service) RenewToken(c echo.Context, _ openapi.RenewTokenParams) error {
	var said openapi.TokenRequest
	if err := json.Unmarshal(bodyOf(c), &said); err != nil {
		return err
	}
	shown := s.credentials(c)
	var admission pairing.Admission
	var err error
	switch {
	case said.Device != nil && said.Secret != nil:
		if admission, err = s.Auth.Reissue(logbook.ID(*said.Device), *said.Secret, shown); err == nil && admission.Bound {
			s.auditedBy(c, admission.Device, s.nameOf(admission.Device), audit.Keyed, "its secret is void")
		}
	case said.Device != nil || said.Secret != nil:
		return wrong("device and secret", "one of them", "both, or neither with a proof or under a token that is still valid")
	case shown.Authorization == "" && len(shown.Proofs) > 0:
		admission, err = s.Auth.Recognise(shown)
	default:
		var caller pairing.Caller
		if caller, err = s.Auth.Authenticate(shown); err == nil {
			admission, err = s.Auth.Renew(caller.Device)
		}
	}
	if err == nil {
		err = s.Auth.Tell(admission.Device, pairing.Report{Unsent: said.Unsent, Program: said.Program})
	}
	if err != nil {
		return err
	}
	return answer(c, http.StatusOK, admissionAnswer(admission))
}

// MakeScript makes a token for a script. One that may do what an owner may is made at the
// machine alone.
func (s *service) MakeScript(c echo.Context) error {
	var said openapi.ScriptRequest
	if err := json.Unmarshal(bodyOf(c), &said); err != nil {
		return err
	}
	production, err := s.letInto(callerOf(c.Request().Context()), said.Production)
	if err != nil {
		return err
	}
	script, err := s.Auth.MakeScript(pairing.Role(said.Role), said.Label, production, time.Duration(said.Hours)*time.Hour)
	if err != nil {
		return err
	}
	s.audited(c, audit.Token, fmt.Sprintf("%s, %s until %s", said.Label, said.Role, script.ExpiresAt.Format(time.RFC3339)))
	c.Response().Header().Set(echo.HeaderLocation, "/v1/devices/"+script.Device.String())
	return answer(c, http.StatusCreated, openapi.Script{Device: openapiID(script.Device), Token: script.Token, ExpiresAt: script.ExpiresAt})
}
