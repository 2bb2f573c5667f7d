package api

import (
	"context"
	"log/slog"
	"net/http"
	"time"

	"github.com/labstack/echo/v4"

	"evenwhite/api/link"
	"evenwhite/api/pairing"
	"evenwhite/api/quota"
	"evenwhite/api/uplink"
	"evenwhite/logbook"
	"evenwhite/logbook/answers"
	"evenwhite/logbook/exchange"
	"evenwhite/openapi"
)

// Config is what the service is made of.
type Config struct {
	Store   logbook.Store
	Logs    *Logs // of the store; nil where nobody else works on them
	Auth    *pairing.Auth
	Now     func() time.Time
	Log     *slog.Logger
	Program string // name and version, as /version and colour logs say them
	Site    Site
	// Names are those by which the server may be called, beside addresses and, at the
	// machine, localhost.
	Names []string
	// Seat names whom the server lets in without a token, such as who sits at the machine, and
	// the role on the whole server; "" where it lets nobody in. nil: nobody ever is.
	Seat func(*http.Request) (name string, role pairing.Role)
	// Draw makes a picture (SVG) of what is to be scanned off a screen; nil: nothing is drawn.
	Draw func(text, title string) (string, error)
	// LinkKey is the key under which secrets of links are hashed; no backup holds it.
	LinkKey []byte
	// Backups are those of the store; nil: none are made.
	Backups Backups
	// Removals is the folder in which the files of removed productions are put.
	Removals string
	// Uplinks says how the links with other servers stand; nil: there are none.
	Uplinks func() []uplink.State
	// State says what is wrong with the server although it answers; nil: nothing ever is.
	State func() State
	// AsOf says how new what is read is, while the store does not answer; else zero. nil: it is here.
	AsOf func() time.Time
	// Heartbeat is how often an event stream shows that it stands; 0: 15 s.
	Heartbeat time.Duration
}

// State is how the server stands.
type State struct {
	Warnings []string // in words for anybody
	Degraded bool     // they tell of something that is not done
	Err      error    // it takes no changes
}

// service answers the operations of the contract.
type service struct {
	Config
	origins   []string // of the site
	repeats   *repeats
	links     *link.Links
	metrics   metrics
	stills    stillDoor
	listings  listingDoor
	streams   openStreams
	requests  *quota.Budget // in hand
	bodies    *quota.Budget // bytes
	colorLogs turns
	off       offAnswers
}

// What one device may ask at once, an address where nobody is known yet, and all
// together.
const (
	requestsAtOnce = 1024
	requestsEach   = 32
	bodiesAtOnce   = 256 << 20
	bodiesEach     = 32 << 20
)

var _ openapi.ServerInterface = (*service)(nil)

// New puts the service together. It fails where the contract is not whole or the
// router does not hold exactly its operations.
func New(c Config) (http.Handler, error) {
	if c.Logs == nil {
		c.Logs = NewLogs(c.Store)
	}
	if c.Heartbeat == 0 {
		c.Heartbeat = 15 * time.Second
	}
	known, err := openRepeats(c.Store)
	if err != nil {
		return nil, err
	}
	links, err := link.Open(c.Store, c.LinkKey, c.Now)
	if err != nil {
		return nil, err
	}
	s := &service{Config: c, origins: c.Site.origins(), repeats: known, links: links, stills: newStillDoor(), listings: newListingDoor(),
		requests: quota.NewBudget(requestsAtOnce, requestsEach), bodies: quota.NewBudget(bodiesAtOnce, bodiesEach)}
	e := echo.New()
	e.HTTPErrorHandler = errorHandler(c.Log)
	e.IPExtractor = echo.ExtractIPDirect() // a header would let a guesser of codes be anybody
	addManners(e, s)
	router, err := newContractRouter(e, s)
	if err != nil {
		return nil, err
	}
	openapi.RegisterHandlers(router, s)
	return e, router.whole()
}

// log finds the log of a production that is in the store.
func (s *service) log(production openapi.ProductionParameter) (*exchange.Peer, error) {
	return s.Logs.Find(logbook.ID(production))
}

func (s *service) now() logbook.Millis { return logbook.MillisOf(s.Now()) }

type callerKey struct{}

func withCaller(ctx context.Context, c pairing.Caller) context.Context {
	return context.WithValue(ctx, callerKey{}, c)
}

// callerOf returns who makes the request; on an open operation, a caller without
// any role.
func callerOf(ctx context.Context) pairing.Caller {
	c, _ := ctx.Value(callerKey{}).(pairing.Caller)
	return c
}

// asker is who a request is counted for.
func asker(c echo.Context) string {
	if caller := callerOf(c.Request().Context()); !caller.Device.IsZero() {
		return caller.Device.String()
	}
	return "from " + c.RealIP()
}

// writer is who a change by REST is written by: the server's own device, on
// behalf of the caller.
func (s *service) writer(c echo.Context) logbook.Writer {
	caller := callerOf(c.Request().Context())
	return logbook.Writer{Device: s.Auth.Own(), By: caller.Name, Now: s.now(), Via: caller.Device}
}

// answer writes a value, or what lies somewhere, as JSON.
func answer(c echo.Context, status int, value any) error {
	b, err := answers.JSON(value)
	if err != nil {
		return err
	}
	if h := c.Response().Header(); h.Get("Cache-Control") == "" {
		h.Set("Cache-Control", "no-store")
	}
	return c.Blob(status, echo.MIMEApplicationJSON, b)
}
