package main

import "evenwhite/logbook"

// prepare is the prep morning: what is on the truck and what will be shot. All
// figures are the demo's own and plausible; none is of a product.
func (s *story) prepare() {
	s.date = "2026-03-04"
	p := s.dit.at("06:40")
	p.make(logbook.KindProduction, "production", `{
		"title": "The Salt Stairs", "shortName": "SALT", "timeZone": "Etc/GMT-1", "slating": "sceneAndLetter", "frameRate": "25",
		"gelFamily": "based5500", "nominalWhite": "daylight", "remeasureAfterMinutes": 90, "falseTakeNumber": "usedAgain",
		"intendedCasts/night": {"name": "cool night", "mired": -80}}`)
	p.make(logbook.KindDay, "day/1", `{"number": 1, "date": "2026-03-04", "unit": "main", "place": "the kitchen", "weather": "sun, cloud from the west"}`)
	p.make(logbook.KindScene, "scene/12", `{"name": "12", "location": "interior", "storyTime": "morning"}`)
	p.make(logbook.KindScene, "scene/31", `{"name": "31", "location": "exterior", "storyTime": "night", "intendedCast": {"name": "cool night"}}`)
	s.prepareCameras(p)
	s.prepareTruck(s.gaffer.at("06:45"))
	s.meet(s.dit, s.operatorB, s.gaffer)
}

func (s *story) prepareCameras(p *phone) {
	// The A bodies: 10 K steps, and the size of a tint unit is known.
	const bodyA = `"whiteModes": ["kelvin", "customFromCard"], "kelvinRanges": [{"min": 2000, "max": 11000, "step": 10}],
		"tint": {"min": -30, "max": 30, "step": 1, "duvPerUnit": 0.0005, "plusIs": "magenta", "unitFrom": "document"}, "tintZero": "blend",
		"recordingModes/log": {"name": "log, white stored beside", "white": "storedBeside", "encoding": "log", "primaries": "camera", "bits": 12, "range": "full"},
		"clipNameRule": [{"as": "fixed", "text": "A"}, {"as": "card", "digits": 3}, {"as": "fixed", "text": "C"}, {"as": "clip", "digits": 3, "start": 1, "reset": "newCard"}],
		"timecode": "timeOfDay"`
	p.make(logbook.KindBody, "body/a1", object(`"label": "A body 1"`, bodyA))
	p.make(logbook.KindBody, "body/a2", object(`"label": "A body 2, the spare"`, bodyA))
	// The B body: 100 K steps, tint the other way round and of unknown size.
	p.make(logbook.KindBody, "body/b1", `{"label": "B body", "whiteModes": ["kelvin", "preset", "auto"], "kelvinRanges": [{"min": 2500, "max": 9900, "step": 100}],
		"presets/daylight": {"name": "daylight", "kelvin": 5500, "duv": 0.0032}, "presets/bulb": {"name": "bulb", "kelvin": 3200},
		"tint": {"min": -7, "max": 7, "step": 1, "plusIs": "green"}, "tintZero": "blend",
		"recordingModes/baked8": {"name": "8 bit, white baked in", "white": "baked", "encoding": "bt1886", "primaries": "bt709", "bits": 8, "range": "narrow"},
		"clipNameRule": [{"as": "fixed", "text": "B"}, {"as": "card", "digits": 3}, {"as": "fixed", "text": "C"}, {"as": "clip", "digits": 3, "start": 1, "reset": "newCard"}],
		"timecode": "recordRun"}`)
	p.make(logbook.KindCamera, "camera/a", `{"letter": "A", "body": {"body": "#body/a1"}, "operator": "A operator"}`)
	p.make(logbook.KindCamera, "camera/b", `{"letter": "B", "body": {"body": "#body/b1"}, "operator": "B operator"}`)
	p.make(logbook.KindMeter, "meter/hand", `{"name": "hand meter", "meterKind": "spectrometer", "lastChecked": "2026-02-17", "floorXY": 0.002, "receptor": "cosine"}`)
	s.cameras["A"] = &position{body: "body/a1", mode: "log", card: "A001"}
	s.cameras["B"] = &position{body: "body/b1", mode: "baked8", card: "B001", runs: true}
}

func (s *story) prepareTruck(p *phone) {
	p.make(logbook.KindLamp, "lamp/panel", `{"name": "two-colour panel", "count": 3, "family": "twoColorLed", "dimsWarmer": "no", "hot": false,
		"kelvinDial": {"as": "range", "min": 2700, "max": 6500, "step": 50}, "greenMagentaDial": {"min": -10, "max": 10, "step": 1, "duvPerUnit": 0.0006, "plusIs": "green"}}`)
	p.make(logbook.KindLamp, "lamp/tube", `{"name": "full-colour tube", "count": 4, "family": "fullColorLed", "dimsWarmer": "no", "hot": false,
		"kelvinDial": {"as": "range", "min": 2000, "max": 10000, "step": 100}, "greenMagentaDial": {"min": -20, "max": 20, "step": 1, "plusIs": "green"}}`)
	p.make(logbook.KindLamp, "lamp/bulb", `{"name": "household bulb on a dimmer", "count": 6, "family": "incandescent", "dimsWarmer": "yes", "hot": true}`)
	// Shifts and losses: common practice, no source.
	for _, gel := range []string{
		`{"name": "full warm", "gelKind": "warm", "shiftMired": 131, "transmission": {"as": "stops", "value": 0.9}, "form": "sheet", "quantity": 4, "heatResistant": "yes"}`,
		`{"name": "half warm", "gelKind": "warm", "shiftMired": 81, "transmission": {"as": "stops", "value": 0.6}, "form": "sheet", "quantity": 4, "heatResistant": "yes"}`,
		`{"name": "quarter warm", "gelKind": "warm", "shiftMired": 42, "transmission": {"as": "stops", "value": 0.3}, "form": "cut", "quantity": 8, "heatResistant": "yes"}`,
		`{"name": "half cool", "gelKind": "cool", "shiftMired": -68, "transmission": {"as": "stops", "value": 1}, "form": "sheet", "quantity": 2, "heatResistant": "yes"}`,
		`{"name": "eighth cool", "gelKind": "cool", "shiftMired": -12, "transmission": {"as": "stops", "value": 0.3}, "form": "cut", "quantity": 6, "heatResistant": "unknown"}`,
		`{"name": "quarter magenta", "gelKind": "magenta", "cc": {"density": 7.5, "color": "magenta"}, "transmission": {"as": "stops", "value": 0.2}, "form": "cut", "quantity": 6, "heatResistant": "unknown"}`,
	} {
		v, err := logbook.ParseValue(gel)
		if err != nil {
			s.fail("gel %s: %v", gel, err)
		}
		name, _ := v.Member("name").Text()
		p.make(logbook.KindGel, "gel/"+hyphens(name), gel)
	}
}

// setUp logs a set-up with both cameras, or with those named.
func (p *phone) setUp(name, at, day, scene, letter, more string, cameras ...string) {
	p.at(at)
	use := ""
	for _, c := range cameras {
		use += `,"cameras/#camera/` + c + `/inUse": true`
	}
	p.make(logbook.KindSetUp, name, object(`"day": "#`+day+`", "scene": "#`+scene+`", "name": "`+letter+`", "mains": "50", "referenceCamera": "#camera/a"`+use, more))
}

// hyphens makes a name of the story from words.
func hyphens(words string) string {
	out := []byte(words)
	for i, c := range out {
		if c == ' ' {
			out[i] = '-'
		}
	}
	return string(out)
}
