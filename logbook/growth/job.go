package growth

import (
	"fmt"
	"math/rand/v2"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
)

// LongJob is the workload feature-1: 60 days of 20 set-ups of 8 takes with 3
// cameras, 4 lights a set-up with 2 readings each, logged by 4 phones. 3 in 100
// of the fields that may change are written again by another phone, one half of
// them without having seen the first. The seed is fixed.
func LongJob(days int) (edits []*logbook.Edit) {
	j := &job{chance: rand.New(rand.NewPCG(1, 2)), at: began}
	j.crew = j.phones(4)
	for i := range j.crew {
		j.crew[i].line = logbook.Line{byte(i + 1)}
	}
	j.take = func(e *logbook.Edit) bool { edits = append(edits, e); return true }
	j.begin()
	for d := range days {
		j.day(d)
	}
	return edits
}

// began is when the first edit was made, in February 2031.
const began = logbook.Millis(1_930_000_000_000)

// begin writes what there is before the first day.
func (j *job) begin() {
	j.write(kinds.Production, Production, `{"title": "Long job", "timeZone": "Etc/UTC", "slating": "sceneAndLetter", "frameRate": "25", "gelFamily": "based5500"}`)
	for c := range j.bodies {
		j.bodies[c] = j.make(kinds.Body, `{"label": "body %d", "whiteModes": ["kelvin"], "kelvinRanges": [{"min": 2000, "max": 10000, "step": %d}], "tintZero": "blend", "recordingModes/m": {"name": "plain", "white": "baked"}, "timecode": "timeOfDay"}`, c, []int{10, 50, 100}[c])
		j.cameras[c] = j.make(kinds.Camera, `{"letter": "%c", "body": {"body": "%s"}}`, 'A'+c, j.bodies[c])
	}
}

// day writes one day of work. A year here has twelve months of 28 days.
func (j *job) day(d int) {
	day := j.make(kinds.Day, `{"number": %d, "date": "%d-%02d-%02d"}`, d+1, 2031+d/336, 1+d%336/28, 1+d%28)
	for s := range 20 {
		j.setUp(day, s)
	}
}

// Production is that of all logs here.
var Production = logbook.ID{15: 1}

type job struct {
	take            func(*logbook.Edit) bool // false: no more are wanted
	over            bool                     // no more are wanted
	lived           bool                     // with what people do to a record after it was made
	chance          *rand.Rand
	records         uint64
	first           logbook.Dot // of the record that was made last
	crew            []phone
	at              logbook.Millis
	bodies, cameras [3]logbook.ID
}

// A phone writes under one line from each start on.
type phone struct {
	device  logbook.ID
	by      string
	line    logbook.Line
	written uint64
}

func (j *job) phones(n int) []phone {
	names := [...]string{"Ada", "Ben", "Cleo", "Dan"}
	list := make([]phone, n)
	for i := range list {
		list[i] = phone{device: logbook.ID{0: 1, 6: 0x70, 8: 0x80, 15: byte(i)}, by: names[i%len(names)]}
	}
	return list
}

func (j *job) make(kind logbook.Kind, format string, args ...any) logbook.ID {
	j.records++
	n := j.records
	id := logbook.ID{0: 2, 6: 0x70, 8: 0x80, 12: byte(n >> 24), 13: byte(n >> 16), 14: byte(n >> 8), 15: byte(n)}
	j.write(kind, id, fmt.Sprintf(format, args...))
	return id
}

func (j *job) write(kind logbook.Kind, id logbook.ID, fields string) {
	set := changes(fields)
	phone := j.chance.IntN(len(j.crew))
	first := j.edit(phone, kind, id, set)
	j.first = first
	spec, _ := kinds.Of(kind)
	for _, c := range set {
		if f, _ := spec.Field(c.Field); f.Fact || j.chance.IntN(100) >= 3 {
			continue
		}
		again := logbook.Change{Field: c.Field, Value: otherValue(c)}
		if j.chance.IntN(2) == 0 {
			again.Over = []logbook.Dot{first}
		}
		j.edit((phone+1+j.chance.IntN(len(j.crew)-1))%len(j.crew), kind, id, []logbook.Change{again})
	}
}

func changes(fields string) (set []logbook.Change) {
	v, err := logbook.ParseValue(fields)
	if err != nil {
		panic(err)
	}
	for field, value := range v.Members() {
		set = append(set, logbook.Change{Field: field, Value: value})
	}
	return set
}

func (j *job) edit(n int, kind logbook.Kind, id logbook.ID, set []logbook.Change) logbook.Dot {
	j.at += 20_000
	p := &j.crew[n]
	p.written++
	e := &logbook.Edit{
		Production: Production, Kind: kind, Record: id, Device: p.device,
		Dot: logbook.Dot{Line: p.line, N: p.written}, At: j.at, By: p.by, Set: set,
	}
	if !j.over {
		j.over = !j.take(e)
	}
	return e.Dot
}

// otherValue is what a second phone writes: other numbers and names where people
// type them, and elsewhere the same once more.
func otherValue(c logbook.Change) logbook.Value {
	switch c.Field {
	case "kelvin":
		kelvin, _ := c.Value.Float()
		return logbook.Value(fmt.Sprint(kelvin + 100))
	case "title", "label", "card":
		text, _ := c.Value.Text()
		return logbook.TextValue(text + " b")
	case "settingsAre":
		return `"carriedOver"`
	case "role":
		return `"background"`
	}
	return c.Value
}

func (j *job) setUp(day logbook.ID, s int) {
	setUp := j.make(kinds.SetUp, `{"day": "%s", "name": "%c"}`, day, 'A'+s)
	kelvin := 2800 + 100*j.chance.IntN(35)
	var first logbook.ID
	for l := range 4 {
		light := j.make(kinds.Light, `{"setUp": "%s", "name": "light %d", "role": "%s"}`, setUp, l, []string{"key", "fill", "back", "practical"}[l])
		for range 2 {
			reading := j.make(kinds.Reading, `{"setUp": "%s", "takenAt": "%s", "of": {"as": "light", "light": "%s"}, "measured": {"as": "cctDuv", "cctKelvin": %d, "duv": 0.00%02d}, "illuminance": {"value": 300, "unit": "lux"}}`,
				setUp, j.at.Time().Format("2006-01-02T15:04:05Z"), light, kelvin+j.chance.IntN(60)*10, j.chance.IntN(40))
			if first.IsZero() {
				first = reading
				j.make(kinds.White, `{"setUp": "%s", "from": {"as": "readings", "readings": [{"reading": "%s"}]}, "appliesFrom": {"as": "start"}}`, setUp, first)
			}
		}
	}
	for t := range 8 {
		take := j.make(kinds.Take, `{"setUp": "%s", "number": %d}`, setUp, t+1)
		for c := range 3 {
			clip := j.make(kinds.Clip, `{"setUp": "%s", "camera": "%s", "body": "%s", "takes/%s": {}, "whiteMode": "kelvin", "kelvin": %d, "settingsAre": "readOff", "name": {"text": "%c%06d", "from": "counted"}, "card": "%c01"}`,
				setUp, j.cameras[c], j.bodies[c], take, kelvin/100*100, 'A'+c, j.records, 'A'+c)
			if j.lived {
				j.afterClip(clip)
			}
		}
		if j.lived {
			j.afterTake(setUp, take, t+1)
		}
	}
}
