package api

import (
	"encoding/json"
	"net/http"

	"github.com/labstack/echo/v4"

	"evenwhite/logbook"
	"evenwhite/logbook/amend"
	"evenwhite/openapi"
)

// ListTwins lists the pairs that may be the same thing logged twice.
func (s *service) ListTwins(c echo.Context, production openapi.ProductionParameter) error {
	type pair struct {
		Kind   logbook.Kind    `json:"kind"`
		Run    int             `json:"run"`
		First  json.RawMessage `json:"first"`
		Second json.RawMessage `json:"second"`
	}
	return read(s, production, func(b *logbook.Book) (map[string][]pair, error) {
		out := []pair{}
		for _, t := range amend.Twins(b) {
			first, _ := b.RecordOf(t.Kind, t.First)
			second, _ := b.RecordOf(t.Kind, t.Second)
			out = append(out, pair{t.Kind, t.Run, rawObject(first), rawObject(second)})
		}
		return map[string][]pair{"twins": out}, nil
	}).answer(c)
}

// AnswerTwin says whether two records are one or two, and answers with the record
// that holds what was said: the one with the smaller id.
func (s *service) AnswerTwin(
	c echo.Context, production openapi.ProductionParameter, one openapi.FirstParameter, other openapi.SecondParameter,
) error {
	l, err := s.log(production)
	if err != nil {
		return err
	}
	var said openapi.TwinAnswer
	if err := json.Unmarshal(bodyOf(c), &said); err != nil {
		return err
	}
	first, second := logbook.ID(one), logbook.ID(other)
	var kind logbook.Kind
	_, err = l.Change(s.writer(c), func(b *logbook.Book) ([]logbook.Draft, error) {
		for _, id := range []logbook.ID{first, second} {
			v, ok := b.Record(id)
			if !ok {
				return nil, notHere{id.String()}
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
	if second.Less(first) {
		first = second
	}
	return s.show(c, l, http.StatusOK, kind, first)
}
