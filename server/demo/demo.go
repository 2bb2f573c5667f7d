package demo

import (
	"cmp"
	"embed"
	"encoding/json"
	"fmt"
	"io/fs"
	"maps"
	"slices"
	"strings"

	"evenwhite/logbook"
)

//go:embed *.jsonl
var production embed.FS

// Fill puts the invented production into its log, laid so that it ends shortly before now.
// Filling it again changes nothing, whenever that is.
func Fill(l *logbook.Log, now logbook.Millis) error {
	c := calendarFor(now)
	l.Read(func(b *logbook.Book) {
		if before, ok := calendarIn(b); ok {
			c = before
		}
	})
	return fill(l, production, c)
}

// story keeps what was read and pushed so far.
type story struct {
	log *logbook.Log
	calendar
	date   string
	phones map[string]*phone
	made   map[string]bool   // names of records
	asked  map[string]string // where a name is referred to; its record may be made further down
	pushed []*logbook.Edit   // in the order in which they were pushed
	place  string            // file and line that is read
}

// fill reads files in the order of their names.
func fill(l *logbook.Log, files fs.FS, c calendar) error {
	s := &story{log: l, calendar: c, phones: map[string]*phone{}, made: map[string]bool{}, asked: map[string]string{}}
	names, err := fs.Glob(files, "*.jsonl")
	for _, file := range names {
		text, err := fs.ReadFile(files, file)
		if err != nil {
			return err
		}
		for i, line := range strings.Split(strings.TrimSuffix(string(text), "\n"), "\n") {
			s.place = fmt.Sprintf("%s:%d", file, i+1)
			if err := s.play([]byte(c.move(line))); err != nil {
				return fmt.Errorf("%s: %w", s.place, err)
			}
		}
	}
	for name, place := range s.asked {
		if !s.made[name] {
			return fmt.Errorf("%s: #%s is never made", place, name)
		}
	}
	for name, p := range s.phones {
		if len(p.unsent) > 0 {
			return fmt.Errorf("%s: %s has edits that no meeting follows", s.place, name)
		}
	}
	return err
}

// line is one line of the data.
type line struct {
	Date, At, Phone  string
	BehindMs         logbook.Millis
	Meet             []string
	By, Make, Change string
	Fields           json.RawMessage
}

func (s *story) play(text []byte) error {
	var members map[string]json.RawMessage // the line alone would also take Make for make, and two events
	var l line
	if err := cmp.Or(json.Unmarshal(text, &members), json.Unmarshal(text, &l)); err != nil {
		return err
	}
	at, err := s.localTime(s.date, l.At)
	if err != nil && members["at"] != nil {
		return err
	}
	switch has := strings.Join(slices.Sorted(maps.Keys(members)), " "); has {
	case "note":
	case "date":
		s.date = l.Date
	case "behindMs phone":
		s.phones[l.Phone] = newPhone(l.Phone, l.BehindMs)
	case "at meet":
		return s.meet(l.Meet, at)
	case "at by fields make", "at by change fields":
		if err := s.edit(&l, at); err != nil {
			return fmt.Errorf("%s: %w", l.Make+l.Change, err)
		}
	default:
		return fmt.Errorf("no line has the members %q", has)
	}
	return nil
}
