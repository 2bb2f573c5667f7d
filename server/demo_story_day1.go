package main

import "evenwhite/logbook"

// dayOne is a kitchen by a window.
func (s *story) dayOne() {
	s.date = "2026-03-04"
	s.kitchenSun()
	s.kitchenCloud()
	s.kitchenClose()
	s.kitchenAfternoon()
}

// kitchenSun: set-up A until the cloud comes. On takes 3 and 4 the B camera is
// left on the 4000 K that somebody tried.
func (s *story) kitchenSun() {
	p, g := s.dit, s.gaffer
	p.setUp("setup/12a", "08:20", "day/1", "scene/12", "A", `"referenceLight": "#light/12a-window", "place": "table by the window"`, "a", "b")
	s.meet(p, g, s.operatorB)
	g.at("08:24").make(logbook.KindLight, "light/12a-window", `{"setUp": "#setup/12a", "name": "window", "role": "key", "intent": "match", "position": "camera left", "sky": "sun", "rigged/on": true}`)
	g.make(logbook.KindLight, "light/12a-panel", `{"setUp": "#setup/12a", "name": "panel", "lamp": "#lamp/panel", "role": "fill", "intent": "match", "position": "camera right", "planned/dialKelvin": 5600,
		"rigged/dialKelvin": 5700, "rigged/dialGreenMagenta": 1, "rigged/levelPercent": 40, "rigged/on": true}`)
	g.make(logbook.KindLight, "light/12a-bulb", `{"setUp": "#setup/12a", "name": "bulb over the table", "lamp": "#lamp/bulb", "role": "practical", "intent": "leave", "rigged/levelPercent": 70, "rigged/on": true}`)
	s.meet(p, g)
	p.read("setup/12a", "reading/12a-window", "08:30", "light/12a-window", `{"as": "cctDuv", "cctKelvin": 5560, "duv": 0.0030}`, 640, `"sky": "sun", "purpose": "first", "position": "face", "reported": {"ra": 98, "flickerPercent": 0}`)
	p.read("setup/12a", "reading/12a-panel", "08:31", "light/12a-panel", `{"as": "uvPrime", "u": 0.2046, "v": 0.4795}`, 210,
		`"purpose": "first", "position": "face", "reported": {"ra": 95, "tlci": 96, "flickerPercent": 0.4}, "lightsAsSet/#light/12a-panel": {"on": true, "dialKelvin": 5700, "dialGreenMagenta": 1, "levelPercent": 40}`)
	p.read("setup/12a", "reading/12a-bulb", "08:32", "light/12a-bulb", `{"as": "cctCc", "cctKelvin": 2640, "density": 1, "color": "magenta", "means": "lightIs"}`, 35, `"purpose": "first", "position": "table"`)
	p.at("08:36").make(logbook.KindWhite, "white/12a", `{"setUp": "#setup/12a", "from": {"as": "readings", "readings": [{"reading": "#reading/12a-window"}]},
		"appliesFrom": {"as": "start"}, "decidedBy": "cinematographer", "judgedOn": "meter"}`)
	s.meet(p, g, s.operatorB)

	both := func(kelvinB int, carried bool) []clip {
		return []clip{{camera: "A", settings: onKelvin(5560, 0), carried: carried}, {camera: "B", settings: onKelvin(kelvinB, 0), carried: carried}}
	}
	p.shoot(shot{setUp: "setup/12a", at: "08:40", seconds: 20, kind: "chart", clips: both(5600, false)})
	p.at("08:41").make(logbook.KindSample, "sample/12a-b", `{"setUp": "#setup/12a", "clip": "#clip/b001c001", "camera": "#camera/b", "body": "#body/b1", "patch": "grey", "readAt": "recordedFile",
		"rgb": {"as": "codeValues", "r": 121, "g": 119, "b": 118, "bits": 8, "range": "narrow", "encoding": "bt1886", "primaries": "bt709"},
		"settings": {"whiteMode": "kelvin", "kelvin": 5600, "tint": 0}, "light": {"as": "reading", "reading": "#reading/12a-window"}, "recordingMode": "baked8", "takenAt": "2026-03-04T08:40:00+01:00"}`)
	p.shoot(shot{setUp: "setup/12a", at: "08:52", seconds: 9, kind: "falseStart", clips: both(5600, true)})
	p.shoot(shot{setUp: "setup/12a", at: "08:55", seconds: 84, take: "take/12a-1", number: 1, fields: `"sky": "sun", "white": "#white/12a"`, clips: both(5600, true)})
	p.shoot(shot{setUp: "setup/12a", at: "09:02", seconds: 91, take: "take/12a-2", number: 2, fields: `"sky": "sun", "white": "#white/12a"`, clips: both(5600, true)})
	p.shoot(shot{setUp: "setup/12a", at: "09:09", seconds: 88, take: "take/12a-3", number: 3, fields: `"sky": "sun", "white": "#white/12a", "wanted": true`, clips: both(4000, false)})
	p.shoot(shot{setUp: "setup/12a", at: "09:15", seconds: 63, take: "take/12a-4", number: 4, fields: `"sky": "sun", "white": "#white/12a", "state": "noGood"`, clips: both(4000, true)})
	p.shoot(shot{setUp: "setup/12a", at: "09:26", seconds: 86, take: "take/12a-5", number: 5, fields: `"sky": "sun", "white": "#white/12a"`, clips: both(5600, false)})
	s.meet(p, s.operatorB)
	s.operatorB.make(logbook.KindNote, "note/12a-4", `{"about": "#`+clipName("take/12a-3", "B")+`", "text": "my B was still on 4000 K for takes 3 and 4, sorry", "to": {"as": "post"}}`)
	s.meet(p, s.operatorB, g)
}

// kitchenCloud: at take 6 a cloud covers the sun and stays; the white follows it.
func (s *story) kitchenCloud() {
	p := s.dit
	p.read("setup/12a", "reading/12a-window-cloud", "09:33", "light/12a-window", `{"as": "cctDuv", "cctKelvin": 6900, "duv": 0.0042}`, 310, `"sky": "cloud", "purpose": "check", "position": "face"`)
	s.meet(p, s.gaffer)
	s.gaffer.at("09:34").change(logbook.KindLight, "light/12a-window", `{"sky": "cloud"}`)
	s.gaffer.change(logbook.KindLight, "light/12a-panel", `{"rigged/dialKelvin": 6500, "rigged/levelPercent": 25, "rigged/gels": ["#gel/eighth-cool"]}`)
	s.meet(p, s.gaffer)
	p.read("setup/12a", "reading/12a-panel-cloud", "09:35", "light/12a-panel", `{"as": "cctDuv", "cctKelvin": 6720, "duv": 0.0034}`, 105,
		`"purpose": "check", "position": "face", "lightsAsSet/#light/12a-panel": {"on": true, "dialKelvin": 6500, "dialGreenMagenta": 1, "levelPercent": 25, "gels": ["#gel/eighth-cool"]}`)
	p.at("09:37").make(logbook.KindWhite, "white/12a-cloud", `{"setUp": "#setup/12a", "from": {"as": "readings", "readings": [{"reading": "#reading/12a-window-cloud"}]},
		"appliesFrom": {"as": "take", "take": "#take/12a-6"}, "decidedBy": "cinematographer", "judgedOn": "monitor", "supersedes": "#white/12a"}`)
	both := func(carried bool) []clip {
		return []clip{{camera: "A", settings: onKelvin(6900, 2), carried: carried}, {camera: "B", settings: onKelvin(6900, 0), carried: carried}}
	}
	p.shoot(shot{setUp: "setup/12a", at: "09:40", seconds: 90, take: "take/12a-6", number: 6, fields: `"sky": "cloud", "white": "#white/12a-cloud", "wanted": true`, clips: both(false)})
	p.shoot(shot{setUp: "setup/12a", at: "09:47", seconds: 82, take: "take/12a-7", number: 7, fields: `"sky": "cloud", "white": "#white/12a-cloud"`, clips: both(true)})
	p.shoot(shot{setUp: "setup/12a", at: "09:58", seconds: 31, take: "take/12a-6pu", number: 6, fields: `"suffix": "PU", "sky": "cloud", "white": "#white/12a-cloud"`, clips: both(true)})
	s.meet(p, s.operatorB, s.gaffer)
}

// kitchenClose: set-up B. A curtain lamp stays warm on purpose; the A body fails
// and the spare takes its place; two takes run in one clip.
func (s *story) kitchenClose() {
	p, g := s.dit, s.gaffer
	p.setUp("setup/12b", "10:20", "day/1", "scene/12", "B", `"referenceLight": "#light/12b-window", "place": "close on the cup"`, "a", "b")
	s.meet(p, g)
	g.at("10:26").make(logbook.KindLight, "light/12b-window", `{"setUp": "#setup/12b", "name": "window", "role": "key", "intent": "match", "sky": "cloud", "rigged/on": true}`)
	g.make(logbook.KindLight, "light/12b-curtain", `{"setUp": "#setup/12b", "name": "panel behind the curtain", "lamp": "#lamp/panel", "role": "background", "intent": "match",
		"rigged/dialKelvin": 4500, "rigged/dialGreenMagenta": 0, "rigged/levelPercent": 15, "rigged/on": true}`)
	s.meet(p, g)
	p.read("setup/12b", "reading/12b-window", "10:36", "light/12b-window", `{"as": "xyz", "x": 397.2, "y": 420, "z": 461.3}`, 420, `"sky": "cloud", "purpose": "first", "position": "cup"`)
	p.read("setup/12b", "reading/12b-curtain", "10:37", "light/12b-curtain", `{"as": "cctDuv", "cctKelvin": 4480, "duv": 0.0008}`, 60, `"purpose": "first", "position": "curtain"`)
	p.at("10:40").make(logbook.KindWhite, "white/12b", `{"setUp": "#setup/12b", "from": {"as": "readings", "readings": [{"reading": "#reading/12b-window"}]},
		"appliesFrom": {"as": "start"}, "decidedBy": "DIT", "judgedOn": "meter"}`)
	p.at("10:42").make(logbook.KindAcceptance, "acceptance/12b-curtain", `{"deviation": "light-off-reference", "subjects": ["#light/12b-curtain"], "scope": "setUp",
		"accepted": {"mired": 72}, "ceiling": {"mired": 90, "duv": 0.01, "steps": 40}, "reason": "a warm edge on the curtain is wanted", "decidedBy": "cinematographer"}`)
	both := func(carried bool) []clip {
		return []clip{{camera: "A", settings: onKelvin(6620, 1), carried: carried}, {camera: "B", settings: onKelvin(6600, 0), carried: carried}}
	}
	p.shoot(shot{setUp: "setup/12b", at: "10:46", seconds: 18, kind: "chart", clips: both(false)})
	p.shoot(shot{setUp: "setup/12b", at: "10:52", seconds: 70, take: "take/12b-1", number: 1, fields: `"sky": "cloud", "white": "#white/12b", "state": "noGood"`, clips: both(true)})
	p.at("11:04").change(logbook.KindCamera, "camera/a", `{"body": {"body": "#body/a2", "from": "2026-03-04T11:04:00+01:00"}}`)
	p.make(logbook.KindNote, "note/swap", `{"about": "#camera/a", "text": "body 1 stopped with a fan warning; the spare from here", "to": {"as": "post"}}`)
	s.cameras["A"].body = "body/a2"
	s.newCard("A", "A002")
	p.shoot(shot{setUp: "setup/12b", at: "11:10", seconds: 66, take: "take/12b-2", number: 2, fields: `"sky": "cloud", "white": "#white/12b"`, clips: both(false)})
	p.shoot(shot{setUp: "setup/12b", at: "11:18", seconds: 130, take: "take/12b-3", number: 3, fields: `"sky": "cloud", "white": "#white/12b", "series": true`, clips: both(true)})
	p.at("11:19:05").make(logbook.KindTake, "take/12b-4", `{"setUp": "#setup/12b", "number": 4, "series": true, "slate": "none", "sky": "cloud", "white": "#white/12b", "startedAt": "2026-03-04T11:19:05+01:00", "wanted": true}`)
	p.change(logbook.KindClip, clipName("take/12b-3", "A"), `{"takes/#take/12b-4": {"beginsAt": "11:19:09:00"}}`)
	p.change(logbook.KindClip, clipName("take/12b-3", "B"), `{"takes/#take/12b-4": {}}`)
	s.meet(p, g, s.operatorB)
}

// kitchenAfternoon: set-up C goes on with the white of set-up A under lamps alone.
func (s *story) kitchenAfternoon() {
	p, g := s.dit, s.gaffer
	p.setUp("setup/12c", "13:20", "day/1", "scene/12", "C", `"referenceLight": "#light/12c-panel", "mustMatch": {"setUp": "#setup/12a", "take": "#take/12a-6"}, "description": "window blacked out, panel through the frame"`, "a", "b")
	s.meet(p, g)
	g.at("13:26").make(logbook.KindLight, "light/12c-panel", `{"setUp": "#setup/12c", "name": "panel in the window", "lamp": "#lamp/panel", "role": "key", "intent": "match",
		"rigged/dialKelvin": 6500, "rigged/dialGreenMagenta": 2, "rigged/levelPercent": 100, "rigged/gels": ["#gel/eighth-cool"], "rigged/on": true}`)
	s.meet(p, g)
	p.read("setup/12c", "reading/12c-typed-wrong", "13:33", "light/12c-panel", `{"as": "uv", "u": 0.1958, "v": 0.3301}`, 300, `"purpose": "first", "position": "face"`)
	p.change(logbook.KindReading, "reading/12c-typed-wrong", `{"struckOut": {"reason": "v typed wrong"}}`)
	p.read("setup/12c", "reading/12c-panel", "13:34", "light/12c-panel", `{"as": "uv", "u": 0.1958, "v": 0.3103}`, 300,
		`"purpose": "first", "supersedes": "#reading/12c-typed-wrong", "position": "face", "lightsAsSet/#light/12c-panel": {"on": true, "dialKelvin": 6500, "dialGreenMagenta": 2, "levelPercent": 100, "gels": ["#gel/eighth-cool"]}`)
	p.at("13:36").make(logbook.KindWhite, "white/12c", `{"setUp": "#setup/12c", "from": {"as": "sameAs", "setUp": "#setup/12a"}, "appliesFrom": {"as": "start"}, "decidedBy": "cinematographer"}`)
	both := []clip{{camera: "A", settings: onKelvin(6900, 2)}, {camera: "B", settings: onKelvin(6900, 0)}}
	p.shoot(shot{setUp: "setup/12c", at: "13:42", seconds: 55, take: "take/12c-1", number: 1, fields: `"sky": "inside", "white": "#white/12c"`, clips: both})
	both[0].carried, both[1].carried = true, true
	p.shoot(shot{setUp: "setup/12c", at: "13:49", seconds: 58, take: "take/12c-2", number: 2, fields: `"sky": "inside", "white": "#white/12c", "wanted": true`, clips: both})
	p.at("13:51")
	p.roll(shot{setUp: "setup/12c", at: "13:51", seconds: 40, take: "take/12c-2"}, clip{camera: "B", settings: onKelvin(6900, 0), carried: true, fields: `"part": 2`})
	s.meet(p, g, s.operatorB)
}
