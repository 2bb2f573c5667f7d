package exchange_test

import (
	"errors"
	"fmt"
	"strings"

	"evenwhite/logbook"
	"evenwhite/logbook/amend"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/logtest"
)

// editing makes the deed in which a person with a phone changes something.
func editing(what string) func(*sim, *dice) string {
	return func(s *sim, d *dice) string {
		p := s.phone()
		if p == nil {
			return ""
		}
		words := s.write(p, what, d)
		if words == "" {
			return ""
		}
		return fmt.Sprintf("phone %d: %s", s.at.Phone%len(s.phones), words)
	}
}

// drafts are what a person does who looks at a book, and in words; none where
// there is nothing to do it to.
func (s *sim) drafts(b *logbook.Book, what string, d *dice) ([]logbook.Draft, string) {
	switch what {
	case "make a record":
		return s.drawRecord(b, d)
	case "settle a conflict":
		return settleOne(b, d)
	case "answer a twin":
		return answerOne(b, d)
	case "correct a refused edit", "discard a refused edit":
		return s.mendOne(b, what, d)
	}
	kind := kinds.Clip
	if what == "edit" || what == "strike out" || what == "bring back" {
		kind = []logbook.Kind{kinds.Clip, kinds.Clip, kinds.Take, kinds.Reading}[d.pick(4)]
	}
	if what == "correct a fact" {
		kind = kinds.Reading
	}
	var records []logbook.View
	for _, v := range b.AllRecords(kind) {
		if what != "bring back" || v.Deleted() {
			records = append(records, v)
		}
	}
	if len(records) == 0 {
		if what == "edit" {
			return s.drawRecord(b, d)
		}
		return nil, ""
	}
	v := records[d.pick(len(records))]
	var changes []logbook.Change
	switch what {
	case "strike out":
		changes = []logbook.Change{logbook.Strike(v)}
	case "bring back":
		return amend.Restore(v), short(v) + " brought back"
	case "correct a fact":
		return s.correctFact(v)
	default:
		changes = []logbook.Change{drawChange(v, what, d)}
	}
	c := changes[0]
	return v.Drafts(changes), fmt.Sprintf("%s of %s to %s over %d", c.Field, short(v), c.Value, len(c.Over))
}

// short names a record by its kind and number.
func short(v logbook.View) string {
	return fmt.Sprintf("%s %d", v.Kind, int(v.ID[14])<<8+int(v.ID[15])-1000)
}

func drawChange(v logbook.View, what string, d *dice) logbook.Change {
	switch what {
	case "write what is not valid":
		bad := []logbook.Change{logbook.Replace(v, "kelvin", "-3"), logbook.Replace(v, "lens", "5"), logbook.Replace(v, "sensorRate", `"fast"`)}
		return bad[d.pick(len(bad))]
	case "write what older rules refuse":
		return logbook.Replace(v, "sensorRate", "120")
	case "refer to what may be nowhere":
		return logbook.Replace(v, "setUp", logbook.IDValue(logtest.ID(1000+d.pick(20))))
	}
	switch v.Kind {
	case kinds.Take:
		return logbook.Replace(v, []string{"slate", "number"}[d.pick(2)], []logbook.Value{`"head"`, `"tail"`, "1", "2"}[d.pick(4)])
	case kinds.Reading:
		return logbook.Replace(v, "position", logbook.TextValue(fmt.Sprint(d.pick(4))))
	}
	switch field := []string{"lens", "card", "filters", "kelvin"}[d.pick(4)]; field {
	case "kelvin":
		return logbook.Replace(v, field, []logbook.Value{"3200", "5600", "5600.0", logbook.Null}[d.pick(4)])
	default:
		return logbook.Replace(v, field, logbook.TextValue(fmt.Sprint(d.pick(4))))
	}
}

// drawRecord makes a record of the least that a schedule needs to know of it; takes
// are few enough for twins to come about.
func (s *sim) drawRecord(b *logbook.Book, d *dice) ([]logbook.Draft, string) {
	kind := []logbook.Kind{kinds.Clip, kinds.Clip, kinds.Take, kinds.Take, kinds.Reading}[d.pick(5)]
	if len(b.AllRecords(kind)) >= 4 {
		return nil, ""
	}
	draft := logbook.Draft{Kind: kind, Record: s.id()}
	switch kind {
	case kinds.Clip:
		draft.Set = []logbook.Change{{Field: "camera", Value: logbook.IDValue(logtest.ID(3000))}, {Field: "lens", Value: `"35 mm"`}}
		if takes := b.Records(kinds.Take); len(takes) > 0 {
			draft.Set = append(draft.Set, logbook.Change{Field: "takes/" + takes[d.pick(len(takes))].ID.String(), Value: "{}"})
		}
	case kinds.Take:
		draft.Set = []logbook.Change{
			{Field: "number", Value: []logbook.Value{"1", "2", "1.0"}[d.pick(3)]}, {Field: "setUp", Value: logbook.IDValue(logtest.ID(2000))},
		}
	case kinds.Reading:
		draft.Set = []logbook.Change{{Field: "measured", Value: drawMeasured(d)}, {Field: "takenAt", Value: `"2026-03-04T05:06:07Z"`}}
	}
	return []logbook.Draft{draft}, fmt.Sprintf("%s %d anew", kind, s.nextID)
}

func drawMeasured(d *dice) logbook.Value {
	return logbook.Value(fmt.Sprintf(`{"as":"xy","x":0.3%d,"y":0.33}`, d.pick(3)))
}

// correctFact makes a reading that replaces another, which is struck out visibly
// and keeps its values.
func (s *sim) correctFact(v logbook.View) ([]logbook.Draft, string) {
	anew := logbook.Draft{Kind: kinds.Reading, Record: s.id(), Set: []logbook.Change{
		{Field: "measured", Value: `{"as":"xy","x":0.35,"y":0.35}`}, {Field: "supersedes", Value: logbook.IDValue(v.ID)}, {Field: "takenAt", Value: `"2026-03-04T05:06:08Z"`},
	}}
	old := v.Drafts([]logbook.Change{logbook.Replace(v, "struckOut", `{"reason":"typed wrong"}`)})
	return append([]logbook.Draft{anew}, old...), fmt.Sprintf("%s struck out for reading %d", short(v), s.nextID)
}

func settleOne(b *logbook.Book, d *dice) ([]logbook.Draft, string) {
	all := amend.Conflicts(b)
	if len(all) == 0 {
		return nil, ""
	}
	c := all[d.pick(len(all))]
	v, _ := b.RecordOf(c.Kind, c.Record)
	var change logbook.Change
	switch {
	case c.Field == logbook.DeletedField || c.Deletion:
		if change = logbook.BringBack(v); d.pick(2) == 1 {
			change = logbook.Strike(v)
		}
	case strings.HasPrefix(c.Field, logbook.SamePrefix):
		other, err := logbook.ParseID(strings.TrimPrefix(c.Field, logbook.SamePrefix))
		if err != nil {
			panic(err)
		}
		drafts, _ := amend.Answer(b, c.Record, other, amend.TwinTwo) // none where one is struck out
		return drafts, "twins answered at odds are two"
	default:
		change = logbook.Replace(v, c.Field, c.Heads[d.pick(len(c.Heads))].Value)
	}
	return v.Drafts([]logbook.Change{change}),
		fmt.Sprintf("%s of %s, in conflict, to %s over %d", change.Field, short(v), change.Value, len(change.Over))
}

func answerOne(b *logbook.Book, d *dice) ([]logbook.Draft, string) {
	answer := []string{amend.TwinOne, amend.TwinOne, amend.TwinTwo}[d.pick(3)]
	var first, second logbook.ID
	if asked := amend.Twins(b); len(asked) > 0 {
		t := asked[d.pick(len(asked))]
		first, second = t.Records[0], t.Records[len(t.Records)-1]
	} else { // whoever said something else may say it again
		takes := b.Apart(kinds.Take)
		if len(takes) < 2 {
			return nil, ""
		}
		first, second = takes[d.pick(len(takes))].ID, takes[d.pick(len(takes))].ID
	}
	drafts, err := amend.Answer(b, first, second, answer)
	if err != nil {
		return nil, ""
	}
	return drafts, fmt.Sprintf("%s %d and another are %s", drafts[0].Kind, int(first[14])<<8+int(first[15])-1000, answer)
}

// mendOne corrects a refused edit or discards it.
func (s *sim) mendOne(b *logbook.Book, what string, d *dice) ([]logbook.Draft, string) {
	refused := b.Refused()
	if len(refused) == 0 {
		return nil, ""
	}
	e := refused[d.pick(len(refused))].Edit
	if what == "discard a refused edit" {
		_, drafts, err := amend.Discard(b, e.Dot, s.id())
		if err != nil {
			panic(err)
		}
		return drafts, fmt.Sprintf("%s discarded", e.Dot)
	}
	field := e.Set[0].Field
	c := logbook.Change{
		Field: field,
		Value: map[string]logbook.Value{"kelvin": "4300", "lens": `"50 mm"`, "sensorRate": "50", "slate": `"head"`, "number": "1"}[field],
		Over:  e.Set[0].Over,
	}
	if c.Value == "" {
		return nil, ""
	}
	if v, ok := b.RecordOf(e.Kind, e.Record); ok {
		c = logbook.Replace(v, field, c.Value)
	}
	c.Over = append(c.Over, e.Dot)
	return []logbook.Draft{{Kind: e.Kind, Record: e.Record, Set: []logbook.Change{c}}}, fmt.Sprintf("%s corrected", e.Dot)
}

func (s *sim) write(p *simPhone, what string, d *dice) string {
	drafts, words := s.drafts(p.r.Book(), what, d)
	var edits []*logbook.Edit
	for _, draft := range drafts {
		e, err := p.r.Write(draft, "phone", s.clock+p.ahead, p.off)
		if err != nil {
			panic(err)
		}
		p.must[e.Dot] = true
		edits = append(edits, e)
	}
	if len(edits) == 0 {
		return ""
	}
	if p.again {
		s.counts[setBackAfresh]++
		p.again = false
	}
	s.notice(asWritten(p.r.Book(), rulesOf(p.old).Judge, edits))
	return words
}

func (s *sim) editByREST(d *dice) string {
	what := []string{
		"edit", "edit", "make a record", "settle a conflict", "strike out", "bring back", "answer a twin", "correct a refused edit",
	}[d.pick(8)]
	return s.writeByREST(s.server(), what, d)
}

func (s *sim) writeByREST(i int, what string, d *dice) string {
	srv := s.servers[i]
	words := ""
	edits, err := srv.log.Change(logbook.Writer{Device: logtest.ID(500 + i), By: "REST", Now: s.clock},
		func(b *logbook.Book) (drafts []logbook.Draft, err error) {
			drafts, words = s.drafts(b, what, d)
			return drafts, nil
		})
	var field *logbook.FieldError
	if errors.Is(err, logbook.ErrFull) || errors.As(err, &field) { // a value out of range is refused at the door
		return fmt.Sprintf("server %d refuses: %v", i, err)
	}
	if err != nil {
		panic(err)
	}
	for _, e := range edits {
		srv.must[e.Dot], srv.wrote[e.Dot] = true, true
	}
	if len(edits) == 0 {
		return ""
	}
	if srv.lost {
		s.counts[ownAfterLoss]++
		srv.lost = false
	}
	s.notice(asWritten(srv.book(), rulesOf(srv.old).Judge, edits))
	return fmt.Sprintf("server %d: %s", i, words)
}

// notice keeps the first fault of a step.
func (s *sim) notice(err error) {
	if s.fault == nil {
		s.fault = err
	}
}
