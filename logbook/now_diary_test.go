package logbook

import (
	"encoding/binary"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"
)

// diary writes the edits of an invented production for tests. Its clock stands
// until a test turns it.
type diary struct {
	t     *testing.T
	edits []*Edit
	kinds map[ID]Kind
	clock Millis
	next  uint32
}

// dayBegins is minute 0 of every diary.
var dayBegins = MillisOf(time.Date(2026, 3, 4, 8, 0, 0, 0, time.UTC))

func newDiary(t *testing.T) *diary {
	t.Helper()
	d := &diary{t: t, kinds: map[ID]Kind{}, clock: dayBegins}
	d.write(d.productionID(), KindProduction, "title", `"Harbour"`, "timeZone", `"Europe/Oslo"`, "frameRate", `"25"`, "gelFamily", `"based5500"`)
	return d
}

func (d *diary) productionID() ID { return ID{15: 1} }

// minute turns the clock to so many minutes after the day began.
func (d *diary) minute(m int) { d.clock = dayBegins + Millis(m)*60000 }

func minute(m int) Millis { return dayBegins + Millis(m)*60000 }

// stamp writes an instant as a value.
func stamp(m int) string { return `"` + minute(m).Time().Format(time.RFC3339) + `"` }

// add makes a record of fields and their values in JSON.
func (d *diary) add(kind Kind, fields ...string) ID {
	d.t.Helper()
	d.next++
	id := ID{6: 0x70, 8: 0x80}
	binary.BigEndian.PutUint32(id[12:], d.next+100)
	d.write(id, kind, fields...)
	return id
}

// set changes fields of a record, over what the diary wrote before.
func (d *diary) set(id ID, fields ...string) {
	d.t.Helper()
	d.write(id, d.kinds[id], fields...)
}

func (d *diary) write(id ID, kind Kind, fields ...string) {
	d.t.Helper()
	d.kinds[id] = kind
	e := &Edit{Production: d.productionID(), Kind: kind, Record: id, Device: ID{15: 9}, By: "Ada", At: d.clock,
		Dot: Dot{Line{7: 7}, uint64(len(d.edits) + 1)}}
	for i := 0; i < len(fields); i += 2 {
		value, err := ParseValue(fields[i+1])
		if err != nil {
			d.t.Fatalf("%s %s: %v", kind, fields[i], err)
		}
		c := Change{Field: fields[i], Value: value}
		for _, old := range d.edits {
			if _, ok := old.Change(fields[i]); ok && old.Record == id {
				c.Over = append(c.Over, old.Dot)
			}
		}
		e.Set = append(e.Set, c)
	}
	d.edits = append(d.edits, e)
}

// book merges everything written; a refused edit is a fault of the test.
func (d *diary) book() *Book {
	d.t.Helper()
	b := NewBook(d.productionID(), KindRules)
	for _, e := range d.edits {
		if err := b.Apply(e); err != nil {
			d.t.Fatalf("edit of %s is refused: %v", e.Kind, err)
		}
	}
	return b
}

func (d *diary) deviations(scope ID, at int) []Deviation {
	d.t.Helper()
	return Deviations(d.book(), DeviationScope{SetUp: scope}, minute(at))
}

func ref(id ID) string { return `"` + id.String() + `"` }

func quoted(s string) string { return `"` + s + `"` }

// stage is a set-up in which nothing is off: one key light at 5600 K, the white
// chosen from it, cameras A and B of different make, a chart.
type stage struct {
	*diary
	day, scene, setUp, key, lamp, reading, white ID
	bodyA, bodyB, a, b                           ID
	takes                                        int
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

// kindWords lists the kinds of deviations, with what follows from each in brackets.
func kindWords(all []Deviation) string {
	var words []string
	for _, d := range all {
		word := d.Kind
		if d.Accepted != nil {
			word = "accepted " + word
		}
		for _, also := range d.Also {
			word += "+" + also.Kind
		}
		words = append(words, word)
	}
	return strings.Join(words, " ")
}

func mustKinds(t *testing.T, all []Deviation, want string) {
	t.Helper()
	if got := kindWords(all); got != want {
		t.Errorf("deviations: got %q, want %q", got, want)
		for _, d := range all {
			t.Logf("%s: %s", d.Kind, d.Words)
		}
	}
}

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: got %v, want %v ± %v", what, got, want, tolerance)
	}
}
