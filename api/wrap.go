package api

import (
	"github.com/labstack/echo/v4"

	"evenwhite/api/pairing"
	"evenwhite/logbook"
	"evenwhite/logbook/exchange"
	"evenwhite/logbook/wrap"
	"evenwhite/openapi"
)

// GetWrap answers what is open at the end of a day.
func (s *service) GetWrap(c echo.Context, production openapi.ProductionParameter, params openapi.GetWrapParams) error {
	l, err := s.Logs.Keeping(logbook.ID(production))
	if err != nil {
		return err
	}
	return readIn(l, nil, func(b *logbook.Book) (wrap.WrapCheck, error) {
		return wrap.Of(b, dayAsked(b, optionalID(params.DayFilterParameter)), WrapKnown(s.Auth, b), s.now())
	}).answer(c)
}

// WrapKnown is what a server knows of the phones that may write in a production, and of edits that
// are known of and not here.
func WrapKnown(auth *pairing.Auth, b *logbook.Book) (known wrap.Known) {
	labels := map[logbook.ID]string{}
	for _, d := range auth.Devices() {
		labels[d.ID] = d.Label
		is := pairing.Caller{Grants: d.Grants}
		if d.Own || d.Script() || !d.RevokedAt.IsZero() || !is.RoleIn(b.Production()).Includes(pairing.Editor) {
			continue
		}
		p := wrap.Phone{Device: d.ID, Label: d.Label, Unsent: d.Seen.Unsent}
		if !d.Seen.At.IsZero() {
			p.Heard = logbook.MillisOf(d.Seen.At)
		}
		known.Phones = append(known.Phones, p)
	}
	for _, m := range exchange.Missing(b) {
		known.Missing = append(known.Missing, missingBy(m, labels))
	}
	return known
}

func missingBy(m exchange.MissingEdits, labels map[logbook.ID]string) (out wrap.Missing) {
	for _, span := range m.Spans {
		out.Count += span.To - span.From + 1
	}
	for _, h := range append([]exchange.Holder{m.Writer}, m.SeenBy...) {
		if h == (exchange.Holder{}) {
			continue
		}
		name := labels[h.Device]
		if name == "" {
			name = "a device that was not paired here, of " + h.By
		}
		out.Holders = append(out.Holders, name)
	}
	if len(out.Holders) == 0 {
		out.Holders = []string{"nobody that is known"}
	}
	return out
}
