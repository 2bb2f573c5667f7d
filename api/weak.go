package api

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"net/http"
	"strings"

	"github.com/labstack/echo/v4"

	"evenwhite/logbook/exchange"
)

// Weak tags stand for what an answer says, not for its bytes: such answers may be packed.

// unchanged sets the tag of an answer and reports whether the caller knows it: then all is
// said. The tag must be taken before what it stands for is read.
func unchanged(c echo.Context, tag string) bool {
	h := c.Response().Header()
	h.Set("ETag", `W/"`+tag+`"`)
	h.Set("Cache-Control", "no-cache")
	if !matches(tagsKnown(c), `"`+tag+`"`) {
		return false
	}
	c.Response().WriteHeader(http.StatusNotModified)
	return true
}

// tagsKnown are the tags of answers that a caller has. They are compared weakly: a proxy
// that packs bodies weakens them.
func tagsKnown(c echo.Context) string {
	return strings.ReplaceAll(c.Request().Header.Get("If-None-Match"), "W/", "")
}

// answerTagged writes a short list as JSON, unless the caller knows it. It is made to be
// compared.
func answerTagged(c echo.Context, value any) error {
	b, err := json.Marshal(value)
	if err != nil {
		return err
	}
	return document(c, echo.MIMEApplicationJSON, b)
}

// document answers with a text, unless the caller knows it.
func document(c echo.Context, media string, text []byte) error {
	sum := sha256.Sum256(text)
	if unchanged(c, hex.EncodeToString(sum[:12])) {
		return nil
	}
	return c.Blob(http.StatusOK, media, text)
}

// stateOf is the tag of everything that follows from the edits of a log alone: a list
// that was asked for before is answered without looking at a record.
func stateOf(l *exchange.Peer) string { return l.Run().String() + "-" + l.State() }
