package logbook

import (
	"fmt"
	"testing"
	"time"
)

// stage is a set-up in which nothing is off: one key light at 5600 K, the white
// chosen from it, cameras A and B of different make, a chart.
type stage struct {
	*diary
	day, scene, setUp, key, lamp, reading, white ID
	bodyA, bodyB, a, b                           ID
	takes                                        int
}

func (s *stage) light(name, role string, more ...string) ID {
	s.t.Helper()
	return s.add(KindLight, append([]string{"setUp", ref(s.setUp), "name", quoted(name), "role", quoted(role)}, more...)...)
}

// read measures a light at the diary's time.
func (s *stage) read(light ID, measured string, more ...string) ID {
	s.t.Helper()
	at := `"` + s.clock.Time().Format(time.RFC3339) + `"`
	return s.add(KindReading, append([]string{"setUp", ref(s.setUp), "measured", measured, "takenAt", at, "of", fmt.Sprintf(`{"as":"light","light":%s}`, ref(light))}, more...)...)
}

// take logs the next take.
func (s *stage) take(more ...string) ID {
	s.t.Helper()
	s.takes++
	at := `"` + s.clock.Time().Format(time.RFC3339) + `"`
	return s.add(KindTake, append([]string{"setUp", ref(s.setUp), "number", fmt.Sprint(s.takes), "startedAt", at}, more...)...)
}

// clip logs a camera's clip of a take at a kelvin; the zero take is none.
func (s *stage) clip(camera, take ID, kelvin string, more ...string) ID {
	s.t.Helper()
	fields := map[string]string{
		"setUp": ref(s.setUp), "camera": ref(camera), "body": ref(s.bodyA), "whiteMode": `"kelvin"`, "kelvin": kelvin, "settingsAre": `"readOff"`,
		"startedAt": `"` + s.clock.Time().Format(time.RFC3339) + `"`,
	}
	if camera == s.b {
		fields["body"] = ref(s.bodyB)
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
	return s.add(KindClip, flat...)
}

// shoot logs a take with both cameras.
func (s *stage) shoot(kelvinA, kelvinB string) (take, clipA, clipB ID) {
	s.t.Helper()
	take = s.take()
	return take, s.clip(s.a, take, kelvinA), s.clip(s.b, take, kelvinB)
}

// fresnel is a tungsten lamp that lights as the given role; its light is read.
func (s *stage) fresnel(name, role string, more ...string) ID {
	s.t.Helper()
	lamp := s.add(KindLamp, "name", quoted(name), "family", `"incandescent"`)
	light := s.light(name, role, "lamp", ref(lamp), "rigged/on", "true")
	s.read(light, onLocus3200, append([]string{"illuminance", `{"value":400,"unit":"lux"}`}, more...)...)
	return light
}

// tile is a two-colour lamp with a kelvin dial, and a light that it is.
func (s *stage) tile(dial string) (lamp, light ID) {
	s.t.Helper()
	lamp = s.add(KindLamp, "name", `"tile"`, "family", `"twoColorLed"`, "kelvinDial", `{"as":"range","min":2700,"max":6500,"step":50}`)
	return lamp, s.light("tile", "fill", "lamp", ref(lamp), "rigged/dialKelvin", dial, "rigged/on", "true")
}

// together reads everything that is on.
func (s *stage) together(measured string, lux float64, more ...string) ID {
	s.t.Helper()
	return s.add(KindReading, append([]string{"setUp", ref(s.setUp), "measured", measured, "illuminance", fmt.Sprintf(`{"value":%g,"unit":"lux"}`, lux),
		"takenAt", `"` + s.clock.Time().Format("2006-01-02T15:04:05Z07:00") + `"`, "of", `{"as":"everything"}`}, more...)...)
}

// mixed adds tungsten at the same lux as the key.
func (s *stage) mixed() (bulb ID) {
	s.t.Helper()
	bulb = s.light("bulb", "fill")
	s.read(bulb, `{"as":"cctDuv","cctKelvin":3200,"duv":0}`, "illuminance", `{"value":800,"unit":"lux"}`)
	return bulb
}

// whiteFrom adds a white by a rule and resolves it.
func (s *stage) whiteFrom(rule string, more ...string) WhiteInForce {
	s.t.Helper()
	s.minute(60)
	id := s.add(KindWhite, append([]string{"setUp", ref(s.setUp), "from", rule, "appliesFrom", `{"as":"start"}`}, more...)...)
	b := s.book()
	v, _ := b.Record(id)
	return WhiteInForceOf(b, v)
}

func (s *stage) lastReadings() []ID {
	var ids []ID
	for _, m := range MeasurementsOf(s.book(), s.setUp) {
		ids = append(ids, m.Reading)
	}
	return ids
}

// fallingWindow reads a window every so many minutes, warmer by so many mired each
// time, from the given minute on.
func (s *stage) fallingWindow(from, every, count int, warmer float64, more ...string) (window ID) {
	s.t.Helper()
	window = s.light("window", "fill", "sky", `"sun"`, "rigged/on", "true")
	for i := range count {
		s.minute(from + i*every)
		s.read(window, cctDuv(1e6/(1e6/5600-6+float64(i)*warmer), 0), append([]string{"sky", `"sun"`, "position", `"face"`,
			"illuminance", fmt.Sprintf(`{"value":%d,"unit":"lux"}`, 800-50*i)}, more...)...)
	}
	return window
}

// ofName finds a light of the stage.
func (s *stage) ofName(name string) ID {
	s.t.Helper()
	for _, v := range s.book().Records(KindLight) {
		if v.Text("name") == name {
			return v.ID
		}
	}
	s.t.Fatalf("no light %s", name)
	return ID{}
}

// twoMeters reads a steady window, the last time by another meter that says 8 mired
// warmer; so many comparisons of the two stand in the log.
func (s *stage) twoMeters(comparisons int) (window ID) {
	s.t.Helper()
	hand := s.add(KindMeter, "name", `"hand"`, "meterKind", `"spectrometer"`)
	old := s.add(KindMeter, "name", `"old"`, "meterKind", `"threeSensor"`)
	for i := range comparisons {
		s.minute(3 + i)
		s.read(s.key, cctDuv(5600, 0), "meter", ref(hand), "purpose", `"meterCompare"`)
		s.read(s.key, cctDuv(1e6/(1e6/5600+8), 0.001), "meter", ref(old), "purpose", `"meterCompare"`)
	}
	window = s.fallingWindow(5, 10, 3, 1, "meter", ref(hand))
	s.minute(35)
	s.read(window, cctDuv(1e6/(1e6/5600-3+8), 0.001), "sky", `"sun"`, "position", `"face"`, "meter", ref(old))
	return window
}

func (s *stage) mode(encoding, white string) {
	s.t.Helper()
	s.set(s.bodyB, "recordingModes/main", fmt.Sprintf(`{"name":"main","white":%q,"encoding":%q,"primaries":"bt709"}`, white, encoding))
}

const onLocus5600 = `{"as":"cctDuv","cctKelvin":5600,"duv":0}`

func newStage(t *testing.T) *stage {
	t.Helper()
	s := &stage{diary: newDiary(t)}
	s.day = s.add(KindDay, "number", "1", "date", `"2026-03-04"`)
	s.scene = s.add(KindScene, "name", `"12"`)
	s.setUp = s.add(KindSetUp, "day", ref(s.day), "scene", ref(s.scene), "name", `"A"`)
	s.lamp = s.add(KindLamp, "name", `"panel"`, "family", `"twoColorLed"`)
	s.key = s.light("panel left", "key", "lamp", ref(s.lamp), "rigged/dialKelvin", "5600", "rigged/levelPercent", "100", "rigged/on", "true")
	s.reading = s.read(s.key, onLocus5600, "illuminance", `{"value":800,"unit":"lux"}`)
	s.white = s.add(KindWhite, "setUp", ref(s.setUp), "from", fmt.Sprintf(`{"as":"readings","readings":[{"reading":%s}]}`, ref(s.reading)), "appliesFrom", `{"as":"start"}`)
	s.bodyA = s.add(KindBody, "label", `"body 1"`, "whiteModes", `["kelvin","auto"]`, "kelvinRanges", `[{"min":2000,"max":11000,"step":50}]`,
		"tint", `{"min":-10,"max":10,"step":1,"duvPerUnit":0.001,"plusIs":"magenta"}`, "tintZero", `"blackBody"`, "timecode", `"timeOfDay"`)
	s.bodyB = s.add(KindBody, "label", `"body 2"`, "whiteModes", `["kelvin","preset","auto"]`, "kelvinValues", "[3200,4300,5600,6500]",
		"presets/shade", `{"name":"shade","kelvin":7000}`, "tintZero", `"blackBody"`, "timecode", `"timeOfDay"`)
	s.a = s.add(KindCamera, "letter", `"A"`, "body", fmt.Sprintf(`{"body":%s}`, ref(s.bodyA)))
	s.b = s.add(KindCamera, "letter", `"B"`, "body", fmt.Sprintf(`{"body":%s}`, ref(s.bodyB)))
	s.set(s.setUp, "cameras/"+s.a.String()+"/inUse", "true", "cameras/"+s.b.String()+"/inUse", "true")
	s.minute(2)
	for _, camera := range []ID{s.a, s.b} {
		s.clip(camera, ID{}, "5600", "clipKind", `"chart"`)
	}
	return s
}

const onLocus3200 = `{"as":"cctDuv","cctKelvin":3200,"duv":0}`

func cctDuv(kelvin, duv float64) string {
	return fmt.Sprintf(`{"as":"cctDuv","cctKelvin":%.4f,"duv":%.4f}`, kelvin, duv)
}
