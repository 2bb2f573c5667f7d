package main

import (
	"fmt"
	"strings"

	"evenwhite/logbook"
)

// dayThree goes on: the lamps are tried on a bench, a boathouse is lit at dusk by a
// spot and a window that falls, and the next set-up waits for its lamps. The day is
// not closed.
func (s *story) dayThree() {
	s.date = "2026-03-06"
	g := s.gaffer.at("14:30")
	g.make(logbook.KindDay, "day/3", `{"number": 3, "date": "2026-03-06", "unit": "main", "place": "the boathouse", "weather": "clear, wind from the sea"}`)
	g.make(logbook.KindScene, "scene/44", `{"name": "44", "location": "interior", "storyTime": "dusk"}`)
	g.make(logbook.KindLamp, "lamp/tile", `{"name": "two-colour tile", "family": "twoColorLed", "dimsWarmer": "no", "hot": false, "kelvinDial": {"as": "range", "min": 2700, "max": 6500, "step": 50}}`)
	g.make(logbook.KindLamp, "lamp/spot", `{"name": "tungsten spot", "count": 2, "family": "incandescent", "dimsWarmer": "yes", "hot": true}`)
	// Its loss is common practice, no source.
	g.make(logbook.KindGel, "gel/full-cool", `{"name": "full cool", "gelKind": "cool", "shiftMired": -131, "transmission": {"as": "stops", "value": 2}, "form": "sheet", "quantity": 3, "heatResistant": "yes"}`)
	g.make(logbook.KindMeter, "meter/old", `{"name": "old meter", "meterKind": "threeSensor", "floorXY": 0.004, "receptor": "dome"}`)
	s.newCard("A", "A004")
	s.newCard("B", "B003")
	s.meet(s.dit, s.operatorB, g)
	s.bench()
	s.boathouse()
	s.boathouseNext()
}

// bench: a tile that is off its dial, a gel that does less than is printed, and two
// meters that differ.
func (s *story) bench() {
	g := s.gaffer
	g.setUp("setup/bench", "14:40", "day/3", "scene/44", "bench", `"setUpKind": "test", "description": "what lamps, gels and meters really do"`)
	g.make(logbook.KindLight, "light/bench-tile", `{"setUp": "#setup/bench", "name": "tile", "lamp": "#lamp/tile", "role": "practical", "intent": "leave", "rigged/on": true}`)
	g.make(logbook.KindLight, "light/bench-spot", `{"setUp": "#setup/bench", "name": "spot", "lamp": "#lamp/spot", "role": "practical", "intent": "leave", "rigged/on": true}`)
	g.make(logbook.KindLight, "light/bench-lantern", `{"setUp": "#setup/bench", "name": "paper lantern", "role": "practical", "intent": "leave", "rigged/on": true}`)
	tile := func(kelvin string) string {
		return `"sky": "inside", "position": "bench", "lightsAsSet/#light/bench-tile": {"on": true, "dialKelvin": ` + kelvin + `, "levelPercent": 100}`
	}
	spot := func(gel string) string {
		return `"sky": "inside", "position": "bench", "lightsAsSet/#light/bench-spot": {"on": true, "levelPercent": 100, "gels": [` + gel + `]}`
	}
	g.read("setup/bench", "reading/bench-tile-1", "14:45", "light/bench-tile", `{"as": "cctDuv", "cctKelvin": 5389, "duv": 0.0011}`, 820, tile("5600"))
	g.read("setup/bench", "reading/bench-tile-2", "14:47", "light/bench-tile", `{"as": "cctDuv", "cctKelvin": 4209, "duv": 0.0004}`, 860, tile("4300"))
	g.read("setup/bench", "reading/bench-tile-3", "14:49", "light/bench-tile", `{"as": "cctDuv", "cctKelvin": 3180, "duv": -0.0006}`, 790, tile("3200"))
	g.read("setup/bench", "reading/bench-tile-old", "14:50", "light/bench-tile", `{"as": "cctDuv", "cctKelvin": 3140, "duv": 0.0003}`, 755, `"meter": "#meter/old", "purpose": "meterCompare", `+tile("3200"))
	g.read("setup/bench", "reading/bench-spot", "14:55", "light/bench-spot", `{"as": "cctDuv", "cctKelvin": 3160, "duv": 0.0004}`, 1200, `"purpose": "gelTest", `+spot(""))
	g.read("setup/bench", "reading/bench-spot-old", "14:56", "light/bench-spot", `{"as": "cctDuv", "cctKelvin": 3110, "duv": 0.0016}`, 1150, `"meter": "#meter/old", "purpose": "meterCompare", `+spot(""))
	g.read("setup/bench", "reading/bench-spot-gel", "14:59", "light/bench-spot", `{"as": "cctDuv", "cctKelvin": 5038, "duv": 0.0021}`, 310, `"purpose": "gelTest", `+spot(`"#gel/full-cool"`))
	g.read("setup/bench", "reading/bench-lantern", "15:05", "light/bench-lantern", lanternSpectrum, 640, `"sky": "inside", "position": "bench", "reported": {"ra": 88, "ssi": 71}`)
	s.meet(g, s.dit)
}

// lanternSpectrum is invented: a blue diode and two phosphors.
const lanternSpectrum = `{"as": "spectrum", "wavelengthsNm": [380, 390, 400, 410, 420, 430, 440, 450, 460, 470, 480, 490, 500, 510, 520, 530, 540, 550, 560, 570, 580, 590, 600, 610, 620, 630, 640, 650, 660, 670, 680, 690, 700, 710, 720, 730, 740, 750, 760, 770, 780],
	"values": [0, 0, 0, 0.001, 0.003, 0.028, 0.314, 0.895, 0.692, 0.248, 0.142, 0.195, 0.282, 0.382, 0.486, 0.582, 0.659, 0.712, 0.74, 0.75, 0.75, 0.743, 0.728, 0.7, 0.652, 0.581, 0.489, 0.387, 0.287, 0.197, 0.126, 0.075, 0.041, 0.021, 0.01, 0.004, 0.002, 0.001, 0, 0, 0]}`

// boathouse: the spot with its gel is white, and B is dialled by its card until a
// second card matches; the window gets bluer and leaves its
// limits before long; the green wall shows in a reading of everything together.
func (s *story) boathouse() {
	p, g := s.dit, s.gaffer
	p.setUp("setup/44a", "16:30", "day/3", "scene/44", "A", `"referenceLight": "#light/44a-spot", "place": "slipway"`, "a", "b")
	s.meet(p, g, s.operatorB)
	g.at("16:35").make(logbook.KindLight, "light/44a-spot", `{"setUp": "#setup/44a", "name": "spot", "lamp": "#lamp/spot", "role": "key", "intent": "match", "position": "camera left",
		"rigged/levelPercent": 100, "rigged/gels": ["#gel/full-cool"], "rigged/on": true}`)
	g.make(logbook.KindLight, "light/44a-window", `{"setUp": "#setup/44a", "name": "window", "role": "fill", "intent": "match", "position": "the slipway door", "sky": "dusk", "rigged/on": true}`)
	s.meet(p, g)
	window := func(name, at, kelvin string, lux int) {
		p.read("setup/44a", "reading/44a-window-"+name, at, "light/44a-window", `{"as": "cctDuv", "cctKelvin": `+kelvin+`, "duv": 0.0022}`, lux, `"sky": "dusk", "position": "face"`)
	}
	p.read("setup/44a", "reading/44a-spot", "16:50", "light/44a-spot", `{"as": "cctDuv", "cctKelvin": 5040, "duv": 0.0021}`, 300, `"purpose": "first", "position": "face"`)
	window("1", "16:52", "5050", 260)
	p.at("16:54").make(logbook.KindWhite, "white/44a", `{"setUp": "#setup/44a", "from": {"as": "readings", "readings": [{"reading": "#reading/44a-spot"}]},
		"appliesFrom": {"as": "start"}, "decidedBy": "cinematographer", "judgedOn": "meter"}`)
	both := []clip{{camera: "A", settings: onKelvin(5040, 0)}, {camera: "B", settings: onKelvin(5000, 0)}}
	p.shoot(shot{setUp: "setup/44a", at: "16:57", seconds: 18, kind: "chart", clips: both})
	p.card("sample/44a-a", "16:58", "clip/a004c001", "a", onKelvin(5040, 0), [3]string{"41.9", "41.6", "41.5"})
	p.card("sample/44a-b", "16:59", "clip/b003c001", "b", onKelvin(5000, 0), [3]string{"43.6", "41.5", "38.7"})
	both[1].settings = onKelvin(4400, 0)
	p.shoot(shot{setUp: "setup/44a", at: "17:00", seconds: 12, kind: "chart", clips: both[1:]})
	p.card("sample/44a-b-second", "17:01", "clip/b003c002", "b", onKelvin(4400, 0), [3]string{"41.8", "41.8", "41.5"})
	window("2", "17:04", "5125", 240)
	p.read("setup/44a", "reading/44a-together", "17:06", "", `{"as": "xy", "x": 0.3485, "y": 0.3640}`, 610, `"sky": "dusk", "position": "face"`)
	both[0].carried, both[1].carried = true, true
	p.shoot(shot{setUp: "setup/44a", at: "17:10", seconds: 52, take: "take/44a-1", number: 1, fields: `"sky": "dusk", "white": "#white/44a", "wanted": true`, clips: both})
	window("3", "17:16", "5190", 215)
	window("4", "17:28", "5262", 190)
	s.meet(p, g, s.operatorB)
}

// card logs the R G B that a scope shows of a grey card, in percent.
func (p *phone) card(name, at, clip, camera, settings string, rgb [3]string) {
	p.at(at)
	position := p.story.cameras[strings.ToUpper(camera)]
	p.make(logbook.KindSample, name, fmt.Sprintf(`{"setUp": "#setup/44a", "clip": "#%s", "camera": "#camera/%s", "body": "#%s", "recordingMode": %q, "patch": "grey", "readAt": "recordedFile",
		"rgb": {"as": "percent", "r": %s, "g": %s, "b": %s, "encoding": "bt1886", "primaries": "bt709"}, "settings": {%s}, "light": {"as": "reading", "reading": "#reading/44a-spot"}, "takenAt": %q}`,
		clip, camera, position.body, position.mode, rgb[0], rgb[1], rgb[2], settings, p.instant(0)))
}

// boathouseNext: the lamps of the next set-up stand and were read; what to dial and
// which gels to put on is the question.
func (s *story) boathouseNext() {
	p, g := s.dit, s.gaffer
	p.setUp("setup/44b", "17:30", "day/3", "scene/44", "B", `"place": "the bow, close"`, "a")
	s.meet(p, g)
	g.at("17:33").make(logbook.KindLight, "light/44b-tile", `{"setUp": "#setup/44b", "name": "tile in the bow", "lamp": "#lamp/tile", "role": "fill", "intent": "match", "rigged/dialKelvin": 4300, "rigged/levelPercent": 100, "rigged/on": true}`)
	g.make(logbook.KindLight, "light/44b-spot", `{"setUp": "#setup/44b", "name": "spot from the door", "lamp": "#lamp/spot", "role": "key", "intent": "match", "rigged/levelPercent": 100, "rigged/on": true}`)
	s.meet(p, g)
	p.read("setup/44b", "reading/44b-tile", "17:36", "light/44b-tile", `{"as": "cctDuv", "cctKelvin": 4205, "duv": 0.0005}`, 240, `"purpose": "first", "position": "hands"`)
	p.read("setup/44b", "reading/44b-spot", "17:37", "light/44b-spot", `{"as": "cctDuv", "cctKelvin": 3150, "duv": 0.0004}`, 900, `"purpose": "first", "position": "hands"`)
	p.at("17:38").make(logbook.KindWhite, "white/44b", `{"setUp": "#setup/44b", "from": {"as": "sameAs", "setUp": "#setup/44a"}, "appliesFrom": {"as": "start"}, "decidedBy": "cinematographer"}`)
	s.meet(p, g, s.operatorB)
}
