package handset

import (
	"evenwhite/logbook"
	"evenwhite/logbook/advice"
	"evenwhite/logbook/deviation"
	"evenwhite/logbook/glance"
	"evenwhite/logbook/lighting"
	"evenwhite/logbook/review"
	"evenwhite/logbook/slate"
)

// about asks about one record as it is now.
func about[T any](e *Engine, s *said, member string, ask func(*logbook.Book, logbook.ID, logbook.Millis) (T, error)) (any, []byte, error) {
	id, now := s.id(member), s.now()
	if err := s.fault(); err != nil {
		return nil, nil, err
	}
	answer, err := ask(e.book(), id, now)
	return &answer, nil, err
}

func (e *Engine) now(s *said, _ []byte) (any, []byte, error) { return about(e, s, "setUp", glance.Now) }

func (e *Engine) plan(s *said, _ []byte) (any, []byte, error) {
	return about(e, s, "setUp", advice.Plan)
}

// correct says what to do to the footage of a clip.
func (e *Engine) correct(s *said, _ []byte) (any, []byte, error) {
	return about(e, s, "clip", advice.Correct)
}

func (e *Engine) match(s *said, _ []byte) (any, []byte, error) {
	asked := advice.MatchQuery{SetUp: s.id("setUp"), Camera: s.id("camera"), To: s.optional("to"), Follow: s.flag("follow")}
	now := s.now()
	if err := s.fault(); err != nil {
		return nil, nil, err
	}
	answer, err := advice.Match(e.book(), asked, now)
	return &answer, nil, err
}

// deviations lists what is off in a scope: all, or only what is accepted or is not.
func (e *Engine) deviations(s *said, _ []byte) (any, []byte, error) {
	found, err := e.found(s)
	if err != nil {
		return nil, nil, err
	}
	return &deviation.List{Deviations: found}, nil, nil
}

// Findings are deviations with their words, in one order.
type Findings struct {
	Deviations []deviation.Deviation `json:"deviations"`
	Verdicts   []glance.Verdict      `json:"verdicts"`
}

// findings lists what deviations does, each with its verdict.
func (e *Engine) findings(s *said, _ []byte) (any, []byte, error) {
	found, err := e.found(s)
	if err != nil {
		return nil, nil, err
	}
	return &Findings{found, glance.VerdictsOn(found)}, nil, nil
}

func (e *Engine) found(s *said) ([]deviation.Deviation, error) {
	scope, now := deviation.Scope{SetUp: s.optional("setUp"), Day: s.optional("day")}, s.now()
	some, accepted := s.has("accepted"), s.flag("accepted")
	if err := s.fault(); err != nil {
		return nil, err
	}
	if err := review.InScope(e.book(), scope.SetUp, scope.Day); err != nil {
		return nil, err
	}
	out := []deviation.Deviation{}
	for _, d := range deviation.Of(e.book(), scope, now) {
		if !some || accepted == (d.Accepted != nil) {
			out = append(out, d)
		}
	}
	return out, nil
}

// learnt says what readings taught of a lamp, a gel or a meter.
func (e *Engine) learnt(s *said, _ []byte) (any, []byte, error) {
	switch {
	case s.has("lamp"):
		return about(e, s, "lamp", lighting.LearntOfLamp)
	case s.has("gel"):
		return about(e, s, "gel", lighting.LearntOfGel)
	}
	return about(e, s, "meter", lighting.LearntOfMeter)
}

// verdicts gives what now says its words, and names the light that is due.
func (e *Engine) verdicts(s *said, _ []byte) (any, []byte, error) {
	return about(e, s, "setUp", func(b *logbook.Book, setUp logbook.ID, now logbook.Millis) (glance.Verdicts, error) {
		n, err := glance.Now(b, setUp, now)
		return n.Verdicts(), err
	})
}

// next says what the next take would be logged as.
func (e *Engine) next(s *said, _ []byte) (any, []byte, error) {
	return about(e, s, "setUp", slate.NextTake)
}
