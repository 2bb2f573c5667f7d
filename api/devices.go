package api

import (
	"encoding/json"
	"net/http"
	"time"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"evenwhite/api/pairing"
	"evenwhite/api/pairing/audit"
	"evenwhite/logbook"
	"evenwhite/openapi"
)

func invitationAnswer(i pairing.Invitation) openapi.Invitation {
	out := openapi.Invitation{Code: i.Code, Role: openapi.Role(i.Role), Label: i.Label, By: &i.By, ExpiresAt: i.ExpiresAt}
	if !i.Production.IsZero() {
		id := openapiID(i.Production)
		out.Production = &id
	}
	if i.New {
		out.NewProductions = &i.New
	}
	return out
}

// toldOnce adds what only whoever invites is told: the link, with its secret, and the link as a picture. A link too long for one
// is typed as a code.
func (s *service) toldOnce(i pairing.Invitation) openapi.Invitation {
	out := invitationAnswer(i)
	if s.Site.Origin == "" {
		return out
	}
	link := PairLink(s.Site.Origin, i.Secret)
	out.Link = &link
	if s.Draw == nil {
		return out
	}
	if picture, err := s.Draw(link, "QR code of the invitation"); err == nil {
		out.Drawing = &picture
	}
	return out
}

// PairLink is what a phone scans: the page of an origin that redeems a secret. Browsers send
// nothing of what stands behind #.
func PairLink(origin, secret string) string { return origin + "/pair#" + secret }

// Invite makes an invitation to a production, or to the whole server.
func (s *service) Invite(c echo.Context, params openapi.InviteParams) error {
	var said openapi.InvitationRequest
	if err := json.Unmarshal(bodyOf(c), &said); err != nil {
		return err
	}
	caller := callerOf(c.Request().Context())
	production, err := s.letInto(caller, said.Production)
	if err != nil {
		return err
	}
	invite := s.Auth.Invite
	if said.NewProductions != nil && *said.NewProductions {
		if err := caller.May(pairing.ServerOwner, production); err != nil {
			return err
		}
		invite = s.Auth.InviteNew
	}
	return s.once(c, params.IdempotencyKeyParameter, func(logbook.Writer) (deed, error) {
		invitation, err := invite(caller.Name, pairing.Role(said.Role), said.Label, production)
		return deed{invited: &invitation}, err
	}, func(made deed) error {
		invitation := *made.invited
		c.Response().Header().Set(echo.HeaderLocation, "/v1/invitations/"+invitation.Code)
		return answer(c, http.StatusCreated, s.toldOnce(invitation))
	})
}

// letInto returns the production that was named, zero for the whole server, where the caller
// may let others in, and it is here.
func (s *service) letInto(caller pairing.Caller, named *openapi.ProductionParameter) (production logbook.ID, err error) {
	if named != nil {
		production = logbook.ID(*named)
	}
	if err := caller.May(pairing.Owner, production); err != nil {
		return production, err
	}
	if err := caller.MayLetIn(); err != nil {
		return production, err
	}
	if named != nil {
		_, err = s.log(*named)
	}
	return production, err
}

// ListInvitations lists the open invitations that the caller could have made.
func (s *service) ListInvitations(c echo.Context, _ openapi.ListInvitationsParams) error {
	out := openapi.Invitations{Invitations: []openapi.Invitation{}}
	for _, i := range s.Auth.Invitations() {
		if callerOf(c.Request().Context()).May(pairing.Owner, i.Production) == nil {
			out.Invitations = append(out.Invitations, invitationAnswer(i))
		}
	}
	return answerTagged(c, out)
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
func (s *service) ListDevices(c echo.Context, _ openapi.ListDevicesParams) error {
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
		device := deviceAnswer(d)
		device.Roles = roles
		out.Devices = append(out.Devices, device)
	}
	return answerTagged(c, out)
}

// deviceAnswer says what is known of a device.
func deviceAnswer(d pairing.Device) openapi.Device {
	out := openapi.Device{Device: openapiID(d.ID), Label: d.Label, Roles: map[string]openapi.Role{}}
	for production, role := range d.Grants {
		out.Roles[production] = openapi.Role(role)
	}
	if d.Own {
		out.Own = &d.Own
		return out
	}
	out.PairedAt = &d.PairedAt
	if !d.RevokedAt.IsZero() {
		out.RevokedAt = &d.RevokedAt
	}
	if d.Script() {
		out.ExpiresAt = &d.ExpiresAt
	} else {
		keyed := d.Keyed()
		out.Keyed = &keyed
	}
	if !d.Claims.Device.IsZero() {
		out.Claims = &openapi.Claim{Device: openapiID(d.Claims.Device), Label: &d.Claims.Label}
	}
	seen := d.Seen
	if !seen.At.IsZero() {
		out.SeenAt = &seen.At
	}
	if seen.Clock != nil {
		ahead := int64(*seen.Clock / time.Second)
		out.ClockAheadSeconds = &ahead
	}
	if out.Unsent = seen.Unsent; seen.Program != "" {
		out.Program = &seen.Program
	}
	return out
}

// AnswerClaim lets a device have the id that it claims, or not.
func (s *service) AnswerClaim(c echo.Context, device openapi.DeviceParameter) error {
	var said openapi.ClaimAnswer
	if err := json.Unmarshal(bodyOf(c), &said); err != nil {
		return err
	}
	id, err := s.Auth.AnswerClaim(logbook.ID(device), said.Agreed)
	if err != nil {
		return err
	}
	if said.Agreed {
		s.audited(c, audit.Claimed, s.nameOf(id)+" has the id "+id.String())
	}
	return answer(c, http.StatusOK, openapi.ClaimedDevice{Device: openapiID(id)})
}

// RevokeDevice ends a device's admission, or its roles where the caller is owner.
func (s *service) RevokeDevice(c echo.Context, device openapi.DeviceParameter, params openapi.RevokeDeviceParams) error {
	caller, name := callerOf(c.Request().Context()), s.nameOf(logbook.ID(device))
	var err error
	if caller.Owns(pairing.Everywhere) {
		err = s.Auth.Revoke(logbook.ID(device), params.LastOwnerParameter != nil && *params.LastOwnerParameter)
	} else {
		err = s.Auth.RevokeWhere(logbook.ID(device), caller)
	}
	if err != nil {
		return err
	}
	s.audited(c, audit.Revoked, name)
	return c.NoContent(http.StatusNoContent)
}

func openapiID(id logbook.ID) uuid.UUID { return uuid.UUID(id) }
