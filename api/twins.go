package api

import (
	"encoding/base64"
	"encoding/json"
	"net/http"
	"strconv"
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"evenwhite/logbook"
	"evenwhite/logbook/amend"
	"evenwhite/logbook/kinds"
	"evenwhite/openapi"
)

// mostOfGroup is how many records and answers of a group are listed, and how many records
// a page has in all: a group alone may have more.
const mostOfGroup = 1000

type twinGroup struct {
	Kind    logbook.Kind    `json:"kind"`
	SetUp   logbook.ID      `json:"setUp,omitzero"`
	Run     logbook.ID      `json:"run"`
	Count   int             `json:"count"`
	Records []twinRecord    `json:"records"`
	Two     [][2]logbook.ID `json:"two,omitempty"`
}

// twinRecord says enough of a record to tell it from its twins.
type twinRecord struct {
	ID     logbook.ID `json:"id"`
	MadeBy string     `json:"madeBy"`
	MadeAt time.Time  `json:"madeAt"`
	Device logbook.ID `json:"device"`
}

type twinsPage struct {
	Twins []twinGroup `json:"twins"`
	Next  string      `json:"next,omitempty"`
}

// ListTwins lists a page of the groups that may be the same thing logged several times.
func (s *service) ListTwins(c echo.Context, production openapi.ProductionParameter, params openapi.ListTwinsParams) error {
	after, err := parseTwinPlace(params.CursorParameter)
	if err != nil {
		return err
	}
	page := twinsPage{Twins: []twinGroup{}}
	r := readKept(s, production, func(b *logbook.Book) (twinsPage, error) {
		limit, records := limitOf(params.LimitParameter), 0
		found := amend.TwinsFrom(b, after, limit+1)
		for i, g := range found {
			if records += len(g.Records); i == limit || i > 0 && records > mostOfGroup {
				page.Next = twinPlaceText(found[i-1])
				break
			}
			page.Twins = append(page.Twins, listed(b, g))
		}
		return page, nil
	})
	linkNext(c, page.Next)
	return r.answer(c)
}

func listed(b *logbook.Book, g amend.TwinGroup) twinGroup {
	out := twinGroup{Kind: g.Kind, SetUp: g.SetUp, Run: g.Run, Count: len(g.Records), Two: g.Two[:min(len(g.Two), mostOfGroup)]}
	for _, id := range g.Records[:min(len(g.Records), mostOfGroup)] {
		v, _ := b.RecordOf(g.Kind, id)
		made := v.Created()
		out.Records = append(out.Records, twinRecord{id, made.By, made.Corrected().Time(), made.Device})
	}
	return out
}

// twinPlaceText is the place of a group as a cursor.
func twinPlaceText(g amend.TwinGroup) string {
	p := g.Place()
	return base64.RawURLEncoding.EncodeToString([]byte(p.ID.String() + " " + strconv.FormatUint(p.Key, 16) + " " + string(g.Kind)))
}

func parseTwinPlace(text *string) (amend.TwinPlace, error) {
	if text == nil {
		return amend.TwinPlace{Kind: -1}, nil
	}
	bad := badCursor(*text)
	b, err := base64.RawURLEncoding.DecodeString(*text)
	if err != nil {
		return amend.TwinPlace{}, bad
	}
	id, rest, _ := strings.Cut(string(b), " ")
	number, kind, _ := strings.Cut(rest, " ")
	parsed, err := logbook.ParseID(id)
	if err != nil {
		return amend.TwinPlace{}, bad
	}
	key, err := strconv.ParseUint(number, 16, 64)
	if _, known := kinds.Of(logbook.Kind(kind)); err != nil || !known {
		return amend.TwinPlace{}, bad
	}
	return amend.PlaceOfTwins(logbook.Kind(kind), parsed, key), nil
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
				return nil, notHere{id.String()}
			}
		}
		return amend.AnswerGroup(b, ids, string(said.Answer), said.WholeRun != nil && *said.WholeRun)
	})
	if err != nil {
		return err
	}
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
