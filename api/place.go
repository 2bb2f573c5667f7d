package api

import (
	"encoding/base64"
	"fmt"
	"iter"
	"slices"
	"strconv"
	"strings"

	"github.com/labstack/echo/v4"

	"evenwhite/logbook"
	"evenwhite/logbook/amend"
	"evenwhite/logbook/kinds"
	"evenwhite/openapi"
)

// placeText is a place as a cursor.
func placeText(p logbook.Place) string {
	return base64.RawURLEncoding.EncodeToString([]byte(strconv.FormatInt(int64(p.Made), 10) + " " + p.ID.String()))
}

func parsePlace(text *string) (logbook.Place, error) {
	if text == nil {
		return logbook.Place{Made: logbook.Beginning}, nil
	}
	b, err := base64.RawURLEncoding.DecodeString(*text)
	if err != nil {
		return logbook.Place{}, badCursor(*text)
	}
	return readPlace(*text, string(b))
}

func badCursor(text string) error { return wrong("cursor", text, "one that this service gave") }

// readPlace reads what a cursor says; text is the cursor.
func readPlace(text, says string) (logbook.Place, error) {
	bad := badCursor(text)
	made, id, _ := strings.Cut(says, " ")
	n, err := strconv.ParseInt(made, 10, 64)
	if err != nil {
		return logbook.Place{}, bad
	}
	parsed, err := logbook.ParseID(id)
	if err != nil {
		return logbook.Place{}, bad
	}
	return logbook.Place{Made: logbook.Millis(n), ID: parsed}, nil
}

// conflictPlaceText is a place among the conflicts as a cursor.
func conflictPlaceText(p amend.ConflictPlace) string {
	made := strconv.FormatInt(int64(p.Record.Made), 10)
	return base64.RawURLEncoding.EncodeToString([]byte(made + " " + p.Record.ID.String() + " " + string(p.Kind)))
}

func parseConflictPlace(text *string) (amend.ConflictPlace, error) {
	if text == nil {
		return amend.ConflictPlace{}, nil
	}
	b, err := base64.RawURLEncoding.DecodeString(*text)
	made, rest, _ := strings.Cut(string(b), " ")
	id, kind, _ := strings.Cut(rest, " ")
	if err != nil || kind == "" {
		return amend.ConflictPlace{}, badCursor(*text)
	}
	place, err := readPlace(*text, made+" "+id)
	return amend.ConflictPlace{Kind: logbook.Kind(kind), Record: place}, err
}

// limitOf is how many a page has at most.
func limitOf(given *openapi.LimitParameter) int {
	if given != nil {
		return *given
	}
	return 100
}

// linkNext names the next page in the Link header, if there is one.
func linkNext(c echo.Context, cursor string) {
	if cursor == "" {
		return
	}
	next := c.Request().URL
	query := next.Query()
	query.Set("cursor", cursor)
	c.Response().Header().Set("Link", fmt.Sprintf("<%s?%s>; rel=\"next\"", next.EscapedPath(), query.Encode()))
}

// A part is what of a kind is listed: of a set-up, of a day, or all where those are zero.
type part struct {
	kind       logbook.Kind
	setUp, day logbook.ID
	deleted    bool
}

// from walks it from behind a place on. Of a set-up or a day no other records are
// looked at.
func (p part) from(b *logbook.Book, after logbook.Place) iter.Seq[logbook.View] {
	switch {
	case p.setUp.IsZero() && p.day.IsZero():
		return b.From(p.kind, after, p.deleted)
	case p.kind == kinds.SetUp && !p.setUp.IsZero():
		return p.sorted(b, after, p.one(b, p.setUp))
	case p.kind == kinds.Day && p.setUp.IsZero():
		return p.sorted(b, after, p.one(b, p.day))
	}
	referring := b.Referring
	if p.deleted {
		referring = b.AllReferring
	}
	setUps := []logbook.ID{p.setUp}
	var found []logbook.View
	if p.setUp.IsZero() {
		setUps = nil
		for _, v := range b.AllReferring(kinds.SetUp, "day", p.day) {
			setUps = append(setUps, v.ID)
		}
		found = referring(p.kind, "day", p.day)
	}
	for _, setUp := range setUps {
		found = append(found, referring(p.kind, "setUp", setUp)...)
	}
	return p.sorted(b, after, found)
}

func (p part) one(b *logbook.Book, id logbook.ID) []logbook.View {
	if v, ok := b.RecordOf(p.kind, id); ok && (p.deleted || !v.Deleted()) {
		return []logbook.View{v}
	}
	return nil
}

func (p part) sorted(b *logbook.Book, after logbook.Place, found []logbook.View) iter.Seq[logbook.View] {
	found = slices.DeleteFunc(found, func(v logbook.View) bool { return v.Place().Compare(after) <= 0 || !belongs(b, v, p.setUp, p.day) })
	slices.SortFunc(found, logbook.ByPlace)
	return slices.Values(slices.CompactFunc(found, func(v, w logbook.View) bool { return v.ID == w.ID }))
}

// belongs reports whether a record is of a set-up and of a day, where those are
// asked for and not zero.
func belongs(b *logbook.Book, v logbook.View, setUp, day logbook.ID) bool {
	of := v.Ref("setUp")
	if v.Kind == kinds.SetUp {
		of = v.ID
	}
	if !setUp.IsZero() && of != b.Resolve(setUp) {
		return false
	}
	if day.IsZero() {
		return true
	}
	ofDay := v.Ref("day")
	if s, ok := b.RecordOf(kinds.SetUp, of); ok {
		ofDay = s.Ref("day")
	}
	if v.Kind == kinds.Day {
		ofDay = v.ID
	}
	return ofDay == b.Resolve(day)
}
