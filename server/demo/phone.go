package demo

import (
	"errors"
	"fmt"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
)

// phone is a device that logs.
type phone struct {
	id     logbook.ID
	behind logbook.Millis // how far its clock runs behind the server's
	dot    logbook.Dot    // of its last edit
	book   *logbook.Book
	seen   int // of story.pushed
	unsent []*logbook.Edit
}

func newPhone(name string, behind logbook.Millis) *phone {
	return &phone{
		id: idOf("device/" + name), behind: behind, dot: logbook.Dot{Line: lineOf(name)}, book: logbook.NewBook(Production, kinds.Rules),
	}
}

// edit makes a record, or changes it over the values that the phone has seen.
func (s *story) edit(l *line, at logbook.Millis) error {
	p, ok := s.phones[l.By]
	if !ok {
		return fmt.Errorf("there is no phone %q", l.By)
	}
	name, isNew := l.Make+l.Change, l.Make != ""
	spec, ok := kinds.Of(kindOf(name))
	if !ok {
		return errors.New("there is no such kind")
	}
	seen, known := p.book.Record(recordID(name))
	if isNew == s.made[name] || isNew == known {
		return errors.New("it is made twice, or changed before it is made and seen")
	}
	s.made[name] = true
	values, err := logbook.ParseValue(reference.ReplaceAllStringFunc(string(l.Fields), func(ref string) string {
		s.asked[ref[1:]] = s.place
		return recordID(ref[1:]).String()
	}))
	if err != nil {
		return err
	}
	p.dot.N++
	e := &logbook.Edit{
		Production: Production, Kind: spec.Kind, Record: recordID(name),
		Device: p.id, By: l.By, Dot: p.dot, At: at - p.behind, Offset: p.behind,
	}
	for field, value := range values.Members() {
		f, ok := spec.Field(field)
		if !ok {
			return fmt.Errorf("there is no field %q", field)
		}
		if err := kinds.JudgeValue(f, value, true); err != nil && value != logbook.Null {
			return err
		}
		c := logbook.Change{Field: field, Value: value}
		if known {
			c = logbook.Replace(seen, field, value)
		}
		e.Set = append(e.Set, c)
	}
	if len(e.Set) == 0 {
		return errors.New("it has no fields")
	}
	p.unsent = append(p.unsent, e)
	return p.book.Apply(e)
}

// meet lets phones exchange: each pushes what it has not sent, then sees what the
// others pushed.
func (s *story) meet(names []string, now logbook.Millis) error {
	for _, name := range names {
		p, ok := s.phones[name]
		if !ok {
			return fmt.Errorf("there is no phone %q", name)
		}
		answers, err := s.log.Push(p.unsent, p.id, now)
		if err != nil {
			return err
		}
		for _, a := range answers {
			if a.Outcome != logbook.AnswerTaken && a.Outcome != logbook.AnswerRepeat {
				return fmt.Errorf("edit %s was answered %q: %s", a.Dot, a.Outcome, a.Reason)
			}
		}
		s.pushed, p.unsent = append(s.pushed, p.unsent...), nil
	}
	for _, name := range names {
		for p := s.phones[name]; p.seen < len(s.pushed); p.seen++ {
			if err := p.book.Apply(s.pushed[p.seen]); err != nil {
				return err
			}
		}
	}
	return nil
}
