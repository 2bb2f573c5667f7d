package api

import (
	"net/http"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"evenwhite/logbook"
	"evenwhite/logbook/exchange"
	"evenwhite/logbook/picture"
	"evenwhite/openapi"
)

// A result is what a book answers, or why it does not.
type result[T any] struct {
	value T
	err   error
}

// read asks the book of a production while nobody changes it.
func read[T any](s *service, production openapi.ProductionParameter, ask func(*logbook.Book) (T, error)) (r result[T]) {
	l, err := s.log(production)
	return readIn(l, err, ask)
}

// readKept is read for who asks about what is kept of all records.
func readKept[T any](s *service, production openapi.ProductionParameter, ask func(*logbook.Book) (T, error)) (r result[T]) {
	l, err := s.Logs.Keeping(logbook.ID(production))
	return readIn(l, err, ask)
}

func readIn[T any](l *exchange.Peer, err error, ask func(*logbook.Book) (T, error)) (r result[T]) {
	if err != nil {
		return result[T]{err: err}
	}
	l.Read(func(b *logbook.Book) { r.value, r.err = ask(b) })
	return r
}

// about asks about one record as it is now.
func about[T any](s *service, production openapi.ProductionParameter, id uuid.UUID,
	ask func(*logbook.Book, logbook.ID, logbook.Millis) (T, error)) result[T] {
	return read(s, production, func(b *logbook.Book) (T, error) { return ask(b, logbook.ID(id), s.now()) })
}

// answer writes the result as JSON.
func (r result[T]) answer(c echo.Context) error {
	if r.err != nil {
		return r.err
	}
	return answer(c, http.StatusOK, &r.value)
}

// draw writes a picture of the result.
func (r result[T]) draw(c echo.Context, pen func(T) []byte) error {
	if r.err != nil {
		return r.err
	}
	h := c.Response().Header()
	h.Set("Content-Security-Policy", picture.Policy)
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("Cache-Control", "no-store")
	return c.Blob(http.StatusOK, "image/svg+xml", pen(r.value))
}
