package api

import (
	"encoding/json"
	"net/http"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"evenwhite/api/pairing"
	"evenwhite/logbook"
	"evenwhite/openapi"
)

func admissionAnswer(a pairing.Admission) openapi.Admission {
	out := openapi.Admission{Device: openapiID(a.Device), Role: openapi.Role(a.Role),
		Productions: a.Productions, Token: a.Token, ExpiresAt: a.ExpiresAt}
	if a.Secret != "" {
		out.Secret = &a.Secret
	}
	return out
}

// Pair redeems an invitation.
func (s *service) Pair(c echo.Context) error {
	var said openapi.Pairing
	if err := json.Unmarshal(bodyOf(c), &said); err != nil {
		return err
	}
	request := pairing.Request{Address: c.RealIP(), Code: said.Code}
	if said.Label != nil {
		request.Label = *said.Label
	}
	if said.Device != nil {
		request.Device = logbook.ID(*said.Device)
	}
	if said.Secret != nil {
		request.Secret = *said.Secret
	}
	admission, err := s.Auth.Pair(request)
	if err != nil {
		return err
	}
	c.Response().Header().Set(echo.HeaderLocation, "/v1/devices/"+admission.Device.String())
	return answer(c, http.StatusCreated, admissionAnswer(admission))
}

// RenewToken gives the next token for a secret, or for a token that still holds.
func (s *service) RenewToken(c echo.Context) error {
	var said openapi.TokenRequest
	if err := json.Unmarshal(bodyOf(c), &said); err != nil {
		return err
	}
	var admission pairing.Admission
	var err error
	switch {
	case said.Device != nil && said.Secret != nil:
		admission, err = s.Auth.Reissue(logbook.ID(*said.Device), *said.Secret)
	case said.Device != nil || said.Secret != nil:
		return wrong("device and secret", "one of them", "both, or neither under a token that is still valid")
	default:
		var caller pairing.Caller
		if caller, err = s.Auth.Authenticate(c.Request().Header.Get(echo.HeaderAuthorization)); err == nil {
			admission, err = s.Auth.Renew(caller.Device)
		}
	}
	if err != nil {
		return err
	}
	return answer(c, http.StatusOK, admissionAnswer(admission))
}

func invitationAnswer(i pairing.Invitation) openapi.Invitation {
	out := openapi.Invitation{Code: i.Code, Role: openapi.Role(i.Role), Label: i.Label, By: &i.By, ExpiresAt: i.ExpiresAt}
	if !i.Production.IsZero() {
		id := openapiID(i.Production)
		out.Production = &id
	}
	return out
}

// Invite makes an invitation to a production, or to the whole server.
func (s *service) Invite(c echo.Context, params openapi.InviteParams) error {
	var said openapi.InvitationRequest
	if err := json.Unmarshal(bodyOf(c), &said); err != nil {
		return err
	}
	var production logbook.ID
	if said.Production != nil {
		production = logbook.ID(*said.Production)
	}
	caller := callerOf(c.Request().Context())
	if err := caller.May(pairing.Owner, production); err != nil {
		return err
	}
	if said.Production != nil {
		if _, err := s.log(*said.Production); err != nil {
			return err
		}
	}
	return s.once(c, params.IdempotencyKeyParameter, func(logbook.Writer) (deed, error) {
		invitation, err := s.Auth.Invite(caller.Name, pairing.Role(said.Role), said.Label, production)
		return deed{said: invitation}, err
	}, func(made deed) error {
		invitation := made.said.(pairing.Invitation)
		c.Response().Header().Set(echo.HeaderLocation, "/v1/invitations/"+invitation.Code)
		return answer(c, http.StatusCreated, invitationAnswer(invitation))
	})
}

// ListInvitations lists the open invitations that the caller could have made.
func (s *service) ListInvitations(c echo.Context) error {
	out := openapi.Invitations{Invitations: []openapi.Invitation{}}
	for _, i := range s.Auth.Invitations() {
		if callerOf(c.Request().Context()).May(pairing.Owner, i.Production) == nil {
			out.Invitations = append(out.Invitations, invitationAnswer(i))
		}
	}
	return answer(c, http.StatusOK, out)
}

// WithdrawInvitation ends an invitation that the caller could have made. Of any
// other it says that there is none: this address counts no tries, and whoever
// learned here that a code is open could redeem it.
func (s *service) WithdrawInvitation(c echo.Context, code openapi.CodeParameter) error {
	for _, i := range s.Auth.Invitations() {
		if i.Is(code) && callerOf(c.Request().Context()).May(pairing.Owner, i.Production) != nil {
			return pairing.ErrNoInvitation
		}
	}
	if err := s.Auth.Withdraw(code); err != nil {
		return err
	}
	return c.NoContent(http.StatusNoContent)
}

// ListDevices lists the devices: all for an owner of the server, for an owner of
// productions those that have a role there, and of their roles those alone.
func (s *service) ListDevices(c echo.Context) error {
	caller := callerOf(c.Request().Context())
	out := openapi.Devices{Devices: []openapi.Device{}}
	for _, d := range s.Auth.Devices() {
		roles, inside := map[string]openapi.Role{}, caller.Owns(pairing.Everywhere)
		for production, role := range d.Grants {
			if caller.Owns(production) || production == pairing.Everywhere {
				roles[production], inside = openapi.Role(role), true
			}
		}
		if !inside {
			continue
		}
		device := openapi.Device{Device: openapiID(d.ID), Label: d.Label, Roles: roles}
		if d.Own {
			device.Own = &d.Own
		} else {
			device.PairedAt = &d.PairedAt
		}
		if !d.RevokedAt.IsZero() {
			device.RevokedAt = &d.RevokedAt
		}
		out.Devices = append(out.Devices, device)
	}
	return answer(c, http.StatusOK, out)
}

// RevokeDevice ends a device's admission, or its roles where the caller is owner.
func (s *service) RevokeDevice(c echo.Context, device openapi.DeviceParameter, params openapi.RevokeDeviceParams) error {
	caller := callerOf(c.Request().Context())
	var err error
	if caller.Owns(pairing.Everywhere) {
		err = s.Auth.Revoke(logbook.ID(device), params.LastOwnerParameter != nil && *params.LastOwnerParameter)
	} else {
		err = s.Auth.RevokeWhere(logbook.ID(device), caller)
	}
	if err != nil {
		return err
	}
	return c.NoContent(http.StatusNoContent)
}

func openapiID(id logbook.ID) uuid.UUID { return uuid.UUID(id) }
