package api

import (
	"crypto/sha256"
	"encoding/base64"
	"errors"
	"io"
	"iter"
	"net/http"
	"os"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"evenwhite/logbook"
	"evenwhite/logbook/colorlog"
	"evenwhite/logbook/kinds"
	"evenwhite/openapi"
)

type colorLogWriter func(io.Writer, colorlog.Head, iter.Seq2[colorlog.Row, error]) error

// GetColorLogCSV hands the colour log to post as CSV.
func (s *service) GetColorLogCSV(c echo.Context, production openapi.ProductionParameter, params openapi.GetColorLogCSVParams) error {
	return s.colorLog(c, production, scopeOf(params.SetUpFilterParameter, params.DayFilterParameter),
		"csv", "text/csv; charset=utf-8; header=present", colorlog.WriteCSV)
}

// GetColorLogJSON hands the colour log to post as JSON.
func (s *service) GetColorLogJSON(c echo.Context, production openapi.ProductionParameter, params openapi.GetColorLogJSONParams) error {
	return s.colorLog(c, production, scopeOf(params.SetUpFilterParameter, params.DayFilterParameter),
		"json", echo.MIMEApplicationJSON, colorlog.WriteJSON)
}

func scopeOf(setUp, day *uuid.UUID) colorlog.Scope {
	return colorlog.Scope{SetUp: optionalID(setUp), Day: optionalID(day)}
}

// colorLog writes the log into a file first: the digest stands before the body.
func (s *service) colorLog(
	c echo.Context, production openapi.ProductionParameter, scope colorlog.Scope, extension, media string, write colorLogWriter,
) (err error) {
	l, err := s.log(production)
	if err != nil {
		return err
	}
	b, head, err := logbook.ReadBook(s.Store, l.Production(), kinds.Rules)
	if err == nil && l.Mend() {
		b, head, err = logbook.ReadBook(s.Store, l.Production(), kinds.Rules)
	}
	if err != nil {
		return err
	}
	f, err := os.CreateTemp("", "evenwhite-color-log-*")
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, f.Close(), os.Remove(f.Name())) }()
	digest := sha256.New()
	top := colorlog.HeadOf(b, scope, colorlog.Origin{Program: s.Program, Log: head})
	if err := write(io.MultiWriter(f, digest), top, colorlog.Rows(b, scope)); err != nil {
		return err
	}
	if _, err := f.Seek(0, io.SeekStart); err != nil {
		return err
	}
	h := c.Response().Header()
	h.Set("Content-Disposition", disposition(top.Production.Title, top.Production.ShortName, l.Production(), "color-log."+extension))
	h.Set("Accept-Ranges", "none")
	h.Set("Repr-Digest", "sha-256=:"+base64.StdEncoding.EncodeToString(digest.Sum(nil))+":")
	h.Set("Cache-Control", "no-store")
	return c.Stream(http.StatusOK, media, f)
}
