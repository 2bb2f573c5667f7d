package main

import "evenwhite/logbook"

// dayTwo is a jetty at night. The reference light is daylight-coloured and meant
// to look cool: the cameras stay below it on purpose.
func (s *story) dayTwo() {
	s.date = "2026-03-05"
	s.dit.at("17:30").make(logbook.KindDay, "day/2", `{"number": 2, "date": "2026-03-05", "unit": "main", "place": "the jetty", "weather": "clear, no moon"}`)
	s.newCard("A", "A003")
	s.newCard("B", "B002")
	s.jettyWide()
	s.jettyApart()
	s.jettyAlone()
	s.hut()
}

func (s *story) jettyWide() {
	p, g := s.dit, s.gaffer
	p.setUp("setup/31a", "18:40", "day/2", "scene/31", "A", `"referenceLight": "#light/31a-moon", "place": "end of the jetty"`, "a", "b")
	s.meet(p, g, s.operatorB)
	g.at("18:50").make(logbook.KindLight, "light/31a-moon", `{"setUp": "#setup/31a", "name": "moon", "lamp": "#lamp/panel", "role": "key", "intent": "match", "position": "crane",
		"rigged/dialKelvin": 5600, "rigged/dialGreenMagenta": 0, "rigged/levelPercent": 100, "rigged/on": true}`)
	g.make(logbook.KindLight, "light/31a-hut", `{"setUp": "#setup/31a", "name": "bulb in the hut", "lamp": "#lamp/bulb", "role": "practical", "intent": "leave", "rigged/levelPercent": 55, "rigged/on": true}`)
	g.make(logbook.KindLight, "light/31a-beacon", `{"setUp": "#setup/31a", "name": "red beacon", "lamp": "#lamp/tube", "role": "practical", "intent": "holdOwnColor",
		"targetColor": {"as": "uvPrime", "u": 0.452, "v": 0.523}, "rigged/levelPercent": 30, "rigged/on": true}`)
	s.meet(p, g)
	p.read("setup/31a", "reading/31a-moon", "19:02", "light/31a-moon", `{"as": "xy", "x": 0.3302, "y": 0.3414}`, 48, `"sky": "night", "purpose": "first", "position": "end of the jetty"`)
	p.read("setup/31a", "reading/31a-hut", "19:03", "light/31a-hut", `{"as": "cctDuv", "cctKelvin": 2510, "duv": -0.0004}`, 9, `"sky": "night", "purpose": "first", "position": "door"`)
	p.read("setup/31a", "reading/31a-beacon", "19:04", "light/31a-beacon", `{"as": "uvPrime", "u": 0.4507, "v": 0.5228}`, 4, `"sky": "night", "purpose": "first", "position": "end of the jetty"`)
	p.at("19:10").make(logbook.KindWhite, "white/31a", `{"setUp": "#setup/31a", "from": {"as": "readings", "readings": [{"reading": "#reading/31a-moon"}]},
		"intendedCast": {"name": "cool night", "mired": -80}, "appliesFrom": {"as": "start"}, "decidedBy": "cinematographer", "judgedOn": "monitor"}`)
	both := func(carried bool) []clip {
		return []clip{{camera: "A", settings: onKelvin(3870, 2), carried: carried}, {camera: "B", settings: onKelvin(3900, 0), carried: carried}}
	}
	p.shoot(shot{setUp: "setup/31a", at: "19:14", seconds: 20, kind: "chart", clips: both(false)})
	p.shoot(shot{setUp: "setup/31a", at: "19:22", seconds: 74, take: "take/31a-1", number: 1, fields: `"sky": "night", "white": "#white/31a"`, clips: both(true)})
	p.shoot(shot{setUp: "setup/31a", at: "19:31", seconds: 71, take: "take/31a-2", number: 2, fields: `"sky": "night", "white": "#white/31a", "wanted": true`, clips: both(true)})
	s.meet(p, g, s.operatorB)
}

// jettyApart: two phones lose each other. Both read the A camera off again after
// take 2 and write down different values, and both log take 3.
func (s *story) jettyApart() {
	p, b := s.dit, s.operatorB
	two := clipName("take/31a-2", "A")
	p.at("19:34").change(logbook.KindClip, two, `{"kelvin": 3860, "settingsAre": "readOff", "readOffAt": "2026-03-05T19:34:00+01:00"}`)
	b.at("19:35").change(logbook.KindClip, two, `{"kelvin": 3890, "settingsAre": "readOff", "readOffAt": "2026-03-05T19:34:00+01:00"}`)
	p.shoot(shot{setUp: "setup/31a", at: "19:40", seconds: 77, take: "take/31a-3", number: 3, fields: `"sky": "night", "white": "#white/31a"`,
		clips: []clip{{camera: "A", settings: onKelvin(3870, 2)}}})
	b.shoot(shot{setUp: "setup/31a", at: "19:40", seconds: 76, take: "take/31a-3-by-b", number: 3, fields: `"sky": "night", "white": "#white/31a"`,
		clips: []clip{{camera: "B", settings: onKelvin(3900, 0)}}})
	s.meet(p, b, s.gaffer)
}

// jettyAlone: set-up B, the A camera alone and no chart.
func (s *story) jettyAlone() {
	p, g := s.dit, s.gaffer
	p.setUp("setup/31b", "20:10", "day/2", "scene/31", "B", `"referenceLight": "#light/31b-moon", "place": "from the boat"`, "a")
	s.meet(p, g)
	g.at("20:16").make(logbook.KindLight, "light/31b-moon", `{"setUp": "#setup/31b", "name": "moon", "lamp": "#lamp/panel", "role": "key", "intent": "match", "position": "crane, lower",
		"rigged/dialKelvin": 5600, "rigged/dialGreenMagenta": 0, "rigged/levelPercent": 60, "rigged/on": true}`)
	s.meet(p, g)
	p.read("setup/31b", "reading/31b-moon", "20:20", "light/31b-moon", `{"as": "cctDuv", "cctKelvin": 5580, "duv": 0.0009}`, 26, `"sky": "night", "purpose": "first", "position": "boat"`)
	p.at("20:22").make(logbook.KindWhite, "white/31b", `{"setUp": "#setup/31b", "from": {"as": "readings", "readings": [{"reading": "#reading/31b-moon"}]},
		"intendedCast": {"name": "cool night", "mired": -80}, "appliesFrom": {"as": "start"}, "decidedBy": "cinematographer", "judgedOn": "monitor"}`)
	p.shoot(shot{setUp: "setup/31b", at: "20:28", seconds: 64, take: "take/31b-1", number: 1, fields: `"sky": "night", "white": "#white/31b"`,
		clips: []clip{{camera: "A", settings: onKelvin(3860, 2)}}})
	p.make(logbook.KindNote, "note/31b-1", `{"about": "#take/31b-1", "text": "the cool look is meant; please keep it", "to": {"as": "post"}}`)
	s.meet(p, g, s.operatorB)
}

// hut: set-up C, inside by one bulb that is to look neutral; the white is nominal.
func (s *story) hut() {
	p, g := s.dit, s.gaffer
	p.setUp("setup/31c", "21:05", "day/2", "scene/31", "C", `"referenceLight": "#light/31c-bulb", "place": "inside the hut"`, "a", "b")
	s.meet(p, g)
	g.at("21:10").make(logbook.KindLight, "light/31c-bulb", `{"setUp": "#setup/31c", "name": "bulb", "lamp": "#lamp/bulb", "role": "key", "intent": "match", "rigged/levelPercent": 100, "rigged/on": true}`)
	s.meet(p, g)
	p.read("setup/31c", "reading/31c-bulb", "21:14", "light/31c-bulb", `{"as": "cctDuv", "cctKelvin": 2850, "duv": 0.0001}`, 85, `"sky": "inside", "purpose": "first", "position": "hands"`)
	p.at("21:16").make(logbook.KindWhite, "white/31c", `{"setUp": "#setup/31c", "from": {"as": "nominal", "kelvin": 2850, "locus": "blackBody"},
		"intendedCast": {"name": "as it is", "mired": 0}, "appliesFrom": {"as": "start"}, "decidedBy": "cinematographer", "judgedOn": "eye"}`)
	both := []clip{{camera: "A", settings: onKelvin(2850, 0)}, {camera: "B", settings: onKelvin(2900, 0)}}
	p.shoot(shot{setUp: "setup/31c", at: "21:20", seconds: 16, kind: "chart", clips: both})
	both[0].carried, both[1].carried = true, true
	p.shoot(shot{setUp: "setup/31c", at: "21:26", seconds: 48, take: "take/31c-1", number: 1, fields: `"sky": "inside", "white": "#white/31c", "wanted": true`, clips: both})
	p.at("21:40").change(logbook.KindDay, "day/2", `{"closed": true}`)
	p.change(logbook.KindDay, "day/1", `{"closed": true}`)
	s.meet(p, g, s.operatorB)
}
