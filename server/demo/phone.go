package demo

import (
	"errors"
	"fmt"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
)

// device is what the data say of a phone.
type device struct {
	Name     string
	BehindMs logbook.Millis // how far its clock runs behind the server's
}

// phone is a device that logs.
type phone struct {
	device
	story  *story
	id     logbook.ID
	line   logbook.Line
	n      uint64
	now    logbook.Millis // true time
	book   *logbook.Book
	seen   int // of story.pushed
	unsent []*logbook.Edit
}

func newPhone(s *story, d device) *phone {
	p := &phone{device: d, story: s, id: idOf("device/" + d.Name), book: logbook.NewBook(Production, kinds.Rules)}
	copy(p.line[:], hashOf("line "+d.Name))
	return p
}

func (s *story) phone(name string) (*phone, error) {
	for _, p := range s.phones {
		if p.Name == name {
			return p, nil
		}
	}
	return nil, fmt.Errorf("there is no phone %q", name)
}

// edit makes a record, or changes it over the values that this phone has seen.
func (p *phone) edit(isNew bool, name, fields string) error {
	if p.story.made[name] == isNew {
		return fmt.Errorf("%s is made twice, or changed before it is made", name)
	}
	p.story.made[name] = true
	text := namedIn.ReplaceAllStringFunc(fields, func(ref string) string {
		p.story.asked = append(p.story.asked, reference{ref[1:], p.story.place})
		return recordID(ref[1:]).String()
	})
	values, err := logbook.ParseValue(text)
	if err != nil {
		return fmt.Errorf("the fields of %s: %w", name, err)
	}
	p.n++
	e := &logbook.Edit{
		Production: Production, Kind: kindOf(name), Record: recordID(name), Device: p.id, By: p.Name,
		Dot: logbook.Dot{Line: p.line, N: p.n}, At: p.now - p.BehindMs, Offset: p.BehindMs,
	}
	spec, ok := kinds.Of(e.Kind)
	if !ok {
		return fmt.Errorf("%s: there is no kind %q", name, e.Kind)
	}
	seen, known := p.book.Record(e.Record)
	for field, value := range values.Members() {
		f, ok := spec.Field(field)
		if !ok {
			return fmt.Errorf("%s: there is no field %q", name, field)
		}
		if err := kinds.JudgeValue(f, value, true); err != nil && value != logbook.Null {
			return fmt.Errorf("%s: %w", name, err)
		}
		c := logbook.Change{Field: field, Value: value}
		if known {
			c = logbook.Replace(seen, field, value)
		}
		e.Set = append(e.Set, c)
	}
	if err := p.book.Apply(e); err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	p.unsent = append(p.unsent, e)
	p.now += 4000 // a thumb is not faster
	return nil
}

// meet lets phones exchange: each pushes what it has not sent, then sees what the
// others pushed.
func (s *story) meet(names []string) error {
	phones, now := make([]*phone, len(names)), logbook.Millis(0)
	for i, name := range names {
		p, err := s.phone(name)
		if err != nil {
			return err
		}
		phones[i], now = p, max(now, p.now)
	}
	for _, p := range phones {
		if err := p.push(now); err != nil {
			return err
		}
	}
	for _, p := range phones {
		for ; p.seen < len(s.pushed); p.seen++ {
			if err := p.book.Apply(s.pushed[p.seen]); err != nil {
				return err
			}
		}
		p.now = now
	}
	return nil
}

func (p *phone) push(now logbook.Millis) error {
	answers, err := p.story.log.Push(p.unsent, p.id, now)
	for _, a := range answers {
		if a.Outcome != logbook.AnswerTaken && a.Outcome != logbook.AnswerRepeat {
			err = errors.Join(err, fmt.Errorf("edit %s was answered %q: %s", a.Dot, a.Outcome, a.Reason))
		}
	}
	p.story.pushed = append(p.story.pushed, p.unsent...)
	p.unsent = nil
	return err
}
