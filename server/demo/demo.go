package demo

import (
	"bytes"
	"embed"
	"encoding/json"
	"errors"
	"fmt"

	"evenwhite/logbook"
)

//go:embed *.jsonl
var files embed.FS

// inOrder are the files as they are read.
var inOrder = []string{"prep.jsonl", "day1.jsonl", "day2.jsonl", "day3.jsonl", "day4.jsonl"}

// Fill puts the invented production into its log. Filling it again changes nothing.
func Fill(l *logbook.Log) error {
	s := newStory(l)
	for _, name := range inOrder {
		text, err := files.ReadFile(name)
		if err == nil {
			err = s.read(name, text)
		}
		if err != nil {
			return fmt.Errorf("demo: %w", err)
		}
	}
	if err := s.end(); err != nil {
		return fmt.Errorf("demo: %w", err)
	}
	return nil
}

// story keeps what was read and pushed so far.
type story struct {
	log     *logbook.Log
	date    string
	phones  []*phone
	cameras map[string]*card
	made    map[string]bool // names of records
	asked   []reference
	pushed  []*logbook.Edit // in the order in which they were pushed
	place   string          // file and line that is read
}

// reference is a name that a line refers to; the record may be made further down.
type reference struct{ name, place string }

func newStory(l *logbook.Log) *story {
	return &story{log: l, cameras: map[string]*card{}, made: map[string]bool{}}
}

// line is one line of the data: an event or a phone's edit.
type line struct {
	Note    string
	Date    string
	Phone   *device
	NewCard *card
	Meet    []string

	By, At       string
	Make, Change string
	Read         *reading
	Shoot        *shot
	Fields       json.RawMessage
}

// read reads a file of the story.
func (s *story) read(file string, text []byte) error {
	for i, each := range bytes.Split(bytes.TrimRight(text, "\n"), []byte("\n")) {
		s.place = fmt.Sprintf("%s:%d", file, i+1)
		var l line
		d := json.NewDecoder(bytes.NewReader(each))
		d.DisallowUnknownFields()
		err := d.Decode(&l)
		if err == nil && d.More() {
			err = errors.New("something follows the JSON object")
		}
		if err == nil {
			err = s.play(&l)
		}
		if err != nil {
			return fmt.Errorf("%s: %w", s.place, err)
		}
	}
	return nil
}

func (s *story) play(l *line) error {
	edits := count(l.Make != "", l.Change != "", l.Read != nil, l.Shoot != nil)
	events := count(l.Note != "", l.Date != "", l.Phone != nil, l.NewCard != nil, l.Meet != nil)
	switch {
	case edits+events != 1:
		return fmt.Errorf("got %d events, want one a line", edits+events)
	case edits == 1:
		return s.edit(l)
	case l.By != "" || l.At != "" || l.Fields != nil:
		return errors.New("by, at and fields belong to an edit")
	case l.Date != "":
		s.date = l.Date
	case l.Phone != nil:
		s.phones = append(s.phones, newPhone(s, *l.Phone))
	case l.NewCard != nil:
		s.cameras[l.NewCard.Camera] = l.NewCard
	case l.Meet != nil:
		return s.meet(l.Meet)
	}
	return nil
}

func count(is ...bool) (n int) {
	for _, b := range is {
		if b {
			n++
		}
	}
	return n
}

func (s *story) edit(l *line) error {
	p, err := s.phone(l.By)
	if err == nil && l.At != "" {
		p.now, err = localTime(s.date, l.At)
	}
	switch {
	case err != nil:
		return err
	case l.Read != nil:
		return p.read(l.Read, l.Fields)
	case l.Shoot != nil:
		return p.shoot(l.Shoot, l.Fields)
	}
	return p.edit(l.Make != "", l.Make+l.Change, string(l.Fields))
}

// end lets all phones meet; every name that was referred to is made by now.
func (s *story) end() error {
	var all []string
	for _, p := range s.phones {
		all = append(all, p.Name)
	}
	for _, r := range s.asked {
		if !s.made[r.name] {
			return fmt.Errorf("%s: #%s is never made", r.place, r.name)
		}
	}
	return s.meet(all)
}
