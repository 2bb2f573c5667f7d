package handset

import (
	"errors"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/advice"
	"evenwhite/logbook/amend"
	"evenwhite/logbook/answers"
	"evenwhite/logbook/exchange"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/review"
)

// An Engine holds one production for a phone. It is not locked: a worker asks it one thing
// after another.
type Engine struct {
	production, device logbook.ID
	replica            *exchange.Replica
	rest               int            // 0 once all stored edits were handed in
	from               logbook.Millis // from when on all edits are here, while some are not
}

// An Answer is what a message is answered with: JSON, and bytes where the message says so.
type Answer struct {
	JSON  []byte
	Bytes []byte
}

// ownTypes are the types of answers that stand in this room.
var ownTypes = answers.Table{Members: members, Element: element, Keys: keys}

// A handler answers a message: with where the answer lies, which is written as JSON.
type handler func(e *Engine, s *said, in []byte) (answer any, out []byte, err error)

// messages is the table of what a page may ask, beside open.
var messages = map[string]handler{
	"hold": (*Engine).hold, "prepare": (*Engine).prepare, "state": (*Engine).state,
	"form": (*Engine).form, "judge": (*Engine).judge, "write": (*Engine).write, "event": (*Engine).event, "undo": (*Engine).undo,
	"settle": (*Engine).settle,
	"now":    (*Engine).now, "match": (*Engine).match, "plan": (*Engine).plan, "correct": (*Engine).correct,
	"deviations": (*Engine).deviations, "findings": (*Engine).findings, "verdicts": (*Engine).verdicts, "next": (*Engine).next,
	"suppose": (*Engine).suppose,
	"setUps":  (*Engine).setUps, "list": (*Engine).list, "find": (*Engine).find, "record": (*Engine).record, "history": (*Engine).history,
	"conflicts": (*Engine).conflicts, "twins": (*Engine).twins, "waits": (*Engine).waits, "quarantine": (*Engine).quarantine,
	"color": (*Engine).color, "learnt": (*Engine).learnt, "still": (*Engine).still,
	"plane": (*Engine).plane, "drift": (*Engine).drift, "swatches": (*Engine).swatches,
	"request": (*Engine).request, "answer": (*Engine).answer, "bundle": (*Engine).bundle,
}

// Messages lists the messages that Call knows, in no order.
func Messages() []string {
	all := []string{"open"}
	for name := range messages {
		all = append(all, name)
	}
	return all
}

// Call answers one message. ok is false where it could not be carried out: then the answer
// is a Fault, and the engine is as it was.
func (e *Engine) Call(name string, text, in []byte) (a Answer, ok bool) {
	value, out, err := e.call(name, text, in)
	if err == nil {
		a.JSON, err = answers.Write(value, ownTypes)
	}
	if err != nil {
		fault := faultOf(err)
		a.JSON, _ = answers.Write(&fault, ownTypes)
		return a, false
	}
	a.Bytes = out
	return a, true
}

func (e *Engine) call(name string, text, in []byte) (any, []byte, error) {
	s, err := read(text)
	if err != nil {
		return nil, nil, err
	}
	if name == "open" {
		return e.open(s, in)
	}
	run, known := messages[name]
	if !known {
		return nil, nil, &logbook.FieldError{Field: "message", Value: logbook.TextValue(name), Allowed: "one of those that the engine knows"}
	}
	if e.replica == nil {
		return nil, nil, ErrNotOpen
	}
	return run(e, s, in)
}

// Errors of the engine's own.
var (
	ErrNotOpen = errors.New("no production is open: nothing is lost; open it first")
	ErrStale   = errors.New("it has changed since it was shown: nothing was written; look at it again")
	ErrExists  = errors.New("it exists already")
	ErrRest    = errors.New("older days are still being read: nothing is lost; ask again when all are here")
)

// A Fault is why a message was not carried out: its type by the word of the service's
// problem, if that has one.
type Fault struct {
	Type   string       `json:"type"`
	Detail string       `json:"detail"`
	Errors []FieldFault `json:"errors,omitempty"`
}

// A FieldFault says which part of a message is wrong, how it read, and what is allowed there.
type FieldFault struct {
	Field   string `json:"field"`
	Value   string `json:"value"`
	Allowed string `json:"allowed"`
}

// faults gives errors their words. The first that matches counts.
var faults = []struct {
	err  error
	name string
}{
	{ErrNotOpen, "not-open"}, {ErrStale, "stale"}, {ErrExists, "exists"}, {ErrRest, "not-all-read"},
	{logbook.ErrNoRecord, "no-record"}, {amend.ErrNotRefused, "not-refused"}, {amend.ErrNoUndo, "no-undo"}, {amend.ErrSettled, "settled"},
	{exchange.ErrRows, "not-rows"}, {exchange.ErrRecords, "records-wanted"}, {logbook.ErrForm, "not-an-edit"},
	{logbook.ErrDamaged, "damaged"}, {logbook.ErrRequest, "bad-request"}, {review.ErrCursor, "bad-request"},
	{advice.ErrItself, "same-camera"}, {figure.ErrUnknown, "unknown-yet"},
	{colorimetry.ErrClipped, "patch-clipped"}, {colorimetry.ErrExposure, "patch-exposure"}, {colorimetry.ErrNotNeutral, "patch-not-neutral"},
	{colorimetry.ErrPatchSize, "bad-request"}, {colorimetry.ErrDomain, "outside-domain"},
}

func faultOf(err error) Fault {
	var one *logbook.FieldError
	all, several := err.(amend.Errors)
	if !several && errors.As(err, &one) {
		all = amend.Errors{one}
	}
	f := Fault{Type: "internal", Detail: err.Error()}
	for _, e := range all {
		f.Type = "bad-request"
		f.Errors = append(f.Errors, FieldFault{e.Field, logbook.Shorten(string(e.Value)), e.Allowed})
	}
	for _, row := range faults {
		if len(all) == 0 && errors.Is(err, row.err) {
			f.Type = row.name
			break
		}
	}
	return f
}

func (e *Engine) book() *logbook.Book { return e.replica.Book() }

// open begins anew with a production: what the engine held of another is dropped. in is
// what the page stored of the logs that it met (answer), one after another, each in a frame.
func (e *Engine) open(s *said, in []byte) (any, []byte, error) {
	fresh := Engine{production: s.id("production"), device: s.id("device"), rest: int(s.whole("rest", 0, 1<<31-1, 0))}
	if err := s.fault(); err != nil {
		return nil, nil, err
	}
	fresh.from = logbook.Ever
	if fresh.rest == 0 {
		fresh.from = logbook.Beginning
	}
	fresh.replica = exchange.NewReplica(fresh.production, fresh.device, kinds.Rules, nil)
	for frame, err := range frames(in) {
		if err == nil {
			err = fresh.replica.Recall(frame)
		}
		if err != nil {
			return nil, nil, err
		}
	}
	*e = fresh
	told := e.told(logbook.Line{})
	return &told, nil, nil
}
