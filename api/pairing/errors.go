package pairing

import (
	"errors"
	"fmt"
	"time"

	"evenwhite/api/pairing/proof"
)

// Errors about who asks.
var (
	ErrNoToken     = errors.New("no token was sent: Authorization: DPoP <token>, or Bearer <token> of a script")
	ErrBadToken    = errors.New("the token is not valid here or has expired")
	ErrExpired     = fmt.Errorf("%w: it has expired, ask for a new one with the device's key or secret", ErrBadToken)
	ErrOtherServer = fmt.Errorf("%w: it is another server's", ErrBadToken)
	ErrNoProof     = errors.New("it needs a proof by the device's key, in the header DPoP; beside a token: Authorization: DPoP <token>")
	ErrProof       = proof.ErrProof
	ErrNonce       = proof.ErrNonce
	ErrRevoked     = errors.New("the device is no longer admitted")
	ErrUnknown     = errors.New("no device of this kind was admitted here: pair it, and claim the id that it had; it keeps its edits")
	ErrSecret      = errors.New("the device and its secret do not belong together")
	ErrRole        = errors.New("the device's role does not allow this")
	ErrCode        = errors.New("the code is not valid: it was used, has expired, or never was")
)

// Errors about the device, invitation or moment that is asked for.
var (
	ErrNoDevice     = errors.New("there is no such device")
	ErrNoInvitation = errors.New("there is no such invitation")
	ErrPaired       = errors.New("it exists already") // the device
	ErrOwnDevice    = errors.New("the server's own device stays")
	ErrNoClaim      = errors.New("the device claims no id")
	ErrUnsent       = errors.New("the device holds edits that no server has")
	ErrLastOwner    = errors.New("it is the last owner of this server")
	ErrTooMany      = errors.New("too many tries")
)

// TooMany is ErrTooMany with the time after which another try is heard.
type TooMany struct{ After time.Duration }

func (t *TooMany) Error() string {
	return fmt.Sprintf("%s: try again in %d s", ErrTooMany, t.Seconds())
}

func (t *TooMany) Unwrap() error { return ErrTooMany }

// Seconds is After in whole seconds, 1 or more.
func (t *TooMany) Seconds() int { return max(1, int((t.After+time.Second-1)/time.Second)) }

// A FieldError is something typed that is not allowed. Value is at most 80 characters
// of it, so that it may be repeated.
type FieldError struct{ Field, Value, Allowed string }

func (e *FieldError) Error() string {
	return fmt.Sprintf("the request holds a value that is not allowed: %s is %s; allowed: %s", e.Field, e.Value, e.Allowed)
}

func refused(field, value, allowed string) error {
	return &FieldError{field, shortened(value), allowed}
}

func shortened(s string) string {
	const most = 80
	if runes := []rune(s); len(runes) > most {
		return string(runes[:most]) + "…"
	}
	return s
}

// errOvertaken says that another process changed a device first.
var errOvertaken = errors.New("the device was changed meanwhile: ask again")
