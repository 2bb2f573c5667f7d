package demo

import (
	"cmp"
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strings"

	"evenwhite/logbook"
)

// card is what a camera letter on the set records on, and with.
type card struct {
	Camera, Card, Body string
	Mode               string // key of the recording mode
	RecordRun          bool   // its timecode runs with the recording, not with the day
	clips              int
	recorded           int // seconds on the card
}

// reading is of a light, or without one of everything together.
type reading struct {
	Name, SetUp, Light string
	Meter              string // the hand meter where none is named
	Measured, Lux      json.RawMessage
}

func (p *phone) read(r *reading, fields json.RawMessage) error {
	of := map[string]string{"as": "everything"}
	if r.Light != "" {
		of = map[string]string{"as": "light", "light": r.Light}
	}
	return p.edit(true, r.Name, object(map[string]any{
		"setUp": r.SetUp, "takenAt": instant(p.now), "meter": cmp.Or(r.Meter, "#meter/hand"), "of": of, "measured": r.Measured,
		"illuminance": map[string]any{"value": r.Lux, "unit": "lux"},
	}, fields))
}

// shot is one run of the cameras.
type shot struct {
	Take    string // the take that it makes, "" for none
	Number  int
	Kind    string // of the clips, where they belong to no take
	SetUp   string
	Seconds int
	Carried bool                       // the settings were carried over, not read off
	Clips   map[string]json.RawMessage // fields by camera; on kelvin where no white mode is named
}

// shoot logs a take and its clips.
func (p *phone) shoot(s *shot, fields json.RawMessage) error {
	start := p.now
	if s.Take != "" {
		take := map[string]any{"setUp": s.SetUp, "number": s.Number, "startedAt": instant(start)}
		if err := p.edit(true, s.Take, object(take, fields)); err != nil {
			return err
		}
	} else if fields != nil {
		return fmt.Errorf("there is no take that has %s", fields)
	}
	for _, camera := range slices.Sorted(maps.Keys(s.Clips)) {
		if err := p.roll(s, camera, start); err != nil {
			return err
		}
	}
	p.now = start + logbook.Millis(s.Seconds)*1000
	return nil
}

func (p *phone) roll(s *shot, camera string, start logbook.Millis) error {
	on := p.story.cameras[camera]
	if on == nil {
		return fmt.Errorf("camera %q has no card", camera)
	}
	on.clips++
	file, letter := fmt.Sprintf("%sC%03d", on.Card, on.clips), strings.ToLower(camera)
	clock := start.Time().In(zone)
	first := clock.Hour()*3600 + clock.Minute()*60 + clock.Second()
	if on.RecordRun {
		first = 3600 + on.recorded
	}
	on.recorded += s.Seconds
	fields := map[string]any{
		"setUp": s.SetUp, "camera": "#camera/" + letter, "body": on.Body, "recordingMode": on.Mode, "card": on.Card,
		"name": map[string]string{"text": file, "from": "counted"}, "startedAt": instant(start),
		"timecode/start": timecode(first), "timecode/end": timecode(first + s.Seconds), "settingsAre": "carriedOver",
	}
	if !s.Carried {
		fields["settingsAre"], fields["readOffAt"] = "readOff", instant(start)
	}
	name := "clip/" + strings.ToLower(file)
	if s.Kind != "" {
		fields["clipKind"] = s.Kind
	}
	if s.Take != "" {
		name = "clip/" + strings.TrimPrefix(s.Take, "take/") + "-" + letter
		fields["takes/#"+s.Take] = map[string]string{"beginsAt": timecode(first + 4)}
	}
	own := s.Clips[camera]
	if v, _ := logbook.ParseValue(string(own)); v.Member("whiteMode") == "" {
		fields["whiteMode"] = "kelvin"
	}
	return p.edit(true, name, object(fields, own))
}

func timecode(s int) string { return fmt.Sprintf("%02d:%02d:%02d:00", s/3600, s/60%60, s%60) }

// object joins fields and those of a JSON object. What stands in both stands twice in
// the text, which an edit refuses.
func object(fields map[string]any, more json.RawMessage) string {
	text, err := json.Marshal(fields)
	if err != nil {
		return "" // no JSON: an edit refuses it too
	}
	if more == nil {
		return string(text)
	}
	return string(text[:len(text)-1]) + "," + strings.TrimPrefix(string(more), "{")
}
