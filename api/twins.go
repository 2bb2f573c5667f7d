package api

import (
	"encoding/json"
	"net/http"

	"github.com/labstack/echo/v4"

	"evenwhite/logbook"
	"evenwhite/logbook/amend"
	"evenwhite/logbook/review"
	"evenwhite/openapi"
)

// ListTwins lists a page of the groups that may be the same thing logged several times.
func (s *service) ListTwins(c echo.Context, production openapi.ProductionParameter, params openapi.ListTwinsParams) error {
	r := readKept(s, production, func(b *logbook.Book) (review.TwinsPage, error) {
		page, err := review.Twins(b, params.CursorParameter, limitOf(params.LimitParameter))
		return page, atCursor(err, params.CursorParameter)
	})
	linkNext(c, r.value.Next)
	return r.answer(c)
}

// AnswerTwins says of several records whether they are one, and answers with those that
// hold what was said.
func (s *service) AnswerTwins(c echo.Context, production openapi.ProductionParameter) error {
	l, err := s.Logs.Keeping(logbook.ID(production))
	if err != nil {
		return err
	}
	var said openapi.TwinsAnswer
	if err := json.Unmarshal(bodyOf(c), &said); err != nil {
		return err
	}
	edits, err := l.Change(s.writer(c), func(b *logbook.Book) ([]logbook.Draft, error) {
		ids := make([]logbook.ID, len(said.Records))
		for i, id := range said.Records {
			if ids[i] = logbook.ID(id); !found(b, ids[i]) {
				return nil, review.NotHere(id.String())
			}
		}
		return amend.AnswerGroup(b, ids, string(said.Answer), said.WholeRun != nil && *said.WholeRun)
	})
	if err != nil {
		return err
	}
	s.settled(c, edits)
	return answer(c, http.StatusOK, changedRecords(l, edits))
}

func found(b *logbook.Book, id logbook.ID) bool {
	_, ok := b.Record(id)
	return ok
}

// AnswerTwin says whether two records are one or two, and answers with the record
// that holds what was said: the one with the smaller id.
func (s *service) AnswerTwin(
	c echo.Context, production openapi.ProductionParameter, one openapi.FirstParameter, other openapi.SecondParameter,
) error {
	l, err := s.Logs.Keeping(logbook.ID(production))
	if err != nil {
		return err
	}
	var said openapi.TwinAnswer
	if err := json.Unmarshal(bodyOf(c), &said); err != nil {
		return err
	}
	first, second := logbook.ID(one), logbook.ID(other)
	var kind logbook.Kind
	edits, err := l.Change(s.writer(c), func(b *logbook.Book) ([]logbook.Draft, error) {
		for _, id := range []logbook.ID{first, second} {
			v, ok := b.Record(id)
			if !ok {
				return nil, review.NotHere(id.String())
			}
			kind = v.Kind
		}
		if said.WholeRun != nil && *said.WholeRun {
			return amend.AnswerAll(b, first, second, string(said.Answer))
		}
		return amend.Answer(b, first, second, string(said.Answer))
	})
	if err != nil {
		return err
	}
	s.settled(c, edits)
	if second.Less(first) {
		first = second
	}
	return s.show(c, l, http.StatusOK, kind, first)
}
