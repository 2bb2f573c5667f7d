package api

import (
	"encoding/json"
	"errors"
	"fmt"
	"log/slog"
	"net/http"
	"strconv"

	"github.com/labstack/echo/v4"

	"evenwhite/api/door"
	"evenwhite/api/link"
	"evenwhite/api/pairing"
	"evenwhite/api/quota"
	"evenwhite/api/removal"
	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/advice"
	"evenwhite/logbook/amend"
	"evenwhite/logbook/colorlog"
	"evenwhite/logbook/exchange"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/footage"
	"evenwhite/logbook/rebuild"
	"evenwhite/logbook/states"
)

// Problem is the body of every answer from 400 on (RFC 9457).
type Problem struct {
	Type     string         `json:"type"`
	Title    string         `json:"title"`
	Status   int            `json:"status"`
	Detail   string         `json:"detail,omitempty"`
	Instance string         `json:"instance,omitempty"`
	Errors   []FieldProblem `json:"errors,omitempty"`
	More     int            `json:"more,omitempty"` // errors that are not listed
	Bundle   *bundleTally   `json:"bundle,omitempty"`
}

// FieldProblem says which part of a request is wrong, how it read, and what is
// allowed there.
type FieldProblem struct {
	Field   string `json:"field"`
	Value   string `json:"value"`
	Allowed string `json:"allowed"`
}

// ErrExists is wrapped where something is to be made that is there.
var ErrExists = errors.New("it exists already")

// Errors about the manner of asking.
var (
	ErrNoIfMatch = errors.New("If-Match is missing: send the ETag of the state that you saw")
	ErrStale     = errors.New("it has changed since: read it again and decide anew")
	ErrUnread    = errors.New("If-Match: * would decide a conflict unread: read the record and send its ETag")
	ErrSlow      = errors.New("the body did not arrive in time")
	ErrKeyReused = errors.New("this Idempotency-Key came with another request before")
	ErrKeySpent  = errors.New("what was made under this Idempotency-Key is over: it was used or withdrawn, its time was up, or the " +
		"server was started anew. Use another key")
	ErrBundle    = errors.New("the bundle is damaged")
	ErrTooLarge  = errors.New("the body is too large")
	ErrMediaType = errors.New("the Content-Type is not one that this operation takes")
	ErrCoding    = errors.New("the Content-Encoding is not one that this operation takes")
)

// Wrong is a request that cannot be understood or holds what is not allowed.
type Wrong struct {
	Detail string
	Fields []FieldProblem
}

func (w *Wrong) Error() string {
	if len(w.Fields) == 0 {
		return w.Detail
	}
	f := w.Fields[0]
	return fmt.Sprintf("%s: %s is %s; allowed: %s", w.Detail, f.Field, f.Value, f.Allowed)
}

// wrong is the error about one field.
func wrong(field, value, allowed string) error {
	return &Wrong{"the request holds a value that is not allowed", []FieldProblem{{field, shorten(value), allowed}}}
}

// shorten keeps what came from outside short where it is repeated to the sender.
func shorten(s string) string { return shortenTo(s, 80) }

func shortenTo(s string, most int) string {
	if len(s) <= most {
		return s
	}
	runes := []rune(s)
	if len(runes) <= most {
		return s
	}
	return string(runes[:most]) + "…"
}

// problemTable is the one place that turns an error into a status. The first row
// that matches counts.
var problemTable = []struct {
	err    error
	status int
	name   string
	title  string
}{
	{door.ErrHost, http.StatusMisdirectedRequest, "other-host", "This server has another name"},
	{door.ErrSite, http.StatusForbidden, "other-site", "Another site's page may change nothing"},
	{pairing.ErrNoToken, http.StatusUnauthorized, "no-token", "A token is needed"},
	{pairing.ErrNoProof, http.StatusUnauthorized, "no-proof", "A proof by the device's key is needed"},
	{pairing.ErrNonce, http.StatusUnauthorized, "nonce", "The proof needs a nonce of this server"},
	{pairing.ErrProof, http.StatusUnauthorized, "bad-proof", "The proof is not valid"},
	{pairing.ErrExpired, http.StatusUnauthorized, "expired", "The token has expired"},
	{pairing.ErrOtherServer, http.StatusUnauthorized, "other-server", "This is another server"},
	{pairing.ErrBadToken, http.StatusUnauthorized, "bad-token", "The token is not valid"},
	{pairing.ErrRevoked, http.StatusUnauthorized, "revoked", "The device is no longer admitted"},
	{pairing.ErrUnknown, http.StatusUnauthorized, "unknown-device", "The device is not known here"},
	{pairing.ErrSecret, http.StatusUnauthorized, "bad-secret", "The device is not recognised"},
	{pairing.ErrRole, http.StatusForbidden, "role", "The role does not allow this"},
	{pairing.ErrCode, http.StatusForbidden, "code", "The code is not valid"},
	{pairing.ErrTooMany, http.StatusTooManyRequests, "too-many", "Too many tries"},

	{logbook.ErrRemoved, http.StatusGone, "removed", "The production was removed from this server"},
	{removal.ErrNotRemoved, http.StatusNotFound, "not-removed", "The production was not removed"},
	{removal.ErrUnready, http.StatusConflict, "not-ready", "Something must be done first"},
	{removal.ErrOther, http.StatusPreconditionFailed, "not-held", "The caller holds something else"},
	{logbook.ErrWentOn, http.StatusPreconditionFailed, "stale", "It has changed since"},
	{logbook.ErrNoProduction, http.StatusNotFound, "no-production", "There is no such production"},
	{logbook.ErrNoRecord, http.StatusNotFound, "no-record", "There is no such record"},
	{states.ErrNotHeld, http.StatusNotFound, "state-not-held", "The log does not hold this state"},
	{states.ErrUnknown, http.StatusNotFound, "no-state", "There is no such state"},
	{states.ErrName, http.StatusBadRequest, "bad-state", "It is no name of a state"},
	{colorlog.ErrScope, http.StatusNotFound, "no-scope", "There is no such day or set-up"},
	{pairing.ErrNoDevice, http.StatusNotFound, "no-device", "There is no such device"},
	{pairing.ErrNoClaim, http.StatusNotFound, "no-claim", "The device claims no id"},
	{pairing.ErrNoInvitation, http.StatusNotFound, "no-invitation", "There is no such invitation"},
	{logbook.ErrNoAside, http.StatusNotFound, "not-aside", "No such edit is kept aside"},
	{amend.ErrNotRefused, http.StatusNotFound, "not-refused", "No refused edit is held under this dot"},
	{amend.ErrNoUndo, http.StatusConflict, "no-undo", "This edit cannot be undone"},
	{amend.ErrSettled, http.StatusConflict, "settled", "It was corrected or discarded before"},
	{ErrExists, http.StatusConflict, "exists", "It exists already"},
	{pairing.ErrPaired, http.StatusConflict, "exists", "It exists already"},
	{pairing.ErrUnsent, http.StatusConflict, "unsent", "The device holds edits that no server has"},
	{pairing.ErrLastOwner, http.StatusConflict, "last-owner", "It is the last owner"},
	{pairing.ErrOwnDevice, http.StatusConflict, "own-device", "The server's own device stays"},

	{footage.ErrNothing, http.StatusConflict, "nothing-to-adopt", "There is nothing to adopt"},
	{footage.ErrMoved, http.StatusPreconditionFailed, "stale", "It has changed since"},
	{footage.ErrTooLong, http.StatusRequestEntityTooLarge, "too-large", "The body is too large"},

	{ErrNoIfMatch, http.StatusPreconditionRequired, "no-if-match", "If-Match is needed"},
	{ErrUnread, http.StatusPreconditionRequired, "unread-conflict", "It is in conflict, and nobody read it"},
	{ErrStale, http.StatusPreconditionFailed, "stale", "It has changed since"},
	{ErrKeyReused, http.StatusUnprocessableEntity, "key-reused", "The Idempotency-Key was used before"},
	{ErrKeySpent, http.StatusConflict, "key-spent", "What was made under the Idempotency-Key is over"},
	{ErrTooLarge, http.StatusRequestEntityTooLarge, "too-large", "The body is too large"},
	{ErrSlow, http.StatusRequestTimeout, "too-slow", "The body did not arrive in time"},
	{ErrBundle, http.StatusUnprocessableEntity, "damaged-bundle", "The bundle is damaged"},
	{ErrMediaType, http.StatusUnsupportedMediaType, "media-type", "The Content-Type is not taken here"},

	{ErrCoding, http.StatusUnsupportedMediaType, "content-encoding", "The Content-Encoding is not taken here"},

	{exchange.ErrRows, http.StatusBadRequest, "not-rows", "Something sent as rows is none"},
	{exchange.ErrRecords, http.StatusConflict, "records-wanted", "Records that were left out are not known here"},
	{logbook.ErrForm, http.StatusBadRequest, "not-an-edit", "Something sent as an edit is none"},
	{logbook.ErrRequest, http.StatusBadRequest, "bad-request", "The request cannot be carried out"},
	{advice.ErrItself, http.StatusUnprocessableEntity, "same-camera", "A camera cannot be matched to itself"},
	{rebuild.ErrNoModel, http.StatusUnprocessableEntity, "no-model", "The set-up names none that it must match"},
	{figure.ErrUnknown, http.StatusConflict, "unknown-yet", "It cannot be computed yet"},
	{colorimetry.ErrClipped, http.StatusUnprocessableEntity, "patch-clipped", "The patch is clipped"},
	{colorimetry.ErrExposure, http.StatusUnprocessableEntity, "patch-exposure", "The patch is too dark or too bright"},
	{colorimetry.ErrNotNeutral, http.StatusUnprocessableEntity, "patch-not-neutral", "The patch is not near neutral"},
	{colorimetry.ErrDomain, http.StatusUnprocessableEntity, "outside-domain", "A colour is outside what can be computed"},
	{link.ErrNone, http.StatusNotFound, "no-link", "There is no such link"},
	{link.ErrOver, http.StatusForbidden, "link-over", "The link lets nobody in"},
	{link.ErrMany, http.StatusUnprocessableEntity, "too-many-links", "There are too many links"},
	{ErrNoBackups, http.StatusConflict, "no-backups", "No backups are made here"},
	{ErrBackup, http.StatusServiceUnavailable, "backup-failed", "The backup failed"},
	{logbook.ErrFull, http.StatusInsufficientStorage, "disk-full", "The disk is full"},
	{logbook.ErrAway, http.StatusServiceUnavailable, "store-away", "The store cannot be reached"},
	{link.ErrBusy, http.StatusServiceUnavailable, "busy", "Too much is asked at once"},
	{logbook.ErrBroken, http.StatusServiceUnavailable, "disk-failed", "The disk failed"},
	{logbook.ErrDamaged, http.StatusInternalServerError, "damaged", "The data is damaged"},
	{quota.ErrBusy, http.StatusServiceUnavailable, "busy", "Too much is asked at once"},
	{logbook.ErrClosed, http.StatusServiceUnavailable, "closing", "The server is stopping"},
}

// statusTable names what the router and the server find wrong by themselves.
var statusTable = map[int][2]string{
	http.StatusBadRequest:            {"bad-request", "The request cannot be understood"},
	http.StatusUnauthorized:          {"no-token", "A token is needed"},
	http.StatusForbidden:             {"role", "The role does not allow this"},
	http.StatusNotFound:              {"no-resource", "There is nothing at this address"},
	http.StatusMethodNotAllowed:      {"method", "This address does not take the method"},
	http.StatusNotAcceptable:         {"not-acceptable", "None of the accepted types is served here"},
	http.StatusRequestEntityTooLarge: {"too-large", "The body is too large"},
	http.StatusUnsupportedMediaType:  {"media-type", "The Content-Type is not taken here"},
	http.StatusServiceUnavailable:    {"closing", "The server is stopping"},
}

const problemPrefix = "urn:evenwhite:problem:"

// internalProblem says nothing of the inner error: its text may hold what is
// not the caller's.
var internalProblem = Problem{
	Type: problemPrefix + "internal", Title: "The server failed", Status: http.StatusInternalServerError,
	Detail: "The server could not carry this out; its log says more. Nothing is known to be stored: ask again.",
}

// problemOf turns any error into the problem that the caller reads.
func problemOf(err error) Problem {
	var part *partlyTaken
	if errors.As(err, &part) {
		p := problemOf(part.err)
		p.Bundle = &part.tally
		return p
	}
	var bad *Wrong
	if errors.As(err, &bad) {
		return Problem{
			Type: problemPrefix + "bad-request", Title: "The request holds what is not allowed",
			Status: http.StatusBadRequest, Detail: bad.Error(), Errors: bad.Fields,
		}
	}
	if fields := fieldProblems(err); len(fields) > 0 {
		return Problem{
			Type: problemPrefix + "bad-request", Title: "The request holds what is not allowed",
			Status: http.StatusBadRequest, Detail: err.Error(), Errors: fields,
		}
	}
	for _, row := range problemTable {
		if errors.Is(err, row.err) {
			p := Problem{Type: problemPrefix + row.name, Title: row.title, Status: row.status, Detail: err.Error()}
			if row.status >= http.StatusInternalServerError {
				p.Detail = adviceOn(row.err) // the text of the error may name files of the server
			}
			return p
		}
	}
	var fromEcho *echo.HTTPError
	if errors.As(err, &fromEcho) {
		if row, ok := statusTable[fromEcho.Code]; ok {
			return Problem{Type: problemPrefix + row[0], Title: row[1], Status: fromEcho.Code}
		}
	}
	return internalProblem
}

// adviceOn says what a person can do about a fault of the server.
func adviceOn(fault error) string {
	if fault == logbook.ErrDamaged {
		return "A part of the data cannot be read; the rest is still served. Run evenwhite check at the server, " +
			"restore the newest backup into another folder, and let every device exchange: they bring what came after."
	}
	return fault.Error()
}

// fieldProblems are the faults that were found in the fields of a record, or that
// pairing found in what was typed.
func fieldProblems(err error) []FieldProblem {
	var typed *pairing.FieldError
	if errors.As(err, &typed) {
		return []FieldProblem{{typed.Field, typed.Value, typed.Allowed}}
	}
	var one *logbook.FieldError
	all, ok := err.(amend.Errors)
	if !ok && errors.As(err, &one) {
		all = amend.Errors{one}
	}
	var out []FieldProblem
	for _, e := range all {
		out = append(out, FieldProblem{e.Field, shorten(string(e.Value)), e.Allowed})
	}
	return out
}

// errorHandler writes the problem of an error that a handler returned, and logs
// those that are the server's own fault together with the operation.
func errorHandler(log *slog.Logger) echo.HTTPErrorHandler {
	return func(err error, c echo.Context) {
		p := problemOf(err)
		if p.Status >= http.StatusInternalServerError && !errors.Is(err, quota.ErrBusy) {
			log.Error("the operation failed", "method", c.Request().Method, "path", c.Path(), "error", err)
		}
		if c.Response().Committed {
			return
		}
		if errors.Is(err, quota.ErrBusy) || errors.Is(err, logbook.ErrAway) || errors.Is(err, link.ErrBusy) {
			c.Response().Header().Set("Retry-After", "2")
		}
		if errors.Is(err, errOthersFirst) {
			c.Response().Header().Set("Retry-After", strconv.Itoa(int(longWait.Seconds())))
		}
		var many *pairing.TooMany
		if errors.As(err, &many) {
			c.Response().Header().Set("Retry-After", strconv.Itoa(many.Seconds()))
		}
		if err := writeProblem(c, p); err != nil {
			log.Warn("an answer could not be sent", "method", c.Request().Method, "path", c.Path(), "error", err)
		}
	}
}

// What a problem holds at most: its body stays below 16 kB whatever was sent.
const (
	mostDetail = 600 // characters
	mostListed = 12  // errors
)

// bound cuts what may be of any length: a body can hold a hundred wrong fields whose
// names are a page long.
func (p *Problem) bound() {
	p.Detail = shortenTo(p.Detail, mostDetail)
	if len(p.Instance) > mostDetail {
		p.Instance = "" // a part of an address is another address
	}
	if n := len(p.Errors) - mostListed; n > 0 {
		p.More, p.Errors = n, p.Errors[:mostListed]
	}
	for i, f := range p.Errors {
		p.Errors[i] = FieldProblem{shortenTo(f.Field, 120), shorten(f.Value), shortenTo(f.Allowed, mostDetail/2)}
	}
}

// writeProblem answers with a problem. Its instance is the path that was asked.
func writeProblem(c echo.Context, p Problem) error {
	h := c.Response().Header()
	if p.Status == http.StatusUnauthorized {
		h.Set("WWW-Authenticate", challenge(p))
	}
	h.Set("Cache-Control", "no-store")
	if c.Request().Method == http.MethodHead {
		return c.NoContent(p.Status)
	}
	p.Instance = c.Request().URL.EscapedPath()
	p.bound()
	b, err := json.Marshal(p)
	if err != nil {
		return err
	}
	return c.Blob(p.Status, "application/problem+json", b)
}
