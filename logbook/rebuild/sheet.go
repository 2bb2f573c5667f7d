package rebuild

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
	"evenwhite/logbook/rigging"
	"evenwhite/logbook/setup"
)

// RebuildSheet is a set-up as it was rigged at a take.
type RebuildSheet struct {
	Production  string     `json:"production"` // its title
	SetUp       logbook.ID `json:"setUp"`
	Name        string     `json:"name"` // with the scene's: "44 A"
	Scene       logbook.ID `json:"scene,omitzero"`
	Day         logbook.ID `json:"day,omitzero"`
	DayWords    string     `json:"dayWords,omitempty"` // "day 3, 2026-03-06"
	Take        logbook.ID `json:"take,omitzero"`      // absent: no take was logged yet
	TakeName    string     `json:"takeName,omitempty"`
	At          *time.Time `json:"at,omitempty"` // of the take; absent: now
	AsOf        string     `json:"asOf"`         // "as rigged at take 3, 10:30 UTC+1"
	Place       string     `json:"place,omitempty"`
	Description string     `json:"description,omitempty"`
	Sky         string     `json:"sky,omitempty"` // as somebody named it until then
	// White is the white in force at the take, Measured the reference light, else the mix, then.
	White        *setup.White         `json:"white,omitempty"`
	WhiteProblem string               `json:"whiteProblem,omitempty"`
	WhiteAfter   bool                 `json:"whiteAfter"` // it was chosen after the take
	Measured     *figure.Chromaticity `json:"measured,omitempty"`
	MeasuredFrom figure.Origin        `json:"measuredFrom"`
	Lights       []SheetLight         `json:"lights"`
	Cameras      []SheetCamera        `json:"cameras"`
	Cautions     []string             `json:"cautions"` // chosen by the lamps
	RestsOn      []SheetFact          `json:"restsOn"`
}

// SheetLight is a light of the sheet, and how much it gives against the key.
type SheetLight struct {
	Rigged rigging.RiggedLight `json:"rigged"`
	Level  *LevelRatio         `json:"level,omitempty"`
	// LevelProblem says why there is no ratio.
	LevelProblem string `json:"levelProblem,omitempty"`
}

// SheetFact is a record that the sheet rests on.
type SheetFact struct {
	Kind   logbook.Kind `json:"kind"`
	Record logbook.ID   `json:"record"`
	Words  string       `json:"words"`
}

// A Query asks for a set-up at one of its takes; without one at its last that is footage, and where
// it has none as it is now, or was when people left it.
type Query struct{ SetUp, Take logbook.ID }

// Of is the sheet that is asked for. Errors wrap logbook.ErrNoRecord.
func Of(b *logbook.Book, asked Query, now logbook.Millis) (RebuildSheet, error) {
	s, err := sideOf(setup.NewReader(b), asked, false, now)
	if err != nil {
		return RebuildSheet{}, err
	}
	return s.sheet(), nil
}

// A side is a set-up at the moment of a sheet.
type side struct {
	*setup.SetUp
	take   logbook.View // none: no take was logged yet
	at     logbook.Millis
	period *setup.Period
	lights []SheetLight
	// cameras are those in use, with their clips of the take, or as they stand.
	cameras []SheetCamera
}

// sideOf reads a set-up for a sheet; latest: as it is now, or was when people left it, whatever was
// shot in it.
func sideOf(r *setup.Reader, asked Query, latest bool, now logbook.Millis) (*side, error) {
	b := r.Book()
	view, err := logbook.FindRecord(b, kinds.SetUp, "setUp", asked.SetUp)
	if err != nil {
		return nil, err
	}
	s := &side{SetUp: r.ReadForRows(view)}
	if !asked.Take.IsZero() {
		if s.take, err = logbook.FindRecord(b, kinds.Take, "take", asked.Take); err != nil {
			return nil, err
		}
		if s.take.Ref("setUp") != view.ID {
			return nil, fmt.Errorf("%w: take is %s, allowed is a take of the set-up", logbook.ErrNoRecord, asked.Take)
		}
	} else if !latest {
		for _, take := range s.Takes() { // by time
			if lighting.IsTake(take) {
				s.take = take
			}
		}
	}
	moment := setup.Moment{}
	if s.take.Known() {
		moment = s.AtTake(s.take)
	} else {
		s.SetUp = r.ReadAsLeft(view, now)
		moment = s.Here()
	}
	s.at, s.period = moment.At, moment.Period
	s.lightsThere()
	s.camerasThere()
	return s, nil
}

func (s *side) lightsThere() {
	var rigged []rigging.RiggedLight
	for _, light := range s.Lights() {
		rigged = append(rigged, rigging.LightAt(s.SetUp, light, s.at))
	}
	rigging.SortByRole(rigged)
	key, found := s.keyAmong(rigged)
	for _, l := range rigged {
		one := SheetLight{Rigged: l}
		if found && l.Light != key.ID {
			one.Level, one.LevelProblem = s.levelOf(l.Light, key)
		}
		s.lights = append(s.lights, one)
	}
}

// asOf says what moment is meant.
func (s *side) asOf() string {
	switch {
	case s.take.Known():
		return fmt.Sprintf("as rigged at %s, %s", lighting.TakeName(s.take), rigging.Clock(s.SetUp, s.at))
	case s.at == logbook.Ever:
		return "as rigged now"
	}
	return "as rigged when people left it, " + rigging.Clock(s.SetUp, s.at)
}

func (s *side) name() string { return lighting.SetUpName(s.Book(), s.View()) }

func (s *side) sheet() RebuildSheet {
	b, view := s.Book(), s.View()
	out := RebuildSheet{
		Production: rigging.TitleOf(b), SetUp: view.ID, Name: s.name(), Scene: s.Scene(), Day: s.Day(), DayWords: rigging.DayWords(b, s.Day()),
		AsOf: s.asOf(), Place: view.Text("place"), Description: view.Text("description"), Sky: lighting.SkyWords(s.SkyAt(s.at)),
		Lights: slices.Clone(s.lights), Cameras: slices.Clone(s.cameras), Cautions: s.Cautions(), RestsOn: []SheetFact{},
	}
	if s.take.Known() {
		out.Take, out.TakeName = s.take.ID, lighting.TakeName(s.take)
	}
	if s.at != logbook.Ever {
		at := s.at.Time()
		out.At = &at
	}
	if s.period.White.Known() {
		white := s.period.InForce
		out.White, out.WhiteProblem = &white, white.Problem
		out.WhiteAfter = s.period.White.CreatedAt() > s.at
	} else {
		out.WhiteProblem = "no white was chosen"
	}
	if color, origin, err := s.ReferenceAt(s.at); err == nil {
		out.Measured, out.MeasuredFrom = color, origin
	} else {
		out.MeasuredFrom.Method = err.Error()
	}
	out.Lights, out.Cameras = append([]SheetLight{}, out.Lights...), append([]SheetCamera{}, out.Cameras...)
	out.RestsOn = s.facts(out)
	return out
}

// facts lists the records that a sheet rests on.
func (s *side) facts(out RebuildSheet) []SheetFact {
	all := []SheetFact{}
	if out.Take != (logbook.ID{}) {
		all = append(all, SheetFact{kinds.Take, out.Take, strings.TrimPrefix(out.TakeName, "take ")})
	}
	if w := out.White; w != nil {
		all = append(all, SheetFact{kinds.White, w.White, w.Words + ", since " + w.Since})
		for _, o := range w.Contested {
			all = append(all, SheetFact{kinds.White, o.White, "chosen apart: " + o.Words + ", since " + o.Since + " (" + o.By + ")"})
		}
	}
	for _, l := range out.Lights {
		all = append(all, SheetFact{kinds.Light, l.Rigged.Light, l.Rigged.Name + " as typed"})
		if r := l.Rigged.Reading; r != nil {
			all = append(all, SheetFact{kinds.Reading, r.Reading, l.Rigged.Name + ", " + r.When})
			if !r.NextReading.IsZero() {
				all = append(all, SheetFact{kinds.Reading, r.NextReading, l.Rigged.Name + ", the later one"})
			}
		}
		if l.Level != nil && (l.Rigged.Reading == nil || l.Level.Reading != l.Rigged.Reading.Reading) {
			all = append(all, SheetFact{kinds.Reading, l.Level.Reading, l.Rigged.Name + " for its level"})
		}
	}
	for _, c := range out.Cameras {
		if !c.Clip.IsZero() {
			all = append(all, SheetFact{kinds.Clip, c.Clip, "of camera " + c.Letter})
		}
	}
	return all
}
