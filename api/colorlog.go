package api

import (
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
	"evenwhite/openapi"
)

// GetColorLogCSV hands the colour log to post as CSV.
func (s *service) GetColorLogCSV(c echo.Context, production openapi.ProductionParameter, params openapi.GetColorLogCSVParams) error {
	return s.colorLog(c, production, scopeOf(params.SetUpFilterParameter, params.DayFilterParameter), "csv")
}

// GetColorLogColumns describes the columns of the CSV form.
func (s *service) GetColorLogColumns(
	c echo.Context, production openapi.ProductionParameter, params openapi.GetColorLogColumnsParams,
) error {
	return s.colorLog(c, production, scopeOf(params.SetUpFilterParameter, params.DayFilterParameter), "csvw")
}

// GetColorLogJSON hands the colour log to post as JSON.
func (s *service) GetColorLogJSON(c echo.Context, production openapi.ProductionParameter, params openapi.GetColorLogJSONParams) error {
	return s.colorLog(c, production, scopeOf(params.SetUpFilterParameter, params.DayFilterParameter), "json")
}

// GetColorLogPackedJSON hands the colour log to post as JSON, packed.
func (s *service) GetColorLogPackedJSON(
	c echo.Context, production openapi.ProductionParameter, params openapi.GetColorLogPackedJSONParams,
) error {
	return s.colorLog(c, production, scopeOf(params.SetUpFilterParameter, params.DayFilterParameter), "json.gz")
}

// GetColorLogXLSX hands the colour log to post as a workbook.
func (s *service) GetColorLogXLSX(c echo.Context, production openapi.ProductionParameter, params openapi.GetColorLogXLSXParams) error {
	return s.colorLog(c, production, scopeOf(params.SetUpFilterParameter, params.DayFilterParameter), "xlsx")
}

// GetColorLogPage hands the colour log to post as a page for people and paper.
func (s *service) GetColorLogPage(c echo.Context, production openapi.ProductionParameter, params openapi.GetColorLogPageParams) error {
	return s.colorLog(c, production, scopeOf(params.SetUpFilterParameter, params.DayFilterParameter), "html")
}

// GetColorLogArchive hands all forms of the colour log to post.
func (s *service) GetColorLogArchive(
	c echo.Context, production openapi.ProductionParameter, params openapi.GetColorLogArchiveParams,
) error {
	return s.colorLog(c, production, scopeOf(params.SetUpFilterParameter, params.DayFilterParameter), "zip")
}

func scopeOf(setUp, day *uuid.UUID) colorlog.Scope {
	return colorlog.Scope{SetUp: optionalID(setUp), Day: optionalID(day)}
}

// colorLog sends the log while it is made, as it is at one head. Edits are merged
// meanwhile, however slowly it is taken; the digest follows the body.
func (s *service) colorLog(c echo.Context, production openapi.ProductionParameter, scope colorlog.Scope, name string) error {
	form, ok := handover.FormOf(name)
	if !ok {
		return fmt.Errorf("there is no form %q of a colour log", name)
	}
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
	log, err := handover.Of(frozen, scope, colorlog.Origin{Program: s.Program, Log: frozen.Head()})
	if err != nil {
		return err
	}
	out := &colorLogBody{c: c, form: form, tag: s.colorLogTag(production, frozen.Head(), scope, form), top: log.Head, digest: sha256.New()}
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
	s.audited(c, audit.Exported, form.File+" of "+out.top.Production.Title)
	return nil
}

// colorLogBody is the body of an answer, which begins with the first piece that is written.
type colorLogBody struct {
	c      echo.Context
	top    colorlog.Head
	form   handover.Form
	tag    string
	digest hash.Hash
}

// colorLogTag names the bytes of a colour log: they follow from the program, the state of the
// log, the form and the scope.
func (s *service) colorLogTag(
	production openapi.ProductionParameter, head logbook.Head, scope colorlog.Scope, form handover.Form,
) string {
	sum := sha256.Sum256(fmt.Appendf(nil, "%s %s %s %v %v %s", colorlog.Schema, s.Program, production, head, scope, form.Name))
	return `"` + hex.EncodeToString(sum[:12]) + `"`
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
