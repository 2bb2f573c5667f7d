package api

import (
	"context"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"fmt"
	"hash"
	"net/http"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"evenwhite/api/pairing/audit"
	"evenwhite/logbook"
	"evenwhite/logbook/colorlog"
	"evenwhite/logbook/handover"
	"evenwhite/logbook/states"
	"evenwhite/openapi"
)

// GetColorLogCSV hands the colour log to post as CSV.
func (s *service) GetColorLogCSV(c echo.Context, production openapi.ProductionParameter, params openapi.GetColorLogCSVParams) error {
	return s.colorLog(c, production, wish{scopeOf(params.SetUpFilterParameter, params.DayFilterParameter), params.StateParameter}, "csv")
}

// GetColorLogColumns describes the columns of the CSV form.
func (s *service) GetColorLogColumns(
	c echo.Context, production openapi.ProductionParameter, params openapi.GetColorLogColumnsParams,
) error {
	return s.colorLog(c, production, wish{scopeOf(params.SetUpFilterParameter, params.DayFilterParameter), params.StateParameter}, "csvw")
}

// GetColorLogJSON hands the colour log to post as JSON.
func (s *service) GetColorLogJSON(c echo.Context, production openapi.ProductionParameter, params openapi.GetColorLogJSONParams) error {
	return s.colorLog(c, production, wish{scopeOf(params.SetUpFilterParameter, params.DayFilterParameter), params.StateParameter}, "json")
}

// GetColorLogPackedJSON hands the colour log to post as JSON, packed.
func (s *service) GetColorLogPackedJSON(
	c echo.Context, production openapi.ProductionParameter, params openapi.GetColorLogPackedJSONParams,
) error {
	return s.colorLog(c, production, wish{scopeOf(params.SetUpFilterParameter, params.DayFilterParameter), params.StateParameter}, "json.gz")
}

// GetColorLogXLSX hands the colour log to post as a workbook.
func (s *service) GetColorLogXLSX(c echo.Context, production openapi.ProductionParameter, params openapi.GetColorLogXLSXParams) error {
	return s.colorLog(c, production, wish{scopeOf(params.SetUpFilterParameter, params.DayFilterParameter), params.StateParameter}, "xlsx")
}

// GetColorLogPage hands the colour log to post as a page for people and paper.
func (s *service) GetColorLogPage(c echo.Context, production openapi.ProductionParameter, params openapi.GetColorLogPageParams) error {
	return s.colorLog(c, production, wish{scopeOf(params.SetUpFilterParameter, params.DayFilterParameter), params.StateParameter}, "html")
}

// GetColorLogArchive hands all forms of the colour log to post.
func (s *service) GetColorLogArchive(
	c echo.Context, production openapi.ProductionParameter, params openapi.GetColorLogArchiveParams,
) error {
	return s.colorLog(c, production, wish{scopeOf(params.SetUpFilterParameter, params.DayFilterParameter), params.StateParameter}, "zip")
}

func scopeOf(setUp, day *uuid.UUID) colorlog.Scope {
	return colorlog.Scope{SetUp: optionalID(setUp), Day: optionalID(day)}
}

// A wish is what somebody wants to have a colour log of.
type wish struct {
	scope colorlog.Scope
	state *string // names one; nil: as it is
}

// colorLog sends the log while it is made, as it is or was in one state. Edits are merged
// meanwhile, however slowly it is taken; the digest follows the body.
func (s *service) colorLog(c echo.Context, production openapi.ProductionParameter, wish wish, name string) error {
	form, ok := handover.FormOf(name)
	if !ok {
		return fmt.Errorf("there is no form %q of a colour log", name)
	}
	text := ""
	if wish.state != nil {
		text = *wish.state
	}
	named, err := s.Logs.StateNamed(logbook.ID(production), text)
	if err != nil {
		return err
	}
	asked, err := s.Logs.StateOr(logbook.ID(production), text)
	if err != nil {
		return err
	}
	known := tagsKnown(c)
	if tag := s.colorLogTag(production, asked, wish.scope, form); known != "*" && matches(known, tag) {
		c.Response().Header().Set("ETag", tag)
		return c.NoContent(http.StatusNotModified)
	}
	ctx := c.Request().Context()
	book, err := s.lend(ctx, logbook.ID(production), named)
	if err != nil {
		return err
	}
	defer book.Close()
	log, err := handover.Of(book, wish.scope, colorlog.Origin{Program: s.Program, State: book.State})
	if err != nil {
		return err
	}
	log.Spool = NewSpool
	out := &colorLogBody{c: c, form: form, tag: s.colorLogTag(production, book.State, wish.scope, form), top: log.Head, digest: sha256.New()}
	if c.Request().Method == http.MethodHead {
		out.begin()
		return nil
	}
	if err := form.Write(out, log); err != nil {
		if !c.Response().Committed {
			return err
		}
		s.Log.Warn("a colour log could not be sent to its end", "production", production.String(), "error", err)
		panic(http.ErrAbortHandler)
	}
	out.end()
	if err := s.Logs.Handed(logbook.ID(production), book.State, s.now()); err != nil { // a full disk keeps nobody from reading
		s.Log.Warn("it could not be kept which state was handed out", "production", production.String(), "error", err)
	}
	s.audited(c, audit.Exported, form.File+" of "+out.top.Production.Title)
	return nil
}

// lend is Logs.AsOf for one of those who read all of a production: they have their turns.
func (s *service) lend(ctx context.Context, production logbook.ID, wanted *states.State) (*AsOf, error) {
	leave, err := s.colorLogs.enter(production, ctx)
	if err != nil {
		return nil, err
	}
	book, err := s.Logs.AsOf(ctx, production, wanted)
	if err != nil {
		leave()
		return nil, err
	}
	end := book.close
	book.close = func() { end(); leave() }
	return book, nil
}

// colorLogBody is the body of an answer, which begins with the first piece that is written.
type colorLogBody struct {
	c      echo.Context
	top    colorlog.Head
	form   handover.Form
	tag    string
	digest hash.Hash
}

// colorLogTag names the bytes of a colour log: they follow from the state, which stands first, the
// program, the form and the scope.
func (s *service) colorLogTag(
	production openapi.ProductionParameter, of states.State, scope colorlog.Scope, form handover.Form,
) string {
	sum := sha256.Sum256(fmt.Appendf(nil, "%s %s %s %v %s", colorlog.Schema, s.Program, production, scope, form.Name))
	return `"` + of.Key() + "-" + hex.EncodeToString(sum[:6]) + `"`
}

func (b *colorLogBody) begin() {
	h := b.c.Response().Header()
	h.Set("ETag", b.tag)
	h.Set("Cache-Control", "no-cache")
	h.Set("Content-Type", b.form.Media)
	of := b.top.Production
	h.Set("Content-Disposition", disposition(of.Title, of.ShortName, of.ID, b.form.File))
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
