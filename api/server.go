package api

import (
	"encoding/json"
	"log/slog"
	"net/http"
	"sync"
	"time"

	"github.com/labstack/echo/v4"

	"evenwhite/logbook"
	"evenwhite/openapi"
)

// Config is what the service is made of.
type Config struct {
	Store   logbook.Store
	Auth    *Auth
	Now     func() time.Time
	Log     *slog.Logger
	Program string // name and version, told by /version and in colour logs
}

// service answers the operations of the contract.
type service struct {
	Config
	repeats repeats

	mu   sync.Mutex
	logs map[logbook.ID]*logbook.Log
}

var _ openapi.ServerInterface = (*service)(nil)

// New puts the service together. It fails where the contract is not whole or the
// router does not hold exactly its operations.
func New(c Config) (http.Handler, error) {
	s := &service{Config: c, logs: map[logbook.ID]*logbook.Log{}}
	e := echo.New()
	e.HTTPErrorHandler = errorHandler(c.Log)
	e.IPExtractor = echo.ExtractIPDirect() // a header would let a guesser of codes be anybody
	router, err := newContractRouter(e, s)
	if err != nil {
		return nil, err
	}
	openapi.RegisterHandlers(router, s)
	return e, router.whole()
}

// log finds the log of a production that is in the store, opening it once.
func (s *service) log(production openapi.ProductionParameter) (*logbook.Log, error) {
	s.mu.Lock()
	l, ok := s.logs[logbook.ID(production)]
	s.mu.Unlock()
	if ok {
		return l, nil
	}
	ids, err := s.Store.Productions()
	if err != nil {
		return nil, err
	}
	for _, id := range ids {
		if id == logbook.ID(production) {
			return s.open(id)
		}
	}
	return nil, logbook.ErrNoProduction
}

// open opens a log, beginning it where it is new.
func (s *service) open(production logbook.ID) (*logbook.Log, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if l, ok := s.logs[production]; ok {
		return l, nil
	}
	l, err := logbook.OpenLog(s.Store, production, drawLine)
	if err != nil {
		return nil, err
	}
	s.logs[production] = l
	return l, nil
}

func drawLine() logbook.Line { return logbook.Line(drawBytes(8)) }

func (s *service) now() logbook.Millis { return logbook.MillisOf(s.Now()) }

// writer is who a change by REST is written by: the server's own device, on
// behalf of the caller.
func (s *service) writer(c echo.Context) logbook.Writer {
	return logbook.Writer{Device: s.Auth.Own(), By: callerOf(c.Request().Context()).Name, Now: s.now()}
}

// answer writes a value as JSON.
func answer(c echo.Context, status int, value any) error {
	b, err := json.Marshal(value)
	if err != nil {
		return err
	}
	c.Response().Header().Set("Cache-Control", "no-store")
	return c.Blob(status, echo.MIMEApplicationJSON, b)
}
