package api

import (
	"errors"
	"fmt"
	"io"

	"github.com/labstack/echo/v4"

	"evenwhite/api/pairing"
	"evenwhite/logbook"
	"evenwhite/logbook/exchange"
)

// A server that lost everything is filled again by whoever holds the edits: an owner of
// the server, or who was let in with new productions, brings the first of them, and the log begins with these. Made by hand, the
// production would have a second record of itself, in conflict with the first.

// begin begins the log of a production that is not here.
func (s *service) begin(c echo.Context, production logbook.ID) (*exchange.Peer, error) {
	caller := callerOf(c.Request().Context())
	if !caller.Brings() {
		return nil, fmt.Errorf("%w: %s is not on this server yet. An owner of the server brings it, or who was let in with new productions, "+
			"by an exchange or a bundle; keep what you hold, and exchange again after that", logbook.ErrNoProduction, production)
	}
	l, err := s.Logs.Open(production)
	if err != nil || caller.Owns(pairing.Everywhere) {
		return l, err
	}
	if err := s.Auth.Brought(caller.Device, production); err != nil {
		return nil, err
	}
	c.SetRequest(c.Request().WithContext(withCaller(c.Request().Context(), caller.With(production, pairing.Owner))))
	return l, nil
}

// isNew reports whether a production is not on this server and never was.
func (s *service) isNew(production logbook.ID) bool {
	_, err := s.Logs.Find(production)
	return errors.Is(err, logbook.ErrNoProduction)
}

// refilled begins a log for an exchange. It may bring nothing: a phone first hears what the
// server holds, and then offers what that lacks, which is everything.
func (s *service) refilled(c echo.Context, production logbook.ID, q *exchange.Request) (*exchange.Peer, error) {
	if len(q.Edits) > exchange.MaxPush {
		return nil, wrong("edits", fmt.Sprintf("%d items", len(q.Edits)), fmt.Sprintf("at most %d", exchange.MaxPush))
	}
	for i, e := range q.Edits {
		if e.Production != production {
			return nil, wrong(fmt.Sprintf("edits/%d/production", i), e.Production.String(), "the production of the address")
		}
		if _, err := logbook.EncodeEdit(e); err != nil {
			return nil, fmt.Errorf("edit %d (%s): %w", i, e.Dot, err)
		}
	}
	return s.begin(c, production)
}

// noRecords are the records that a log holds before it began.
func noRecords([]logbook.Dot) (map[logbook.Dot]logbook.RecordRef, error) { return nil, nil }

// refilledBy begins a log with a bundle, once its first edit has shown that it is one,
// and returns the bundle from its beginning.
func (s *service) refilledBy(c echo.Context, production logbook.ID, from io.Reader) (*exchange.Peer, io.Reader, error) {
	whole, err := exchange.FirstEdit(from, production)
	if errors.Is(err, io.EOF) {
		return nil, nil, fmt.Errorf("%w: %s is not on this server, and the bundle holds no edits", logbook.ErrNoProduction, production)
	}
	if err != nil {
		return nil, nil, err
	}
	l, err := s.begin(c, production)
	return l, whole, err
}
