package handset

import (
	"encoding/json"

	"evenwhite/logbook"
	"evenwhite/logbook/amend"
	"evenwhite/logbook/deviation"
	"evenwhite/logbook/glance"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/review"
	"evenwhite/logbook/slate"
)

// SetUps are the set-ups of a day, or all.
type SetUps struct {
	SetUps []glance.SetUpLine `json:"setUps"`
}

// setUps lists the set-ups of a day, or all, the latest first.
func (e *Engine) setUps(s *said, _ []byte) (any, []byte, error) {
	day := s.optional("day")
	if err := s.fault(); err != nil {
		return nil, nil, err
	}
	if err := review.InScope(e.book(), logbook.ID{}, day); err != nil {
		return nil, nil, err
	}
	return &SetUps{glance.SetUps(e.book(), day)}, nil, nil
}

// Takes is a page of takes, set-up by set-up. Next is the set-up at which the next page
// begins.
type Takes struct {
	Takes []glance.TakeLine `json:"takes"`
	Next  logbook.ID        `json:"next,omitzero"`
}

// list lists takes, the latest set-up first, or records of a kind in the order in which they
// were made, as the service lists them.
func (e *Engine) list(s *said, _ []byte) (any, []byte, error) {
	setUp, day, scene, limit := s.optional("setUp"), s.optional("day"), s.optional("scene"), s.limit()
	if s.has("kind") {
		of := review.Part{Kind: s.kind(), SetUp: setUp, Day: day, Deleted: s.flag("deleted")}
		cursor := s.cursor()
		if err := s.fault(); err != nil {
			return nil, nil, err
		}
		page, err := review.Records(e.book(), of, cursor, limit)
		return &page, nil, err
	}
	only := glance.TakeFilter{Camera: s.optional("camera"), Clip: s.textOr("clip", ""), Off: s.textOr("off", "")}
	from := s.optional("from")
	if err := s.fault(); err != nil {
		return nil, nil, err
	}
	b := e.book()
	if err := review.InScope(b, setUp, day); err != nil {
		return nil, nil, err
	}
	page, r := Takes{Takes: []glance.TakeLine{}}, glance.NewSummarizer(b)
	waiting := !from.IsZero()
	for _, line := range glance.SetUps(b, day) {
		waiting = waiting && line.SetUp != from
		if waiting || !setUp.IsZero() && line.SetUp != b.Resolve(setUp) || !scene.IsZero() && line.Scene != b.Resolve(scene) {
			continue
		}
		if len(page.Takes) >= limit {
			page.Next = line.SetUp
			break
		}
		v, _ := b.RecordOf(kinds.SetUp, line.SetUp)
		page.Takes = append(page.Takes, glance.TakesOf(r, v, only)...)
	}
	return &page, nil, nil
}

// Clips are the clips that were found.
type Clips struct {
	Clips []glance.ClipFound `json:"clips"`
}

// find lists the clips whose name or timecode somebody typed the beginning of.
func (e *Engine) find(s *said, _ []byte) (any, []byte, error) {
	text, limit := s.text("text"), s.limit()
	if err := s.fault(); err != nil {
		return nil, nil, err
	}
	return &Clips{glance.FindClips(e.book(), text, limit)}, nil, nil
}

// Record is a record as it reads now, with what a change of it names.
type Record struct {
	Record json.RawMessage  `json:"record"`
	Tag    string           `json:"tag"`
	Fields map[string]Shown `json:"fields"`
	Own    []string         `json:"own"` // the dots of this device's edits, the oldest first
	// Sources say of each setting of a clip how it is known.
	Sources []slate.Source `json:"sources,omitempty"`
}

func (e *Engine) record(s *said, _ []byte) (any, []byte, error) {
	kind, id := s.kind(), s.id("record")
	if err := s.fault(); err != nil {
		return nil, nil, err
	}
	v, err := review.Find(e.book(), kind, id)
	if err != nil {
		return nil, nil, err
	}
	out := Record{Record: json.RawMessage(amend.Object(v)), Tag: v.ETag(), Fields: shownOf(v), Own: []string{}}
	if kind == kinds.Clip {
		out.Sources = slate.Sources(e.book(), v)
	}
	for _, edit := range v.Edits() {
		if edit.Device == e.device {
			out.Own = append(out.Own, edit.Dot.String())
		}
	}
	return &out, nil, nil
}

func (e *Engine) history(s *said, _ []byte) (any, []byte, error) {
	kind, id := s.kind(), s.id("record")
	if err := s.fault(); err != nil {
		return nil, nil, err
	}
	answer, err := review.HistoryOf(e.book(), kind, id)
	return &answer, nil, err
}

func (e *Engine) conflicts(s *said, _ []byte) (any, []byte, error) {
	cursor, limit, now := s.cursor(), s.limit(), s.now()
	if err := s.fault(); err != nil {
		return nil, nil, err
	}
	page, err := review.Conflicts(e.book(), cursor, limit, now)
	return &page, nil, err
}

func (e *Engine) twins(s *said, _ []byte) (any, []byte, error) {
	cursor, limit := s.cursor(), s.limit()
	if err := s.fault(); err != nil {
		return nil, nil, err
	}
	page, err := review.Twins(e.book(), cursor, limit)
	return &page, nil, err
}

// quarantine lists refused edits. Of two edits under one dot a phone holds the one that it
// heard of first: clashes the service lists.
func (e *Engine) quarantine(*said, []byte) (any, []byte, error) {
	quarantine := review.Quarantined(e.book())
	return &quarantine, nil, nil
}

// Waits is how much waits for a person: questions with several answers, what may be there twice, and what is off on a set-up's day.
type Waits struct {
	Questions int `json:"questions"`
	Twins     int `json:"twins"`
	Off       int `json:"off"`
}

// waits counts what Settle lists, of the day of a set-up: a badge needs no more.
func (e *Engine) waits(s *said, _ []byte) (any, []byte, error) {
	return about(e, s, "setUp", func(b *logbook.Book, setUp logbook.ID, now logbook.Millis) (out Waits, _ error) {
		v, err := review.Find(b, kinds.SetUp, setUp)
		if err != nil {
			return out, err
		}
		asked, err := review.Conflicts(b, nil, 1, now)
		if err != nil {
			return out, err
		}
		for _, n := range asked.Counts {
			out.Questions += n.Count
		}
		twins, err := review.Twins(b, nil, 500)
		out.Twins = len(twins.Twins)
		for _, d := range deviation.Of(b, deviation.Scope{Day: v.Ref("day")}, now) {
			if d.Accepted == nil {
				out.Off++
			}
		}
		return out, err
	})
}
