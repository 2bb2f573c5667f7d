package pairing

import (
	"fmt"
	"maps"

	"evenwhite/logbook"
)

// Role says what a device may do. A greater role may do all that a smaller may.
type Role string

// The roles, from the greatest: an owner invites and revokes, an editor logs, post looks and
// writes notes, a reader looks, a guest fetches colour logs and nothing else.
const (
	Owner  Role = "owner"
	Editor Role = "editor"
	Post   Role = "post"
	Reader Role = "reader"
	Guest  Role = "guest"
)

// ServerOwner is asked for by operations that are about the whole server: an owner of one
// production is none. It is never given: Owner Everywhere is it.
const ServerOwner Role = "serverOwner"

var rank = map[Role]int{Guest: 1, Reader: 2, Post: 3, Editor: 4, Owner: 5}

// roleNames are the allowed words, for messages.
const roleNames = "owner, editor, post, reader, guest"

// Includes reports whether r may do what least may. A word that is no role
// includes nothing, and nothing includes it.
func (r Role) Includes(least Role) bool {
	return rank[least] > 0 && rank[r] >= rank[least]
}

// Everywhere is the key of a grant for the whole server.
const Everywhere = "*"

// New is the key of a grant to bring productions that are not here: whoever brings one is its owner.
const New = "new"

// Grants are a device's roles: by production id, Everywhere, or New.
type Grants map[string]Role

// Caller is the device that makes a request.
type Caller struct {
	Device logbook.ID
	Name   string // the device's label: the author of what it changes
	Grants Grants
	Script bool // it is no device but the token of a script
}

// MayLetIn returns ErrRole where the caller is a script: whom it let in could stay when its
// token is long over, and the token works for whoever finds it.
func (c Caller) MayLetIn() error {
	if c.Script {
		return fmt.Errorf("%w: the token of a script lets nobody in. Do it from a device, or at the machine: evenwhite pair, evenwhite token",
			ErrRole)
	}
	return nil
}

// RoleIn returns the greatest role that the caller has in a production, or "".
// The zero production stands for the server itself.
func (c Caller) RoleIn(production logbook.ID) Role {
	role := c.Grants[Everywhere]
	if production.IsZero() {
		return role
	}
	if here := c.Grants[production.String()]; rank[here] > rank[role] {
		role = here
	}
	return role
}

// Owns reports whether the caller is owner of a production of its own right or of the
// whole server; Everywhere asks for the latter.
func (c Caller) Owns(production string) bool {
	return c.Grants[Everywhere] == Owner || c.Grants[production] == Owner
}

// With is the caller with one more role.
func (c Caller) With(production logbook.ID, role Role) Caller {
	c.Grants = maps.Clone(c.Grants)
	c.Grants[production.String()] = role
	return c
}

// Brings reports whether the caller may bring productions that are not here.
func (c Caller) Brings() bool { return c.Owns(Everywhere) || c.Grants[New] != "" }

// May returns ErrRole unless the caller has at least a role in a production.
func (c Caller) May(least Role, production logbook.ID) error {
	if least == ServerOwner {
		least, production = Owner, logbook.ID{}
	}
	role := c.RoleIn(production)
	if role.Includes(least) {
		return nil
	}
	where := "on this server"
	if !production.IsZero() {
		where = "in production " + production.String()
	}
	if role == "" {
		return fmt.Errorf("%w: the device has no role %s; %s is needed", ErrRole, where, least)
	}
	return fmt.Errorf("%w: the device is %s %s; %s is needed", ErrRole, role, where, least)
}
