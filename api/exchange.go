package api

import (
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"evenwhite/api/pairing"
	"evenwhite/logbook"
	"evenwhite/logbook/exchange"
	"evenwhite/openapi"
)

// spans is a list of what is held as it goes over the wire: line → [from, to] …
type spans map[string][][]int64

func spansOf(r logbook.Ranges) spans {
	if r == nil {
		return nil
	}
	out := spans{}
	for line, held := range r {
		for _, s := range held {
			out[line.String()] = append(out[line.String()], []int64{int64(s.From), int64(s.To)})
		}
	}
	return out
}

// dotText is a dot, or "" for none.
func dotText(d logbook.Dot) string {
	if d.IsZero() {
		return ""
	}
	return d.String()
}

// ranges reads spans that stand in a member of a request.
func (s spans) ranges(member string) (logbook.Ranges, error) {
	out := logbook.Ranges{}
	for _, text := range slices.Sorted(maps.Keys(s)) {
		held := s[text]
		line, err := logbook.ParseLine(text)
		if err != nil {
			return nil, wrong(member, text, "lines of 16 hexadecimal digits")
		}
		if _, twice := out[line]; twice { // in capitals, and in small letters
			return nil, wrong(member+"/"+text, fmt.Sprint(held), "each line once; it is told above in capital letters")
		}
		last := int64(0)
		out[line] = nil
		for _, span := range held {
			if len(span) != 2 || span[0] <= last || span[1] < span[0] {
				return nil, wrong(member+"/"+text, fmt.Sprint(span), "rising spans [from, to] that do not overlap")
			}
			out[line] = append(out[line], logbook.Span{From: uint64(span[0]), To: uint64(span[1])})
			last = span[1]
		}
	}
	return out, nil
}

// exchangeAnswer has its members in the order of the contract: the cursor stands
// last, so that an answer that was cut off moves nobody on.
type exchangeAnswer struct {
	Run     string          `json:"run"`
	Log     string          `json:"log"`
	Now     time.Time       `json:"now"`
	Rules   int             `json:"rules"`
	Answers []pushAnswer    `json:"answers"`
	Behind  string          `json:"listBehind,omitempty"`
	To      string          `json:"listTo,omitempty"`
	List    spans           `json:"list,omitzero"` // an empty one is written: it voids what the device thought is held
	Reset   bool            `json:"reset,omitempty"`
	Edits   []*logbook.Edit `json:"edits"`
	Refused []mark          `json:"refused,omitempty"`
	More    bool            `json:"more"`
	Cursor  string          `json:"cursor"`
}

type mark struct {
	Dot    string `json:"dot"`
	Reason string `json:"reason"`
}

type pushAnswer struct {
	Dot     string `json:"dot"`
	Outcome string `json:"outcome"`
	Reason  string `json:"reason,omitempty"`
}

// rowsMedia is the media type of the rows form (logbook/exchange/rows.md).
const rowsMedia = "application/vnd.evenwhite.rows"

// Exchange takes what a device brings and sends it what it lacks, each in the form
// and packing of which the headers speak.
func (s *service) Exchange(c echo.Context, production openapi.ProductionParameter) error {
	l, err := s.log(production)
	records := noRecords
	if err == nil {
		records = l.Records
	} else if !errors.Is(err, logbook.ErrNoProduction) {
		return err
	}
	request, err := exchangeRequest(c, logbook.ID(production), records)
	if err != nil {
		return err
	}
	if l == nil {
		if l, err = s.refilled(c, logbook.ID(production), &request); err != nil {
			return err
		}
	}
	caller := callerOf(c.Request().Context())
	if len(request.Edits) > 0 {
		if err := caller.May(pairing.Post, logbook.ID(production)); err != nil {
			return err
		}
	}
	request.Guard = s.guard(caller, l)
	accept := c.Request().Header.Get(echo.HeaderAccept)
	if q := accepted(accept, rowsMedia); q > 0 && q >= accepted(accept, echo.MIMEApplicationJSON) {
		a, passages, err := l.ExchangeRows(request, caller.Device, s.now())
		if err != nil {
			return err
		}
		s.settled(c, takenOf(request, a, caller.Device))
		if !knows(accept, "mark") {
			a.Marks = nil
		}
		if !knows(accept, "aside") {
			forOlderReaders(&a)
		}
		return answerRows(c, &a, passages)
	}
	a, err := l.Exchange(request, caller.Device, s.now())
	if err != nil {
		return err
	}
	s.settled(c, takenOf(request, a, caller.Device))
	return s.answerReadable(c, &a)
}

func (s *service) answerReadable(c echo.Context, a *exchange.Answer) error {
	out := exchangeAnswer{
		Run: a.Run.String(), Log: a.Identity.String(), Now: a.Now.Time(), Rules: a.Rules, Answers: []pushAnswer{},
		Behind: dotText(a.ListBehind), To: dotText(a.ListTo), List: spansOf(a.List),
		Reset: a.Reset, Edits: a.Edits, More: a.More, Cursor: a.Cursor,
	}
	if out.Edits == nil {
		out.Edits = []*logbook.Edit{}
	}
	for _, answer := range a.Answers {
		out.Answers = append(out.Answers, pushAnswer{answer.Dot.String(), answer.Outcome, answer.Reason})
	}
	for _, m := range a.Marks {
		out.Refused = append(out.Refused, mark{m.Dot.String(), m.Reason})
	}
	b, err := json.Marshal(out)
	if err != nil {
		return err
	}
	if !packing(c) {
		return c.Blob(http.StatusOK, echo.MIMEApplicationJSON, b)
	}
	m := newGzipMember()
	m.add(b, packShared(b))
	return c.Blob(http.StatusOK, echo.MIMEApplicationJSON, m.end())
}

// answerRows joins what is for this device alone with the passages of the log, which
// are written and packed once for all.
func answerRows(c echo.Context, a *exchange.Answer, passages []*exchange.Passage) error {
	before, edits := a.RowsBefore(), 0
	for _, p := range passages {
		edits += p.Edits
	}
	after := a.RowsAfter(edits)
	if !packing(c) {
		for _, p := range passages {
			before = append(before, p.Rows...)
		}
		return c.Blob(http.StatusOK, rowsMedia, append(before, after...))
	}
	m := newGzipMember()
	if len(passages) == 0 {
		before, after = append(before, after...), nil
	}
	if len(passages) == 0 || len(before) > leastPacked {
		m.add(before, deflate(before, &quickDeflaters))
	} else { // to make some bytes less of it takes longer than all else here
		m.addPlain(before)
	}
	for _, p := range passages {
		m.add(p.Rows, p.Packed(packShared))
	}
	m.addPlain(after)
	return c.Blob(http.StatusOK, rowsMedia, m.end())
}

// packing sets the headers that keep forms and packings apart in a cache, and reports
// whether the answer is to be packed.
func packing(c echo.Context) bool {
	h := c.Response().Header()
	h.Set("Cache-Control", "no-store")
	h.Set(echo.HeaderVary, "Accept, Accept-Encoding")
	if accepted(c.Request().Header.Get(echo.HeaderAcceptEncoding), "gzip") <= 0 {
		return false
	}
	h.Set(echo.HeaderContentEncoding, "gzip")
	return true
}

// unreadable says what of a request cannot be read. encoding/json passes the
// error of an edit on without its place.
func unreadable(body []byte, err error) error {
	var number *json.UnmarshalTypeError
	if errors.As(err, &number) { // 1e3 is a whole number by the contract
		return wrong(number.Field, strings.TrimPrefix(number.Value, "number "), "a whole number written in digits alone")
	}
	whole, bad := logbook.ParseValue(string(body))
	if bad != nil {
		return fmt.Errorf("edits: %w", err)
	}
	i := 0
	for item := range whole.Member("edits").Items() {
		if bad := new(logbook.Edit).UnmarshalJSON([]byte(item)); bad != nil {
			return fmt.Errorf("edits/%d: %w", i, bad)
		}
		i++
	}
	return fmt.Errorf("edits: %w", err)
}

// exchangeRequest reads a request in the form that its Content-Type names, which the
// gate has looked at.
func exchangeRequest(
	c echo.Context, production logbook.ID, records func([]logbook.Dot) (map[logbook.Dot]logbook.RecordRef, error),
) (exchange.Request, error) {
	if bringsRows(c.Request()) {
		return exchange.ReadRequestRows(bodyOf(c), production, records)
	}
	return readableRequest(bodyOf(c))
}

func bringsRows(r *http.Request) bool {
	media, _, _ := strings.Cut(r.Header.Get(echo.HeaderContentType), ";")
	return strings.EqualFold(strings.TrimSpace(media), rowsMedia)
}

func readableRequest(body []byte) (exchange.Request, error) {
	var said openapi.ExchangeRequest
	if err := json.Unmarshal(body, &said); err != nil {
		return exchange.Request{}, unreadable(body, err)
	}
	var out exchange.Request
	var err error
	if said.Run != nil {
		if out.Run, err = logbook.ParseLine(*said.Run); err != nil {
			return out, wrong("run", *said.Run, "16 hexadecimal digits")
		}
	}
	if said.Cursor != nil {
		out.Cursor = *said.Cursor
	}
	if said.Have != nil {
		if out.Have, err = spans(*said.Have).ranges("have"); err != nil {
			return out, err
		}
	}
	out.Parts = said.Parts != nil && *said.Parts
	if said.ListBehind != nil {
		if out.ListBehind, err = logbook.ParseDot(*said.ListBehind); err != nil {
			return out, wrong("listBehind", *said.ListBehind, "a dot such as 00c0ffee00c0ffee.1")
		}
	}
	if said.Want != nil {
		if out.Want, err = spans(*said.Want).ranges("want"); err != nil {
			return out, err
		}
	}
	if said.LimitBytes != nil {
		out.Limit = *said.LimitBytes
	}
	if said.Edits != nil {
		for i := range *said.Edits {
			out.Edits = append(out.Edits, &(*said.Edits)[i])
		}
	}
	return out, nil
}
