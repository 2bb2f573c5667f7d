package api

import (
	"fmt"
	"strings"

	"github.com/labstack/echo/v4"

	"evenwhite/api/pairing/audit"
	"evenwhite/logbook"
	"evenwhite/logbook/exchange"
	"evenwhite/logbook/kinds"
)

// settled lists what the caller's edits settled, as one deed.
func (s *service) settled(c echo.Context, edits []*logbook.Edit) {
	about, more := "", -1
	for _, e := range edits {
		for _, change := range e.Set {
			if !settles(e.Kind, change) {
				continue
			}
			if more++; more == 0 {
				about = fmt.Sprintf("%s of %s %s in production %s", change.Field, e.Kind, e.Record, e.Production)
			}
		}
	}
	if more > 0 {
		about += fmt.Sprintf(", and %d more", more)
	}
	if about != "" {
		s.audited(c, audit.Settled, about)
	}
}

// settles reports whether a change decides between what several people wrote: it replaces more
// than one value of a field, says of two records whether they are one, or is a white that names
// those which were chosen apart. Striking out names all that was seen, and decides nothing.
func settles(kind logbook.Kind, change logbook.Change) bool {
	switch {
	case change.Field == logbook.DeletedField:
		return false
	case strings.HasPrefix(change.Field, logbook.SamePrefix):
		return true
	case kind == kinds.White && change.Field == "settles":
		for range change.Value.Items() {
			return true
		}
	}
	return len(change.Over) > 1
}

// takenOf are the edits of a push that a device wrote itself and that came in with it.
func takenOf(request exchange.Request, a exchange.Answer, device logbook.ID) (own []*logbook.Edit) {
	taken := map[logbook.Dot]bool{}
	for _, one := range a.Answers {
		taken[one.Dot] = one.Outcome == logbook.AnswerTaken
	}
	for _, e := range request.Edits {
		if e.Device == device && taken[e.Dot] {
			own = append(own, e)
		}
	}
	return own
}
