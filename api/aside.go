package api

import (
	"encoding/json"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"evenwhite/api/pairing"
	"evenwhite/api/pairing/audit"
	"evenwhite/logbook"
	"evenwhite/logbook/exchange"
	"evenwhite/logbook/kinds"
	"evenwhite/openapi"
)

// guard says what a caller may not put into a production's log, by whichever way it comes: its settings are
// an owner's, and post writes notes of its own.
func (s *service) guard(caller pairing.Caller, l *exchange.Peer) logbook.Guard {
	switch {
	case caller.May(pairing.Owner, l.Production()) == nil:
		return nil
	case onlyPost(caller, l.Production()):
		return guardOfPost(caller, s.Auth.Own(), l)
	}
	return func(e *logbook.Edit) bool { return e.Kind == kinds.Production }
}

// knows reports whether whoever reads rows knows one that came later than the form; of
// several it says knows=aside+mark. A reader of an earlier version takes a row of an
// unknown name for a fault, and comes again for ever.
func knows(accept, row string) bool {
	return slices.Contains(strings.Split(parameter(accept, rowsMedia, "knows"), "+"), row)
}

// forOlderReaders says refused for aside, with the same reason: the device keeps the
// edit, and offers it again to a new run.
func forOlderReaders(a *exchange.Answer) {
	for i := range a.Answers {
		if a.Answers[i].Outcome == logbook.AnswerAside {
			a.Answers[i].Outcome = logbook.AnswerRefused
		}
	}
}

// asideEdit is an edit that is kept outside the log, and who brought it.
type asideEdit struct {
	ID         string        `json:"id"`
	Edit       *logbook.Edit `json:"edit"`
	Via        holderOf      `json:"via"`
	ReceivedAt time.Time     `json:"receivedAt"`
	Left       bool          `json:"left"`
}

// holderOf is a device and its label here.
type holderOf struct {
	Device logbook.ID `json:"device"`
	Label  string     `json:"label,omitempty"`
}

// ListAside lists a page of what waits for an owner, and of what one left.
func (s *service) ListAside(c echo.Context, production openapi.ProductionParameter, params openapi.ListAsideParams) error {
	l, err := s.log(production)
	if err != nil {
		return err
	}
	var after logbook.AsideKey
	if params.CursorParameter != nil {
		if after, err = logbook.ParseAsideKey(*params.CursorParameter); err != nil {
			return wrong("cursor", *params.CursorParameter, "the member next of an earlier page")
		}
	}
	limit := limitOf(params.LimitParameter)
	rows, err := l.Asides()
	if err != nil {
		return err
	}
	labels := s.Auth.Labels()
	out := struct {
		Waiting int         `json:"waiting"`
		Edits   []asideEdit `json:"edits"`
		Next    string      `json:"next,omitempty"`
	}{l.Waiting(), []asideEdit{}, ""}
	for _, row := range rows {
		if !after.Less(row.Key()) {
			continue
		}
		if len(out.Edits) == limit {
			out.Next = out.Edits[limit-1].ID
			break
		}
		e, err := logbook.DecodeEdit(row.Bytes)
		if err != nil {
			return err
		}
		out.Edits = append(out.Edits, asideEdit{row.Key().String(), e, holderOf{row.Via, labels[row.Via]}, row.Received.Time(), row.Left})
	}
	linkNext(c, out.Next)
	return answer(c, http.StatusOK, out)
}

// AnswerAside takes edits that are kept aside into the log, or leaves them there.
func (s *service) AnswerAside(c echo.Context, production openapi.ProductionParameter) error {
	l, err := s.log(production)
	if err != nil {
		return err
	}
	var said openapi.AsideAnswer
	if err := json.Unmarshal(bodyOf(c), &said); err != nil {
		return err
	}
	take, err := asideKeys("take", said.Take)
	if err != nil {
		return err
	}
	leave, err := asideKeys("leave", said.Leave)
	if err != nil {
		return err
	}
	if err := l.LeaveAside(leave); err != nil { // first: it changes nothing in the log
		return err
	}
	answers, err := l.TakeAside(take, s.now())
	if err != nil {
		return err
	}
	caller := callerOf(c.Request().Context())
	s.Log.Info("an owner answered edits that were kept aside", "production", production.String(), "device", caller.Device.String(),
		"taken", len(take), "left", len(leave))
	s.audited(c, audit.Settled, fmt.Sprintf("edits of production %s: %d taken, %d left", production, len(take), len(leave)))
	out := struct {
		Waiting int          `json:"waiting"`
		Answers []pushAnswer `json:"answers"`
	}{l.Waiting(), []pushAnswer{}}
	for _, a := range answers {
		out.Answers = append(out.Answers, pushAnswer{a.Dot.String(), a.Outcome, a.Reason})
	}
	return answer(c, http.StatusOK, out)
}

// asideKeys reads the ids of a list of an answer.
func asideKeys(field string, ids *[]string) (keys []logbook.AsideKey, err error) {
	if ids == nil {
		return nil, nil
	}
	for i, id := range *ids {
		k, err := logbook.ParseAsideKey(id)
		if err != nil {
			return nil, wrong(fmt.Sprintf("%s/%d", field, i), id, "the id of an edit that is kept aside")
		}
		keys = append(keys, k)
	}
	return keys, nil
}
