package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"image"
	"image/color"
	"image/png"

	"evenwhite/api"
	"evenwhite/logbook"
)

// dayFour is a ferry terminal, where no one light is the white: a mix on a bench, a
// compromise in a doorway, what camera A stands on when nobody has time to measure, and
// a grey card when nobody has a meter. The day is not closed.
func (s *story) dayFour() {
	s.date = "2026-03-07"
	g := s.gaffer.at("09:00")
	g.make(logbook.KindDay, "day/4", `{"number": 4, "date": "2026-03-07", "unit": "main", "place": "the ferry terminal", "weather": "thin cloud"}`)
	g.make(logbook.KindScene, "scene/52", `{"name": "52", "location": "interior", "storyTime": "day"}`)
	s.newCard("A", "A005")
	s.newCard("B", "B004")
	s.meet(s.dit, s.operatorB, g)
	s.terminalBench()
	s.terminalDoor()
	s.terminalGangway()
	s.terminalTickets()
}

// terminalBench: the tubes on the ceiling can be neither turned off nor gelled. White is
// what they and the window make together on the bench.
func (s *story) terminalBench() {
	p, g := s.dit, s.gaffer
	p.setUp("setup/52a", "09:20", "day/4", "scene/52", "A", `"place": "the bench"`, "a", "b")
	s.meet(p, g, s.operatorB)
	g.at("09:25").make(logbook.KindLight, "light/52a-window", `{"setUp": "#setup/52a", "name": "window", "role": "key", "intent": "leave", "sky": "cloud", "rigged/on": true}`)
	g.make(logbook.KindLight, "light/52a-tubes", `{"setUp": "#setup/52a", "name": "tubes on the ceiling", "role": "background", "intent": "leave", "rigged/on": true}`)
	s.meet(p, g)
	p.read("setup/52a", "reading/52a-window", "09:30", "light/52a-window", `{"as": "cctDuv", "cctKelvin": 5900, "duv": 0.0035}`, 420, `"sky": "cloud", "purpose": "first", "position": "bench"`)
	p.read("setup/52a", "reading/52a-tubes", "09:31", "light/52a-tubes", `{"as": "cctDuv", "cctKelvin": 4050, "duv": 0.0055}`, 280, `"purpose": "first", "position": "bench"`)
	p.at("09:33").make(logbook.KindWhite, "white/52a", `{"setUp": "#setup/52a", "from": {"as": "mix", "position": "bench"},
		"appliesFrom": {"as": "start"}, "decidedBy": "cinematographer", "judgedOn": "monitor"}`)
	s.chartAndTake("52a", "09:36", `"sky": "cloud"`, onKelvin(5020, 0), onKelvin(5000, 0))
}

// terminalDoor: a face between the street and the bar. The white lies between both,
// twice as near to the street.
func (s *story) terminalDoor() {
	p, g := s.dit, s.gaffer
	p.setUp("setup/52b", "10:40", "day/4", "scene/52", "B", `"place": "the doorway"`, "a", "b")
	s.meet(p, g)
	g.at("10:44").make(logbook.KindLight, "light/52b-street", `{"setUp": "#setup/52b", "name": "street", "role": "key", "intent": "leave", "sky": "cloud", "rigged/on": true}`)
	g.make(logbook.KindLight, "light/52b-bar", `{"setUp": "#setup/52b", "name": "bulbs over the bar", "lamp": "#lamp/bulb", "role": "fill", "intent": "leave", "rigged/levelPercent": 100, "rigged/on": true}`)
	s.meet(p, g)
	p.read("setup/52b", "reading/52b-street", "10:50", "light/52b-street", `{"as": "cctDuv", "cctKelvin": 5600, "duv": 0.0030}`, 380, `"sky": "cloud", "purpose": "first", "position": "face"`)
	p.read("setup/52b", "reading/52b-bar", "10:51", "light/52b-bar", `{"as": "cctDuv", "cctKelvin": 2900, "duv": 0.0002}`, 140, `"purpose": "first", "position": "face"`)
	p.at("10:54").make(logbook.KindWhite, "white/52b", `{"setUp": "#setup/52b", "from": {"as": "compromise", "lights": [{"light": "#light/52b-street", "weight": 2}, {"light": "#light/52b-bar", "weight": 1}]},
		"appliesFrom": {"as": "start"}, "decidedBy": "cinematographer", "judgedOn": "monitor"}`)
	s.chartAndTake("52b", "10:57", `"sky": "cloud"`, onKelvin(4270, 2), onKelvin(4300, 0))
}

// terminalGangway: the ferry leaves in a minute. Nobody measures; camera A stays where it is.
func (s *story) terminalGangway() {
	p := s.dit
	p.setUp("setup/52c", "11:30", "day/4", "scene/52", "C", `"place": "the gangway"`, "a")
	p.make(logbook.KindLight, "light/52c-sky", `{"setUp": "#setup/52c", "name": "sky", "role": "key", "intent": "leave", "sky": "cloud", "rigged/on": true}`)
	p.make(logbook.KindWhite, "white/52c", `{"setUp": "#setup/52c", "from": {"as": "cameraSetting", "camera": "#camera/a", "kelvin": 4270, "tint": 2},
		"appliesFrom": {"as": "start"}, "decidedBy": "cinematographer", "judgedOn": "eye"}`)
	p.shoot(shot{setUp: "setup/52c", at: "11:32", seconds: 41, take: "take/52c-1", number: 1, fields: `"sky": "cloud", "white": "#white/52c", "wanted": true`,
		clips: []clip{{camera: "A", settings: onKelvin(4270, 2)}}})
	s.meet(p, s.gaffer, s.operatorB)
}

// terminalTickets: the meter went ahead with the truck. The light on the card is what a
// still of B says; A takes its own white from the card and rolls alone.
func (s *story) terminalTickets() {
	p, b := s.dit, s.operatorB
	p.setUp("setup/52d", "12:10", "day/4", "scene/52", "D", `"place": "the ticket window"`, "a", "b")
	s.meet(p, b)
	p.at("12:12").make(logbook.KindLight, "light/52d-glass", `{"setUp": "#setup/52d", "name": "frosted glass", "role": "key", "intent": "match", "sky": "cloud", "rigged/on": true}`)
	both := []clip{{camera: "A", settings: onKelvin(4400, 0)}, {camera: "B", settings: onKelvin(4400, 0)}}
	p.shoot(shot{setUp: "setup/52d", at: "12:16", seconds: 15, kind: "chart", clips: both})
	s.meet(p, b)
	b.at("12:18").make(logbook.KindSample, "sample/52d-b", object(`"setUp": "#setup/52d", "clip": "#clip/b004c005", "camera": "#camera/b", "body": "#body/b1", "recordingMode": "baked8", "patch": "grey", "readAt": "recordedFile",
		"settings": {"whiteMode": "kelvin", "kelvin": 4400, "tint": 0}, "light": {"as": "notMeasured"}, "takenAt": "2026-03-07T12:16:00+01:00"`, s.stillOfTheCard()))
	s.meet(p, b)
	p.at("12:20").make(logbook.KindWhite, "white/52d", `{"setUp": "#setup/52d", "from": {"as": "customFromCard", "sample": "#sample/52d-b"},
		"appliesFrom": {"as": "start"}, "decidedBy": "DIT", "judgedOn": "monitor"}`)
	both[0].settings = `"whiteMode": "customFromCard", "customFrom": "#sample/52d-b"`
	p.shoot(shot{setUp: "setup/52d", at: "12:24", seconds: 58, take: "take/52d-1", number: 1, fields: `"sky": "cloud", "white": "#white/52d", "wanted": true`, clips: both[:1]})
	s.meet(p, b, s.gaffer)
}

// chartAndTake rolls a chart and ten minutes later the only take of a set-up.
func (s *story) chartAndTake(setUp, at, sky, settingsA, settingsB string) {
	p := s.dit
	clips := []clip{{camera: "A", settings: settingsA}, {camera: "B", settings: settingsB}}
	p.shoot(shot{setUp: "setup/" + setUp, at: at, seconds: 14, kind: "chart", clips: clips})
	later := (demoTime(s.date, at) + 10*60_000).Time().In(demoZone).Format("15:04")
	clips[0].carried, clips[1].carried = true, true
	p.shoot(shot{setUp: "setup/" + setUp, at: later, seconds: 66, take: "take/" + setUp + "-1", number: 1,
		fields: sky + `, "white": "#white/` + setUp + `", "wanted": true`, clips: clips})
	s.meet(p, s.gaffer, s.operatorB)
}

// stillOfTheCard is what a still of B says of the card in it, as members of a sample.
func (s *story) stillOfTheCard() string {
	told, err := api.TellStill(cardStill(), logbook.StillAsked{Encoding: "bt1886", Primaries: "bt709", Range: "full",
		X: cardAt.Min.X, Y: cardAt.Min.Y, Width: cardAt.Dx(), Height: cardAt.Dy()})
	if err != nil {
		s.fail("the still: %v", err)
	}
	b, err := json.Marshal(told.Sample)
	if err != nil {
		s.fail("the still: %v", err)
	}
	return string(bytes.Trim(b, "{}"))
}

// cardAt is the grey card in the still.
var cardAt = image.Rect(60, 34, 100, 58)

// cardStill is a small frame as B shows it: a dark wall, and a grey card of
// R 112, G 107, B 100 with a grain of one code.
func cardStill() []byte {
	frame := image.NewNRGBA(image.Rect(0, 0, 160, 90))
	for y := range 90 {
		for x := range 160 {
			c := color.NRGBA{uint8(38 + x/8), uint8(34 + x/8), uint8(30 + y/10), 255}
			if (image.Point{x, y}).In(cardAt) {
				grain := uint8((x + 2*y) % 3)
				c = color.NRGBA{111 + grain, 106 + grain, 99 + grain, 255}
			}
			frame.SetNRGBA(x, y, c)
		}
	}
	var file bytes.Buffer
	if err := png.Encode(&file, frame); err != nil {
		panic(fmt.Sprintf("a PNG in memory: %v", err)) // no file, no disk
	}
	return file.Bytes()
}
