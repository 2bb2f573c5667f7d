package api

import (
	"errors"
	"fmt"
	"log/slog"
	"net/http"
	"runtime/debug"
	"slices"
	"strings"
	"time"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/labstack/echo/v4"
	"github.com/labstack/echo/v4/middleware"

	"evenwhite/api/door"
)

// addManners adds what holds for every request, whatever it asks for.
func addManners(e *echo.Echo, s *service) {
	e.Pre(headers, asOf(s.AsOf))
	e.Use(requestLines(s.Log, &s.metrics), patient, recovered(s.Log), heard(s.Names))
}

// headers go out with every answer.
func headers(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		door.SetHeaders(c.Response().Header())
		return next(c)
	}
}

// asOf says with every answer how new it can be at most, while the store gives no answer.
func asOf(of func() time.Time) echo.MiddlewareFunc {
	return func(next echo.HandlerFunc) echo.HandlerFunc {
		return func(c echo.Context) error {
			if of != nil {
				if at := of(); !at.IsZero() {
					c.Response().Header().Set("Evenwhite-As-Of", at.UTC().Format(time.RFC3339))
				}
			}
			return next(c)
		}
	}
}

// heard refuses who calls the server by a name that it does not have, and a change that
// comes from another site's page.
func heard(names []string) echo.MiddlewareFunc {
	return func(next echo.HandlerFunc) echo.HandlerFunc {
		return func(c echo.Context) error {
			if err := door.Called(c.Request(), names); err != nil {
				return err
			}
			if err := door.SameSite(c.Request()); err != nil {
				return err
			}
			return next(c)
		}
	}
}

// requestLines writes a line for each request and counts it. It names the operation
// by its path in the contract: a path as it was asked may hold a code, and a query a
// cursor. What is asked all day and went well is a line for debugging.
func requestLines(log *slog.Logger, counted *metrics) echo.MiddlewareFunc {
	return func(next echo.HandlerFunc) echo.HandlerFunc {
		return func(c echo.Context) error {
			begin := time.Now()
			if err := next(c); err != nil {
				c.Error(err)
			}
			r, status, spent := c.Request(), c.Response().Status, time.Since(begin)
			method := r.Method
			if c.Path() == "" { // anybody's invention
				method = "other"
			}
			counted.add(asked{method, c.Path(), status}, spent)
			level := slog.LevelInfo
			switch {
			case status >= http.StatusInternalServerError:
				level = slog.LevelWarn
			case status < http.StatusBadRequest &&
				(r.Method == http.MethodGet || r.Method == http.MethodHead || strings.HasSuffix(c.Path(), "/exchange")):
				level = slog.LevelDebug
			}
			if !log.Enabled(r.Context(), level) {
				return nil
			}
			said := []any{"method", r.Method, "path", c.Path(), "status", status,
				"ms", spent.Milliseconds(), "bytes", c.Response().Size, "from", c.RealIP()}
			if id := c.Param("production"); id != "" {
				said = append(said, "production", shorten(id))
			}
			if caller := callerOf(r.Context()); !caller.Device.IsZero() {
				said = append(said, "device", caller.Device.String())
			}
			log.Log(r.Context(), level, "request", said...)
			return nil
		}
	}
}

// writeTime is how long a receiver may take for one piece of an answer.
const (
	writeTime  = time.Minute
	writePiece = 64 << 10
)

// patient gives every piece of an answer its time: an answer may go out over a slow link,
// and whoever takes nothing is let go.
func patient(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		w := &timedWriter{c.Response().Writer, http.NewResponseController(c.Response().Writer)}
		if err := w.until(time.Time{}); err != nil { // that of the request before, on one connection
			return err
		}
		c.Response().Writer = w
		defer func() { _ = w.until(time.Now().Add(writeTime)) }() // what is still to be flushed
		return next(c)
	}
}

type timedWriter struct {
	http.ResponseWriter
	control *http.ResponseController
}

// Unwrap lets a http.ResponseController through.
func (w *timedWriter) Unwrap() http.ResponseWriter { return w.ResponseWriter }

func (w *timedWriter) until(at time.Time) error { return supported(w.control.SetWriteDeadline(at)) }

// Write implements io.Writer.
func (w *timedWriter) Write(b []byte) (n int, err error) {
	for first := true; first || len(b) > 0; first = false {
		if err := w.until(time.Now().Add(writeTime)); err != nil {
			return n, err
		}
		wrote, err := w.ResponseWriter.Write(b[:min(len(b), writePiece)])
		if n += wrote; err != nil {
			return n, err
		}
		b = b[wrote:]
	}
	return n, w.until(time.Time{}) // else HTTP/2 ends the answer while the next piece is made
}

// FlushError sends what was written, in the time of a piece; a http.ResponseController
// calls it.
func (w *timedWriter) FlushError() error {
	if err := w.until(time.Now().Add(writeTime)); err != nil {
		return err
	}
	if err := w.control.Flush(); err != nil {
		return err
	}
	return w.until(time.Time{})
}

// recovered turns a panic into an error, so that the other requests, and the
// connection, go on. Where part of the answer has left already it is cut off: the
// caller must not take it for a whole one.
func recovered(log *slog.Logger) echo.MiddlewareFunc {
	return func(next echo.HandlerFunc) echo.HandlerFunc {
		return func(c echo.Context) (err error) {
			defer func() {
				fault := recover()
				if fault == nil {
					return
				}
				if fault == http.ErrAbortHandler {
					panic(fault)
				}
				log.Error("a handler panicked", "method", c.Request().Method,
					"path", c.Path(), "fault", fmt.Sprint(fault), "stack", string(debug.Stack()))
				if c.Response().Committed {
					panic(http.ErrAbortHandler)
				}
				err = errPanic
			}()
			return next(c)
		}
	}
}

// errPanic is no row of the table of problems: its caller reads the same as of
// any fault inside.
var errPanic = errors.New("a handler panicked")

// packed packs the answers of an operation with gzip for whoever takes it, where
// they are text that is read. An answer with a strong ETag or a digest goes out as
// it is: both stand for the very bytes that are sent (RFC 9110, section 8.8.3; RFC
// 9530, section 3), records are small, and who keeps a colour log compares the file
// that was kept.
func packed(method string, o *openapi3.Operation) echo.MiddlewareFunc {
	answer := o.Responses.Status(http.StatusOK)
	if method != http.MethodGet || answer == nil || strongTag(answer.Value) || answer.Value.Headers["Repr-Digest"] != nil {
		return func(next echo.HandlerFunc) echo.HandlerFunc { return next }
	}
	text := slices.ContainsFunc(mediaTypes(answer.Value.Content), func(media string) bool {
		return strings.HasSuffix(media, "json") || media == "application/yaml" || media == "text/html"
	})
	pack := middleware.GzipWithConfig(middleware.GzipConfig{Skipper: func(echo.Context) bool { return !text }, MinLength: leastPacked})
	return func(next echo.HandlerFunc) echo.HandlerFunc {
		next = pack(next)
		return func(c echo.Context) error {
			if h := c.Request().Header; accepted(h.Get(echo.HeaderAcceptEncoding), "gzip") == 0 {
				h.Del(echo.HeaderAcceptEncoding) // the library takes a refusal for a wish
			}
			return next(c)
		}
	}
}

// strongTag reports whether an answer has a tag that stands for its bytes.
func strongTag(answer *openapi3.Response) bool {
	tag := answer.Headers["ETag"]
	return tag != nil && tag.Value.Extensions["x-weak"] == nil
}

// leastPacked is the length in bytes from which on packing is worth a header more.
const leastPacked = 1000
