package api

import (
	"errors"
	"fmt"
	"net/http"
	"time"

	"github.com/labstack/echo/v4"

	"evenwhite/api/pairing"
	"evenwhite/logbook"
	"evenwhite/logbook/exchange"
	"evenwhite/openapi"
)

// An eventStream is one device that waits to be woken. While it waits it holds no
// lock and no transaction.
type eventStream struct {
	echo.Context
	control *http.ResponseController
	over    <-chan struct{}
	known   string // the place that was sent to the device last
	waiting int    // how many edits it was told that wait for an owner
}

func (e *eventStream) send(text string) error {
	if _, err := e.Response().Write([]byte(text)); err != nil {
		return err
	}
	return e.control.Flush()
}

// supported passes over what a connection cannot do.
func supported(err error) error {
	if errors.Is(err, http.ErrNotSupported) {
		return nil
	}
	return err
}

// GetEvents wakes a device whenever the log goes on.
func (s *service) GetEvents(c echo.Context, production openapi.ProductionParameter, params openapi.GetEventsParams) error {
	l, err := s.log(production)
	if err != nil {
		return err
	}
	open, err := s.streams.enter(callerOf(c.Request().Context()).Device, c.RealIP())
	if err != nil {
		return err
	}
	defer s.streams.leave(open)
	e := &eventStream{Context: c, over: open.over, control: http.NewResponseController(c.Response())}
	if params.LastEventIDParameter != nil {
		e.known = *params.LastEventIDParameter
	}
	if err := supported(e.control.SetReadDeadline(time.Time{})); err != nil { // that of a request ends the connection
		return err
	}
	h := c.Response().Header()
	h.Set(echo.HeaderContentType, "text/event-stream")
	h.Set("Cache-Control", "no-store")
	if c.Request().ProtoMajor == 1 {
		h.Set("Connection", "close") // else it is held after the stream was ended, idle
	}
	c.Response().WriteHeader(http.StatusOK)
	if err := e.control.Flush(); err != nil {
		return err
	}
	return s.wake(e, l)
}

// wake sends events until the device leaves, may no longer listen, or the server
// stops. The ends of a stream are no errors.
func (s *service) wake(e *eventStream, l *exchange.Peer) error {
	beat := time.NewTicker(s.Heartbeat)
	defer beat.Stop()
	for {
		changed, admitted := l.Changed(), s.Auth.Changed()
		caller, err := s.mayListen(e, l.Production())
		if err != nil {
			return nil
		}
		if n := l.Waiting(); n != e.waiting && caller.May(pairing.Owner, l.Production()) == nil {
			if e.send(fmt.Sprintf("event: aside\ndata: %d\n\n", n)) != nil {
				return nil
			}
			e.waiting = n
		}
		end, err := l.Place()
		if err != nil {
			return err
		}
		if end != e.known {
			if e.send(fmt.Sprintf("id: %s\ndata: new\n\n", end)) != nil {
				return nil
			}
			e.known = end
		}
		select {
		case <-changed:
		case <-admitted:
		case <-beat.C:
			if e.send(": here\n\n") != nil {
				return nil
			}
		case <-e.over: // the device opened newer ones
			return nil
		case <-e.Request().Context().Done():
			return nil
		}
	}
}

// mayListen asks again what the gate asked when the stream began.
func (s *service) mayListen(e *eventStream, production logbook.ID) (pairing.Caller, error) {
	caller, err := s.Auth.Listening(e.Request().Header.Get(echo.HeaderAuthorization))
	if err != nil {
		return caller, err
	}
	return caller, caller.May(pairing.Reader, production)
}
