package api

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"os"
	"time"

	"github.com/labstack/echo/v4"

	"evenwhite/api/pairing"
	"evenwhite/api/pairing/audit"
	"evenwhite/logbook"
	"evenwhite/logbook/exchange"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/slate"
	"evenwhite/openapi"
)

// A bundle has bundleTime to arrive, and 10 s more for each MiB that came: 100 kB/s.
const (
	bundleTime = 12 * time.Minute
	perMiB     = 10 * time.Second
)

type bundleTally struct {
	Taken   int `json:"taken"`
	Repeat  int `json:"repeat"`
	Refused int `json:"refused"`
	Clash   int `json:"clash"`
	Aside   int `json:"aside"`
	Later   int `json:"later"`
}

// partlyTaken is the error at which a bundle ended, with what was taken before.
type partlyTaken struct {
	err   error
	tally bundleTally
}

func (p *partlyTaken) Error() string { return p.err.Error() }

func (p *partlyTaken) Unwrap() error { return p.err }

// A standingReader reads what a device sends for as long as it is admitted, and gives it more
// time for what came.
type standingReader struct {
	io.Reader
	auth   *pairing.Auth
	device logbook.ID
	until  func(time.Time) error // sets the time at which it must be here
	end    time.Time
	came   int // since end was set
}

func (r *standingReader) Read(b []byte) (int, error) {
	n, err := r.Reader.Read(b)
	if r.came += n; r.came >= 1<<20 {
		r.end, r.came = r.end.Add(time.Duration(r.came>>20)*perMiB), r.came&(1<<20-1)
		if err := r.until(r.end); err != nil {
			return n, err
		}
	}
	if r.device == r.auth.Own() { // of who sits at the machine, whom nobody revokes
		return n, err
	}
	if _, revoked := r.auth.Standing(r.device); revoked != nil {
		return 0, revoked
	}
	return n, err
}

// GetBundle writes edits as a file. An answer that ends early is cut off, and the
// bundle in it lacks its end.
func (s *service) GetBundle(c echo.Context, production openapi.ProductionParameter, params openapi.GetBundleParams) error {
	l, err := s.log(production)
	if err != nil {
		return err
	}
	after := ""
	if params.AfterParameter != nil {
		after = *params.AfterParameter
	}
	part, err := l.Since(after)
	if err != nil {
		return err
	}
	damaged, err := l.Damaged() // of which none is in it
	if err != nil {
		return err
	}
	sum := sha256.Sum256(fmt.Appendf(nil, "%s %q %s %v", production, after, part.End(), damaged))
	tag := `"` + hex.EncodeToString(sum[:12]) + `"`
	h := c.Response().Header()
	h.Set("ETag", tag)
	h.Set("Cache-Control", "no-cache")
	if known := tagsKnown(c); known != "*" && matches(known, tag) {
		return c.NoContent(http.StatusNotModified)
	}
	var title, name string
	l.Read(func(b *logbook.Book) {
		if v, ok := b.RecordOf(kinds.Production, l.Production()); ok {
			title, name = v.Text("title"), slate.ShortName(v)
		}
	})
	h.Set(echo.HeaderContentType, echo.MIMEOctetStream)
	h.Set("Content-Disposition", disposition(title, name, l.Production(), "edits.bundle"))
	h.Set("Accept-Ranges", "none")
	h.Set("Link", fmt.Sprintf("<%s?%s>; rel=\"next\"", c.Request().URL.EscapedPath(), url.Values{"after": {part.End()}}.Encode()))
	c.Response().WriteHeader(http.StatusOK)
	if _, err := part.WriteBundle(c.Response()); err != nil {
		s.Log.Warn("a bundle could not be sent to its end", "production", production.String(), "error", err)
		panic(http.ErrAbortHandler)
	}
	s.audited(c, audit.Exported, "edits.bundle of "+title)
	return nil
}

// TakeBundle takes a bundle in as it arrives.
func (s *service) TakeBundle(c echo.Context, production openapi.ProductionParameter) error {
	l, err := s.log(production)
	if err != nil && !errors.Is(err, logbook.ErrNoProduction) {
		return err
	}
	control := http.NewResponseController(c.Response())
	until := func(at time.Time) error { return supported(control.SetReadDeadline(at)) }
	end := time.Now().Add(bundleTime)
	if err := until(end); err != nil {
		return err
	}
	caller := callerOf(c.Request().Context())
	var from io.Reader = &standingReader{Reader: c.Request().Body, auth: s.Auth, device: caller.Device, until: until, end: end}
	if l == nil {
		if l, from, err = s.refilledBy(c, logbook.ID(production), from); err != nil {
			return bundleEnded(err, bundleTally{})
		}
	}
	who := exchange.Bringer{Via: caller.Device, Guard: s.guard(callerOf(c.Request().Context()), l)}
	total, err := l.TakeBundle(from, who, s.now())
	if err != nil {
		return bundleEnded(err, bundleTally(total))
	}
	return answer(c, http.StatusOK, bundleTally(total))
}

// bundleEnded is the error at which a bundle ended early.
func bundleEnded(err error, tally bundleTally) error {
	var tooLarge *http.MaxBytesError
	switch {
	case errors.As(err, &tooLarge):
		return &partlyTaken{fmt.Errorf("%w: at most %d MiB are taken here, and what stood before is; bring the rest in bundles that "+
			"begin later (after), or by exchange, which has no end", ErrTooLarge, tooLarge.Limit>>20), tally}
	case errors.Is(err, os.ErrDeadlineExceeded):
		return &partlyTaken{fmt.Errorf("%w: a bundle has %s, and %s more for each MiB that came; what came is "+
			"taken: take it again, or write less into one with after", ErrSlow, bundleTime, perMiB), tally}
	case errors.Is(err, logbook.ErrDamaged):
		return &partlyTaken{fmt.Errorf("%w: %w", ErrBundle, err), tally}
	}
	return &partlyTaken{err, tally}
}
