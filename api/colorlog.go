package api

import (
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"fmt"
	"hash"
	"io"
	"iter"
	"net/http"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"evenwhite/api/pairing/audit"
	"evenwhite/logbook"
	"evenwhite/logbook/colorlog"
	"evenwhite/openapi"
)

type colorLogWriter func(io.Writer, colorlog.Head, iter.Seq2[colorlog.Row, error]) error

// A colorLogForm is one of the forms of a colour log.
type colorLogForm struct {
	extension, media string
	write            colorLogWriter
}

var (
	csvForm  = colorLogForm{"csv", "text/csv; charset=utf-8; header=present", colorlog.WriteCSV}
	jsonForm = colorLogForm{"json", echo.MIMEApplicationJSON, colorlog.WriteJSON}
)

// GetColorLogCSV hands the colour log to post as CSV.
func (s *service) GetColorLogCSV(c echo.Context, production openapi.ProductionParameter, params openapi.GetColorLogCSVParams) error {
	return s.colorLog(c, production, scopeOf(params.SetUpFilterParameter, params.DayFilterParameter),
		csvForm)
}

// GetColorLogJSON hands the colour log to post as JSON.
func (s *service) GetColorLogJSON(c echo.Context, production openapi.ProductionParameter, params openapi.GetColorLogJSONParams) error {
	return s.colorLog(c, production, scopeOf(params.SetUpFilterParameter, params.DayFilterParameter),
		jsonForm)
}

func scopeOf(setUp, day *uuid.UUID) colorlog.Scope {
	return colorlog.Scope{SetUp: optionalID(setUp), Day: optionalID(day)}
}

// colorLog sends the log while it is made, as it is at one head. Edits are merged
// meanwhile, however slowly it is taken; the digest follows the body.
func (s *service) colorLog(c echo.Context, production openapi.ProductionParameter, scope colorlog.Scope, form colorLogForm) error {
	l, err := s.log(production)
	if err != nil {
		return err
	}
	head, err := l.Head()
	if err != nil {
		return err
	}
	known := tagsKnown(c)
	if tag := s.colorLogTag(production, head, scope, form); known != "*" && matches(known, tag) {
		c.Response().Header().Set("ETag", tag)
		return c.NoContent(http.StatusNotModified)
	}
	leave, err := s.colorLogs.enter(l.Production(), c.Request().Context())
	if err != nil {
		return err
	}
	defer leave()
	frozen, err := l.Freeze()
	if err != nil {
		return err
	}
	defer frozen.Close()
	out := &colorLogBody{c: c, form: form, tag: s.colorLogTag(production, frozen.Head(), scope, form), digest: sha256.New()}
	frozen.Read(func(b *logbook.Book) {
		out.top = colorlog.HeadOf(b, scope, colorlog.Origin{Program: s.Program, Log: frozen.Head()})
	})
	rows := colorlog.Rows(frozen, scope)
	if c.Request().Method == http.MethodHead {
		for _, err := range rows {
			if err != nil {
				return err
			}
			break
		}
		out.begin()
		return nil
	}
	if err := form.write(out, out.top, rows); err != nil {
		if !c.Response().Committed {
			return err
		}
		s.Log.Warn("a colour log could not be sent to its end", "production", production.String(), "error", err)
		panic(http.ErrAbortHandler)
	}
	out.end()
	s.audited(c, audit.Exported, "color-log."+form.extension+" of "+out.top.Production.Title)
	return nil
}

// colorLogBody is the body of an answer, which begins with the first piece that is written.
type colorLogBody struct {
	c      echo.Context
	top    colorlog.Head
	form   colorLogForm
	tag    string
	digest hash.Hash
}

// colorLogTag names the bytes of a colour log: they follow from the program, the state of the
// log, the form and the scope.
func (s *service) colorLogTag(
	production openapi.ProductionParameter, head logbook.Head, scope colorlog.Scope, form colorLogForm,
) string {
	sum := sha256.Sum256(fmt.Appendf(nil, "%s %s %s %v %v %s", colorlog.Schema, s.Program, production, head, scope, form.extension))
	return `"` + hex.EncodeToString(sum[:12]) + `"`
}

func (b *colorLogBody) begin() {
	h := b.c.Response().Header()
	h.Set("ETag", b.tag)
	h.Set("Cache-Control", "no-cache")
	h.Set("Content-Type", b.form.media)
	of := b.top.Production
	h.Set("Content-Disposition", disposition(of.Title, of.ShortName, of.ID, "color-log."+b.form.extension))
	h.Set("Accept-Ranges", "none")
	h.Set("Trailer", "Repr-Digest")
	b.c.Response().WriteHeader(http.StatusOK)
}

func (b *colorLogBody) Write(piece []byte) (int, error) {
	first := !b.c.Response().Committed
	if first {
		b.begin()
	}
	b.digest.Write(piece)
	n, err := b.c.Response().Write(piece)
	if err == nil && first {
		err = supported(http.NewResponseController(b.c.Response()).Flush())
	}
	return n, err
}

func (b *colorLogBody) end() {
	b.c.Response().Header().Set("Repr-Digest", "sha-256=:"+base64.StdEncoding.EncodeToString(b.digest.Sum(nil))+":")
}
