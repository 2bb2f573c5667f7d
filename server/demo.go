package main

import (
	"crypto/sha256"
	"fmt"
	"regexp"
	"time"

	"evenwhite/logbook"
)

// The demo is an invented production of four days, logged by three phones. It is
// made of the same edits that phones push, with fixed ids, lines and times: every
// run gives the same log, so that its colour log can be compared byte for byte.
//
// demo.go are the phones and how they tell; demo_shoot.go rolls the cameras;
// demo_story*.go are what happens.

// demoProduction is the id of the invented production.
var demoProduction = demoID("production")

// fillDemo puts the invented production into its log. Filling it again changes
// nothing.
func fillDemo(l *logbook.Log) error {
	s := newStory(l)
	s.prepare()
	s.dayOne()
	s.dayTwo()
	s.dayThree()
	s.dayFour()
	return s.end()
}

// story keeps what was told and pushed so far.
type story struct {
	log       *logbook.Log
	told      []*logbook.Edit // in the order in which they were pushed
	dit       *phone
	operatorB *phone
	gaffer    *phone
	made      map[string]bool // names of records
	asked     map[string]bool // names that something refers to
	cameras   map[string]*position
	date      string
	err       error
}

// phone is a device that logs. What it has not seen yet it cannot replace: apart
// from the others it makes conflicts and twins as real phones do.
type phone struct {
	story  *story
	by     string
	id     logbook.ID
	line   logbook.Line
	n      uint64
	wrong  logbook.Millis // how far its clock runs behind the server's
	now    logbook.Millis // true time
	book   *logbook.Book
	seen   int // of story.told
	unsent []*logbook.Edit
}

func newStory(l *logbook.Log) *story {
	s := &story{log: l, made: map[string]bool{}, asked: map[string]bool{}, cameras: map[string]*position{}}
	s.dit = s.phone("DIT", 1200)
	s.operatorB = s.phone("B operator", 95_000)
	s.gaffer = s.phone("gaffer", -4300)
	return s
}

func (s *story) phone(by string, wrong logbook.Millis) *phone {
	p := &phone{story: s, by: by, id: demoID("device/" + by), wrong: wrong, book: logbook.NewBook(demoProduction, logbook.KindRules)}
	sum := sha256.Sum256([]byte("evenwhite demo line " + by))
	copy(p.line[:], sum[:])
	return p
}

// demoID makes the id of a named thing: a version 7 UUID (RFC 9562) whose time is
// the morning of the first day and whose random part is a hash of the name.
func demoID(name string) (id logbook.ID) {
	morning := demoTime("2026-03-04", "06:00")
	for i := range 6 {
		id[i] = byte(morning >> (8 * (5 - i)))
	}
	sum := sha256.Sum256([]byte("evenwhite demo " + name))
	copy(id[6:], sum[:])
	id[6] = id[6]&0x0f | 0x70
	id[8] = id[8]&0x3f | 0x80
	return id
}

// demoZone is the production's time zone.
var demoZone = time.FixedZone("Etc/GMT-1", 3600)

// demoTime reads a date and a local time of day, hh:mm or hh:mm:ss.
func demoTime(date, clock string) logbook.Millis {
	if len(clock) == 5 {
		clock += ":00"
	}
	t, err := time.ParseInLocation("2006-01-02 15:04:05", date+" "+clock, demoZone)
	if err != nil {
		panic(err) // the story is part of the program
	}
	return logbook.MillisOf(t)
}

func (s *story) fail(format string, args ...any) {
	if s.err == nil {
		s.err = fmt.Errorf("demo: "+format, args...)
	}
}

// at sets the time of day at which a phone goes on.
func (p *phone) at(clock string) *phone {
	p.now = demoTime(p.story.date, clock)
	return p
}

var namedRecord = regexp.MustCompile(`#[a-z]+/[a-z0-9-]+`)

// make logs a new record under a name of the story. Its fields are JSON, named as
// in edits; #name stands for the id of the record of that name.
func (p *phone) make(kind logbook.Kind, name, fields string) {
	if p.story.made[name] {
		p.story.fail("%s is made twice", name)
	}
	p.story.made[name] = true
	p.edit(kind, name, fields)
}

// change logs new values of a record, over the ones that this phone has seen.
func (p *phone) change(kind logbook.Kind, name, fields string) {
	if !p.story.made[name] {
		p.story.fail("%s is changed before it is made", name)
	}
	p.edit(kind, name, fields)
}

func (p *phone) edit(kind logbook.Kind, name, fields string) {
	text := namedRecord.ReplaceAllStringFunc(fields, func(ref string) string {
		p.story.asked[ref[1:]] = true
		return demoRecord(ref[1:]).String()
	})
	values, err := logbook.ParseValue(text)
	if err != nil {
		p.story.fail("%s: %v", name, err)
		return
	}
	id := demoRecord(name)
	view, known := p.book.Record(id)
	e := &logbook.Edit{Production: demoProduction, Kind: kind, Record: id, Device: p.id, At: p.now - p.wrong, Offset: p.wrong, By: p.by}
	for field, value := range values.Members() {
		c := logbook.Change{Field: field, Value: value}
		if known {
			c = logbook.Replace(view, field, value)
		}
		e.Set = append(e.Set, c)
	}
	p.n++
	e.Dot = logbook.Dot{Line: p.line, N: p.n}
	if err := p.book.Apply(e); err != nil {
		p.story.fail("%s: %v", name, err)
	}
	p.unsent = append(p.unsent, e)
	p.now += 4000 // a thumb is not faster
}

// demoRecord is the id of a named record; the production's record has the id of
// the production.
func demoRecord(name string) logbook.ID {
	if name == "production" {
		return demoProduction
	}
	return demoID("record/" + name)
}

// meet lets phones exchange: each pushes what it has not sent, then sees what the
// others pushed.
func (s *story) meet(phones ...*phone) {
	now := logbook.Millis(0)
	for _, p := range phones {
		now = max(now, p.now)
	}
	for _, p := range phones {
		s.push(p, now)
	}
	for _, p := range phones {
		for ; p.seen < len(s.told); p.seen++ {
			if err := p.book.Apply(s.told[p.seen]); err != nil {
				s.fail("%v", err)
			}
		}
		p.now = now
	}
}

func (s *story) push(p *phone, now logbook.Millis) {
	for len(p.unsent) > 0 && s.err == nil {
		batch := p.unsent[:min(len(p.unsent), logbook.MaxPush)]
		answers, err := s.log.Push(batch, p.id, now)
		if err != nil {
			s.fail("%v", err)
			return
		}
		for _, a := range answers {
			if a.Outcome != logbook.AnswerTaken && a.Outcome != logbook.AnswerRepeat {
				s.fail("edit %s was answered %q: %s", a.Dot, a.Outcome, a.Reason)
			}
		}
		s.told = append(s.told, batch...)
		p.unsent = p.unsent[len(batch):]
	}
}

// end sends what is left and reports the first thing that went wrong.
func (s *story) end() error {
	s.meet(s.dit, s.operatorB, s.gaffer)
	for name := range s.asked {
		if !s.made[name] {
			s.fail("%s is referred to, but never made", name)
		}
	}
	return s.err
}
