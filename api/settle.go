package api

import (
	"errors"
	"fmt"

	"github.com/labstack/echo/v4"

	"evenwhite/logbook"
	"evenwhite/logbook/review"
	"evenwhite/openapi"
)

// ListConflicts lists a page of what nobody decided yet.
func (s *service) ListConflicts(c echo.Context, production openapi.ProductionParameter, params openapi.ListConflictsParams) error {
	now := s.now()
	r := readKept(s, production, func(b *logbook.Book) (review.ConflictsPage, error) {
		page, err := review.Conflicts(b, params.CursorParameter, limitOf(params.LimitParameter), now)
		return page, atCursor(err, params.CursorParameter)
	})
	linkNext(c, r.value.Next)
	return r.answer(c)
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

// atCursor is an error of a page in the words of the service.
func atCursor(err error, cursor *string) error {
	if cursor != nil && errors.Is(err, review.ErrCursor) {
		return wrong("cursor", *cursor, "one that this service gave")
	}
	return err
}
