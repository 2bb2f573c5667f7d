package days_test

import (
	"fmt"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
)

// A set is an invented production with one day and one set-up: two cameras whose dials reach
// any white, and no light, white or take yet.
type set struct {
	*pen
	day, scene, setUp, w1 logbook.ID
	bodies                []logbook.ID
	cameras               []logbook.ID // A, B
	takes                 map[int]logbook.ID
}

const plainBody = `{"min":-8,"max":8,"step":1,"duvPerUnit":0.0005,"plusIs":"magenta"}`

func newSet() *set {
	s := &set{pen: newPen(), takes: map[int]logbook.ID{}}
	s.day = s.add(kinds.Day, "number", "1", "date", `"2026-03-04"`)
	s.scene = s.add(kinds.Scene, "name", `"12"`)
	s.setUp = s.add(kinds.SetUp, "day", ref(s.day), "scene", ref(s.scene), "name", `"A"`)
	for i, letter := range []string{"A", "B"} {
		body := s.add(kinds.Body, "label", fmt.Sprintf(`"body %d"`, i+1), "whiteModes", `["kelvin","preset","auto"]`, "kelvinRanges",
			`[{"min":2000,"max":11000,"step":100}]`, "tint", plainBody, "tintZero", `"blackBody"`, "timecode", `"timeOfDay"`,
			"recordingModes/main", `{"name":"main","white":"baked","encoding":"bt1886","primaries":"bt709"}`)
		s.bodies = append(s.bodies, body)
		camera := s.add(kinds.Camera, "letter", `"`+letter+`"`, "body", fmt.Sprintf(`{"body":%s}`, ref(body)))
		s.cameras = append(s.cameras, camera)
		s.set(s.setUp, "cameras/"+camera.String()+"/inUse", "true")
	}
	return s
}

// at turns the clock to a time of day.
func (s *set) at(clock string) *set {
	s.clock = clockTime(clock)
	return s
}

// clockTime reads "10:40" of the first day, "+1 10:40" of the next.
func clockTime(clock string) logbook.Millis {
	days, h, m := 0, 0, 0
	if _, err := fmt.Sscanf(clock, "+%d %d:%d", &days, &h, &m); err != nil {
		if _, err := fmt.Sscanf(clock, "%d:%d", &h, &m); err != nil {
			panic("not a time of day: " + clock)
		}
	}
	return at(days*24*60 + h*60 + m - 8*60)
}

// lamp makes a light with a lamp that has a kelvin dial.
func (s *set) lamp(name, role string, more ...string) logbook.ID {
	lamp := s.add(kinds.Lamp, "name", `"`+name+` lamp"`, "family", `"twoColorLed"`, "kelvinDial", `{"as":"range","min":2700,"max":6500,"step":50}`,
		"dimsWarmer", `"no"`)
	return s.light(name, role, append([]string{"lamp", ref(lamp)}, more...)...)
}

func (s *set) light(name, role string, more ...string) logbook.ID {
	return s.add(kinds.Light, append([]string{"setUp", ref(s.setUp), "name", `"` + name + `"`, "role", `"` + role + `"`}, more...)...)
}

// cctOf is a colour on the black-body locus, as a meter shows it.
func cctOf(mired float64) string {
	return fmt.Sprintf(`{"as":"cctDuv","cctKelvin":%.2f,"duv":0}`, 1e6/mired)
}

// read measures a light now; more fields go before what is filled in.
func (s *set) read(light logbook.ID, mired float64, more ...string) logbook.ID {
	return s.reading(fmt.Sprintf(`{"as":"light","light":%s}`, ref(light)), cctOf(mired), more...)
}

func (s *set) everything(mired float64, more ...string) logbook.ID {
	return s.reading(`{"as":"everything"}`, cctOf(mired), more...)
}

func (s *set) reading(of, measured string, more ...string) logbook.ID {
	return s.add(kinds.Reading, filled(more, "setUp", ref(s.setUp), "measured", measured, "takenAt", s.ownTime(), "of", of)...)
}

// filled adds to fields those that they do not name; an empty value leaves its field out.
func filled(fields []string, more ...string) []string {
	names := map[string]bool{}
	for i := 0; i < len(fields); i += 2 {
		names[fields[i]] = true
	}
	var out []string
	for i := 0; i < len(more); i += 2 {
		if !names[more[i]] {
			out = append(out, more[i], more[i+1])
		}
	}
	for i := 0; i < len(fields); i += 2 {
		if fields[i+1] != "" {
			out = append(out, fields[i], fields[i+1])
		}
	}
	return out
}

func lux(value float64) []string {
	return []string{"illuminance", fmt.Sprintf(`{"value":%g,"unit":"lux"}`, value)}
}

// shoot logs a take with a clip of each camera, at 5600 K.
func (s *set) shoot(number int, more ...string) logbook.ID {
	take := s.add(kinds.Take, filled(more, "setUp", ref(s.setUp), "number", fmt.Sprint(number), "startedAt", s.ownTime())...)
	s.takes[number] = take
	for i := range s.cameras {
		s.clip(i, take)
	}
	return take
}

func (s *set) clip(camera int, take logbook.ID, more ...string) logbook.ID {
	fields := []string{"setUp", ref(s.setUp), "camera", ref(s.cameras[camera]), "body", ref(s.bodies[camera]), "whiteMode", `"kelvin"`,
		"kelvin", "5600", "settingsAre", `"readOff"`}
	if !take.IsZero() {
		fields = append(fields, "takes/"+take.String(), "{}")
	}
	return s.add(kinds.Clip, filled(more, fields...)...)
}

// white chooses a white of the set-up, from the start where no more is said.
func (s *set) white(rule string, more ...string) logbook.ID {
	return s.add(kinds.White, filled(more, "setUp", ref(s.setUp), "from", rule, "appliesFrom", `{"as":"start"}`)...)
}

func nominal(kelvin float64) string {
	return fmt.Sprintf(`{"as":"nominal","kelvin":%g,"locus":"blackBody"}`, kelvin)
}

func fromTake(number int) string { return fmt.Sprintf(`{"as":"takeNumber","number":%d}`, number) }
