package stage

import (
	"fmt"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
	"evenwhite/logbook/setup"
)

// Stage is a set-up in which nothing is off: one key light at 5600 K, the white
// chosen from it, cameras A and B of different make, a chart.
type Stage struct {
	*Diary
	Day, Scene, SetUp, Key, Lamp, Reading, White logbook.ID
	BodyA, BodyB, A, B                           logbook.ID
	Takes                                        int // how many were logged
}

func (s *Stage) Light(name, role string, more ...string) logbook.ID {
	s.T.Helper()
	return s.Add(kinds.Light, append([]string{"setUp", Ref(s.SetUp), "name", Quoted(name), "role", Quoted(role)}, more...)...)
}

// Read measures a light at the diary's time.
func (s *Stage) Read(light logbook.ID, measured string, more ...string) logbook.ID {
	s.T.Helper()
	return s.Add(kinds.Reading, append([]string{"setUp", Ref(s.SetUp), "measured", measured, "takenAt", stamp(s.Clock),
		"of", fmt.Sprintf(`{"as":"light","light":%s}`, Ref(light))}, more...)...)
}

// Take logs the next take.
func (s *Stage) Take(more ...string) logbook.ID {
	s.T.Helper()
	s.Takes++
	return s.Add(kinds.Take, append([]string{"setUp", Ref(s.SetUp), "number", fmt.Sprint(s.Takes), "startedAt", stamp(s.Clock)}, more...)...)
}

// Clip logs a camera's clip of a take at a kelvin; the zero take is none.
func (s *Stage) Clip(camera, take logbook.ID, kelvin string, more ...string) logbook.ID {
	s.T.Helper()
	fields := map[string]string{
		"setUp": Ref(s.SetUp), "camera": Ref(camera), "body": Ref(s.BodyA), "whiteMode": `"kelvin"`, "kelvin": kelvin, "settingsAre": `"readOff"`,
		"startedAt": stamp(s.Clock),
	}
	if camera == s.B {
		fields["body"] = Ref(s.BodyB)
	}
	if !take.IsZero() {
		fields["takes/"+take.String()] = "{}"
	}
	for i := 0; i < len(more); i += 2 {
		fields[more[i]] = more[i+1]
	}
	var flat []string
	for name, value := range fields {
		if value != "" {
			flat = append(flat, name, value)
		}
	}
	return s.Add(kinds.Clip, flat...)
}

// Shoot logs a take with both cameras.
func (s *Stage) Shoot(kelvinA, kelvinB string) (take, clipA, clipB logbook.ID) {
	s.T.Helper()
	take = s.Take()
	return take, s.Clip(s.A, take, kelvinA), s.Clip(s.B, take, kelvinB)
}

// Fresnel is a tungsten lamp in the given role, whose light was read.
func (s *Stage) Fresnel(name, role string, more ...string) logbook.ID {
	s.T.Helper()
	lamp := s.Add(kinds.Lamp, "name", Quoted(name), "family", `"incandescent"`)
	light := s.Light(name, role, "lamp", Ref(lamp), "rigged/on", "true")
	s.Read(light, OnLocus3200, append([]string{"illuminance", `{"value":400,"unit":"lux"}`}, more...)...)
	return light
}

// Tile is a two-colour lamp with a kelvin dial, and its light in the set-up.
func (s *Stage) Tile(dial string) (lamp, light logbook.ID) {
	s.T.Helper()
	lamp = s.Add(kinds.Lamp, "name", `"tile"`, "family", `"twoColorLed"`, "kelvinDial", `{"as":"range","min":2700,"max":6500,"step":50}`)
	return lamp, s.Light("tile", "fill", "lamp", Ref(lamp), "rigged/dialKelvin", dial, "rigged/on", "true")
}

// Together reads everything that is on.
func (s *Stage) Together(measured string, lux float64, more ...string) logbook.ID {
	s.T.Helper()
	return s.Add(kinds.Reading, append([]string{"setUp", Ref(s.SetUp), "measured", measured, "illuminance", fmt.Sprintf(`{"value":%g,"unit":"lux"}`, lux),
		"takenAt", stamp(s.Clock), "of", `{"as":"everything"}`}, more...)...)
}

// Mixed adds tungsten at the same lux as the key.
func (s *Stage) Mixed() (bulb logbook.ID) {
	s.T.Helper()
	bulb = s.Light("bulb", "fill")
	s.Read(bulb, `{"as":"cctDuv","cctKelvin":3200,"duv":0}`, "illuminance", `{"value":800,"unit":"lux"}`)
	return bulb
}

// WhiteFrom adds a white by a rule and resolves it.
func (s *Stage) WhiteFrom(rule string, more ...string) setup.White {
	s.T.Helper()
	s.Minute(60)
	id := s.Add(kinds.White, append([]string{"setUp", Ref(s.SetUp), "from", rule, "appliesFrom", `{"as":"start"}`}, more...)...)
	b := s.Book()
	v, _ := b.Record(id)
	return setup.WhiteOf(b, v)
}

func (s *Stage) LastReadings() []logbook.ID {
	var ids []logbook.ID
	for _, m := range lighting.ReadingsOf(s.Book(), s.SetUp) {
		ids = append(ids, m.Reading)
	}
	return ids
}

// FallingWindow reads a window every so many minutes, warmer by so many mired each
// time, from the given minute on.
func (s *Stage) FallingWindow(from, every, count int, warmer float64, more ...string) (window logbook.ID) {
	s.T.Helper()
	window = s.Light("window", "fill", "sky", `"sun"`, "rigged/on", "true")
	for i := range count {
		s.Minute(from + i*every)
		s.Read(window, CctDuv(1e6/(1e6/5600-6+float64(i)*warmer), 0), append([]string{"sky", `"sun"`, "position", `"face"`,
			"illuminance", fmt.Sprintf(`{"value":%d,"unit":"lux"}`, 800-50*i)}, more...)...)
	}
	return window
}

// OfName finds a light of the stage.
func (s *Stage) OfName(name string) logbook.ID {
	s.T.Helper()
	for _, v := range s.Book().Records(kinds.Light) {
		if v.Text("name") == name {
			return v.ID
		}
	}
	s.T.Fatalf("no light %s", name)
	return logbook.ID{}
}

// TwoMeters reads a window that hardly moves, the last time by another meter, which says 8
// mired warmer; so many comparisons of the two stand in the log.
func (s *Stage) TwoMeters(comparisons int) (window logbook.ID) {
	s.T.Helper()
	hand := s.Add(kinds.Meter, "name", `"hand"`, "meterKind", `"spectrometer"`)
	old := s.Add(kinds.Meter, "name", `"old"`, "meterKind", `"threeSensor"`)
	for i := range comparisons {
		s.Minute(3 + i)
		s.Read(s.Key, CctDuv(5600, 0), "meter", Ref(hand), "purpose", `"meterCompare"`)
		s.Read(s.Key, CctDuv(1e6/(1e6/5600+8), 0.001), "meter", Ref(old), "purpose", `"meterCompare"`)
	}
	window = s.FallingWindow(5, 10, 3, 1, "meter", Ref(hand))
	s.Minute(35)
	s.Read(window, CctDuv(1e6/(1e6/5600-3+8), 0.001), "sky", `"sun"`, "position", `"face"`, "meter", Ref(old))
	return window
}

func (s *Stage) Mode(encoding, white string) {
	s.T.Helper()
	s.Set(s.BodyB, "recordingModes/main", fmt.Sprintf(`{"name":"main","white":%q,"encoding":%q,"primaries":"bt709"}`, white, encoding))
}

const OnLocus5600 = `{"as":"cctDuv","cctKelvin":5600,"duv":0}`

func New(t *testing.T) *Stage {
	t.Helper()
	s := &Stage{Diary: NewDiary(t)}
	s.Day = s.Add(kinds.Day, "number", "1", "date", `"2026-03-04"`)
	s.Scene = s.Add(kinds.Scene, "name", `"12"`)
	s.SetUp = s.Add(kinds.SetUp, "day", Ref(s.Day), "scene", Ref(s.Scene), "name", `"A"`)
	s.Lamp = s.Add(kinds.Lamp, "name", `"panel"`, "family", `"twoColorLed"`)
	s.Key = s.Light("panel left", "key", "lamp", Ref(s.Lamp), "rigged/dialKelvin", "5600", "rigged/levelPercent", "100", "rigged/on", "true")
	s.Reading = s.Read(s.Key, OnLocus5600, "illuminance", `{"value":800,"unit":"lux"}`)
	s.White = s.Add(kinds.White, "setUp", Ref(s.SetUp), "from", fmt.Sprintf(`{"as":"readings","readings":[{"reading":%s}]}`, Ref(s.Reading)), "appliesFrom", `{"as":"start"}`)
	s.BodyA = s.Add(kinds.Body, "label", `"body 1"`, "whiteModes", `["kelvin","auto"]`, "kelvinRanges", `[{"min":2000,"max":11000,"step":50}]`,
		"tint", `{"min":-10,"max":10,"step":1,"duvPerUnit":0.001,"plusIs":"magenta"}`, "tintZero", `"blackBody"`, "timecode", `"timeOfDay"`)
	s.BodyB = s.Add(kinds.Body, "label", `"body 2"`, "whiteModes", `["kelvin","preset","auto"]`, "kelvinValues", "[3200,4300,5600,6500]",
		"presets/shade", `{"name":"shade","kelvin":7000}`, "tintZero", `"blackBody"`, "timecode", `"timeOfDay"`)
	s.A = s.Add(kinds.Camera, "letter", `"A"`, "body", fmt.Sprintf(`{"body":%s}`, Ref(s.BodyA)))
	s.B = s.Add(kinds.Camera, "letter", `"B"`, "body", fmt.Sprintf(`{"body":%s}`, Ref(s.BodyB)))
	s.Set(s.SetUp, "cameras/"+s.A.String()+"/inUse", "true", "cameras/"+s.B.String()+"/inUse", "true")
	s.Minute(2)
	for _, camera := range []logbook.ID{s.A, s.B} {
		s.Clip(camera, logbook.ID{}, "5600", "clipKind", `"chart"`)
	}
	return s
}

const OnLocus3200 = `{"as":"cctDuv","cctKelvin":3200,"duv":0}`

func CctDuv(kelvin, duv float64) string {
	return fmt.Sprintf(`{"as":"cctDuv","cctKelvin":%.4f,"duv":%.4f}`, kelvin, duv)
}
