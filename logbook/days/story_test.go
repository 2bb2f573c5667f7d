package days_test

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
)

// A story is a day written out by hand in testdata/days: a line is an hour and what happened,
// or a question, which begins with a question mark and is asked at the hour of the line before.
// Lines with # are the working. What is named in a line with as=NAME is found again by NAME.
type story struct {
	*set
	t     *testing.T
	where string // file and line
	named map[string]logbook.ID
}

// TestStories plays the days written out by hand.
func TestStories(t *testing.T) {
	files, err := filepath.Glob("../../testdata/days/*.txt")
	if err != nil || len(files) < 5 {
		t.Fatalf("%d stories: %v", len(files), err)
	}
	for _, file := range files {
		t.Run(strings.TrimSuffix(filepath.Base(file), ".txt"), func(t *testing.T) {
			text, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			s := &story{set: newSet(), t: t, named: map[string]logbook.ID{}}
			asked := 0
			for i, line := range strings.Split(string(text), "\n") {
				line, _, _ = strings.Cut(line, "#")
				words := strings.Fields(line)
				if s.where = fmt.Sprintf("%s:%d", filepath.Base(file), i+1); len(words) == 0 {
					continue
				}
				if words[0] == "?" {
					s.answer(words[1:])
					asked++
					continue
				}
				if words[0] == "+1" {
					words = append([]string{"+1 " + words[1]}, words[2:]...)
				}
				s.at(words[0])
				s.tell(words[1], words[2:])
			}
			if asked < 8 {
				t.Errorf("only %d questions", asked)
			}
		})
	}
}

func (s *story) fail(format string, args ...any) {
	s.t.Helper()
	s.t.Errorf("%s: %s", s.where, fmt.Sprintf(format, args...))
}

// id finds what a story named.
func (s *story) id(name string) logbook.ID {
	id, ok := s.named[name]
	if !ok {
		s.t.Fatalf("%s: nothing is called %s", s.where, name)
	}
	return id
}

// members are the words name=value of a line.
type members map[string]string

func membersOf(words []string) members {
	m := members{}
	for _, w := range words {
		name, value, _ := strings.Cut(w, "=")
		m[name] = value
	}
	return m
}

func (s *story) number(text string) float64 {
	f, err := strconv.ParseFloat(text, 64)
	if err != nil {
		s.t.Fatalf("%s: %v", s.where, err)
	}
	return f
}

// tell makes the edits of a line.
func (s *story) tell(verb string, words []string) {
	m := membersOf(words)
	var id logbook.ID
	switch verb {
	case "lamp":
		s.named[words[0]] = s.lamp(words[0], words[1])
	case "window":
		s.named[words[0]] = s.light(words[0], words[1], "sky", `"`+words[2]+`"`)
	case "gel":
		id = s.add(kinds.Gel, "name", `"`+words[0]+`"`, "gelKind", `"`+words[1]+`"`, "shiftMired", words[2])
	case "read":
		id = s.reading(s.readOf(words[0]), s.measured(m), s.readFields(m)...)
	case "set":
		s.set.set(s.id(words[0]), s.rigged(words[1:])...)
	case "white":
		id = s.white(s.rule(m), s.whiteFields(m)...)
	case "take":
		s.takeOf(int(s.number(words[0])), m)
	case "card":
		id = s.add(kinds.Sample, "setUp", ref(s.setUp), "camera", ref(s.cameras[cameraOf(words[0])]), "body", ref(s.bodies[cameraOf(words[0])]),
			"rgb", fmt.Sprintf(`{"as":"percent","r":%[1]s,"g":%[1]s,"b":%[1]s,"encoding":"bt1886","primaries":"bt709"}`, m["grey"]),
			"settings", fmt.Sprintf(`{"whiteMode":"kelvin","kelvin":%s}`, m["at"]), "takenAt", s.ownTime(),
			"light", fmt.Sprintf(`{"as":"reading","reading":%s}`, ref(s.id(m["light"]))))
	case "swap":
		i := cameraOf(words[0])
		s.bodies[i] = s.add(kinds.Body, "label", `"`+m["body"]+`"`, "whiteModes", `["kelvin"]`, "kelvinRanges",
			`[{"min":2500,"max":10000,"step":100}]`, "tint", plainBody, "tintZero", `"`+m["tintZero"]+`"`, "timecode", `"none"`)
		s.set.set(s.cameras[i], "body", fmt.Sprintf(`{"body":%s,"from":%s}`, ref(s.bodies[i]), s.ownTime()))
	case "strike":
		s.set.set(s.id(words[0]), "struckOut", `{"reason":"typed wrong"}`)
	case "close", "open":
		s.set.set(s.day, "closed", fmt.Sprint(verb == "close"))
	case "day":
		s.day = s.add(kinds.Day, "number", words[0], "date", `"`+m["date"]+`"`)
		s.setUp = s.add(kinds.SetUp, "day", ref(s.day), "scene", ref(s.scene), "name", `"`+m["setUp"]+`"`,
			"cameras/"+s.cameras[0].String()+"/inUse", "true", "cameras/"+s.cameras[1].String()+"/inUse", "true")
	case "phone":
		s.hand = int(s.number(words[0])) - 1
	case "wrong": // the phone in hand is so many minutes behind, and knows it
		s.phones[s.hand].offset = logbook.Millis(s.number(words[0])) * minute
	case "apart":
		s.apart()
	case "meet":
		s.together()
	default:
		s.t.Fatalf("%s: what is %q?", s.where, verb)
	}
	if name := m["as"]; name != "" {
		s.named[name] = id
	}
}

func cameraOf(letter string) int { return int(letter[0] - 'A') }

func (s *story) readOf(name string) string {
	if name == "everything" {
		return `{"as":"everything"}`
	}
	return fmt.Sprintf(`{"as":"light","light":%s}`, ref(s.id(name)))
}

func (s *story) measured(m members) string {
	if m["x"] != "" {
		return fmt.Sprintf(`{"as":"xy","x":%s,"y":%s}`, m["x"], m["y"])
	}
	duv := m["duv"]
	if duv == "" {
		duv = "0"
	}
	return fmt.Sprintf(`{"as":"cctDuv","cctKelvin":%s,"duv":%s}`, m["kelvin"], duv)
}

func (s *story) readFields(m members) (fields []string) {
	for name, value := range m {
		switch name {
		case "lux":
			fields = append(fields, lux(s.number(value))...)
		case "sky", "position":
			fields = append(fields, name, `"`+value+`"`)
		case "taken": // typed from paper
			fields = append(fields, "takenAt", stamp(clockTime(value)))
		case "supersedes":
			fields = append(fields, name, ref(s.id(value)))
		case "dial": // dial=key:3200
			light, kelvin, _ := strings.Cut(value, ":")
			fields = append(fields, "lightsAsSet/"+s.id(light).String(), `{"dialKelvin":`+kelvin+`}`)
		}
	}
	return fields
}

func (s *story) rigged(words []string) (fields []string) {
	since := membersOf(words)["since"]
	for _, w := range words {
		name, value, _ := strings.Cut(w, "=")
		switch name {
		case "since":
			continue
		case "gels":
			ids := []logbook.ID{}
			for _, gel := range strings.FieldsFunc(value, func(r rune) bool { return r == ',' }) {
				ids = append(ids, s.id(gel))
			}
			value = refs(ids...)
		}
		if fields = append(fields, "rigged/"+name, value); since != "" {
			fields = append(fields, "since/rigged/"+name, ref(s.id(since)))
		}
	}
	return fields
}

func (s *story) rule(m members) string {
	switch {
	case m["nominal"] != "":
		return nominal(s.number(m["nominal"]))
	case m["reading"] != "":
		return fmt.Sprintf(`{"as":"readings","readings":[{"reading":%s}]}`, ref(s.id(m["reading"])))
	}
	return `{"as":"mix"}`
}

func (s *story) whiteFields(m members) (fields []string) {
	if over := m["over"]; over != "" {
		fields = append(fields, "supersedes", ref(s.id(over)))
	}
	if m["settles"] != "" {
		fields = append(fields, "settles", refs(s.id(m["settles"])))
	}
	switch from, number := m["from"], ""; {
	case strings.HasPrefix(from, "take"):
		number = strings.TrimPrefix(from, "take")
		fields = append(fields, "appliesFrom", fmt.Sprintf(`{"as":"takeNumber","number":%s}`, number))
	case from != "":
		fields = append(fields, "appliesFrom", fmt.Sprintf(`{"as":"time","at":%s}`, stamp(clockTime(from))))
	}
	if rests, ok := m["rests"]; ok {
		var items []string
		for _, item := range strings.FieldsFunc(rests, func(r rune) bool { return r == ',' }) {
			items = append(items, fmt.Sprintf(`{"record":%s}`, ref(s.id(item))))
		}
		fields = append(fields, "restsOn", "["+strings.Join(items, ",")+"]")
	}
	return fields
}

// takeOf logs a take; A=5600 and B=5600/2 are kelvin and tint of the cameras that rolled.
func (s *story) takeOf(number int, m members) {
	fields := []string{"setUp", ref(s.setUp), "number", fmt.Sprint(number)}
	if _, unsaid := m["unsaid"]; !unsaid {
		fields = append(fields, "startedAt", s.ownTime())
	}
	if m["white"] != "" {
		fields = append(fields, "white", ref(s.id(m["white"])))
	}
	if m["sky"] != "" {
		fields = append(fields, "sky", `"`+m["sky"]+`"`)
	}
	take := s.add(kinds.Take, fields...)
	s.takes[number] = take
	for i, letter := range []string{"A", "B"} {
		if setting := m[letter]; setting != "" {
			kelvin, tint, _ := strings.Cut(setting, "/")
			more := []string{"kelvin", kelvin}
			if tint != "" {
				more = append(more, "tint", tint)
			}
			s.clip(i, take, more...)
		}
	}
}

// answer asks a question and compares.
func (s *story) answer(words []string) {
	s.t.Helper()
	a := &asked{set: s.set, t: s.t}
	line := strings.Join(words, " ")
	var take int
	var name, how string
	var want, x, y float64
	switch {
	case scan(line, "take %d light %s is unknown", &take, &name):
		if l := a.lightOf(a.row(take), name); l.Color != nil {
			s.fail("%s is %s, want unknown", name, l.Color.Words)
		}
	case scan(line, "take %d light %s is %f mired %f min %s", &take, &name, &want, &x, &how):
		l := a.lightOf(a.row(take), name)
		if l.Color == nil || math.Abs(miredOf(l.Color.X, l.Color.Y)-want) > 0.15 {
			s.fail("%s is %s (%s), want %g mired", name, textOf(l.Color), l.Problem, want)
		}
		if text := textOf(l); !strings.Contains(text, fmt.Sprintf("%g min %s", x, how)) {
			s.fail("%s should be %g min %s: %s", name, x, how, text)
		}
	case scan(line, "take %d light %s is %f mired %s", &take, &name, &want, &how):
		l := a.lightOf(a.row(take), name)
		if l.Color == nil || math.Abs(miredOf(l.Color.X, l.Color.Y)-want) > 0.15 || !strings.Contains(textOf(l), how) {
			s.fail("%s is %s, want %g mired, %s", name, textOf(l), want, how)
		}
	case scan(line, "take %d mix is x %f y %f", &take, &x, &y):
		r := a.row(take).There.Reference
		if r == nil || math.Abs(r.X-x) > 0.00006 || math.Abs(r.Y-y) > 0.00006 {
			s.fail("the mix is %s, want x %.4f y %.4f", textOf(r), x, y)
		}
	case scan(line, "take %d mix is unknown", &take):
		if r := a.row(take).There.Reference; r != nil {
			s.fail("the mix is %s, want unknown", textOf(r))
		}
	case scan(line, "take %d camera %s off %f mired", &take, &name, &want):
		d := a.rowOf(take, name).Gives.OffAim
		if d == nil || d.Mired == nil || *d.Mired != want {
			s.fail("camera %s is off by %s, want %g mired", name, textOf(d), want)
		}
	case scan(line, "take %d white %s contested", &take, &name):
		a.whiteOf(take, s.id(name), true)
	case scan(line, "take %d white %s", &take, &name):
		a.whiteOf(take, s.id(name), false)
	case scan(line, "take %d finding %s of %f mired", &take, &name, &want):
		s.finding(a, take, name, want)
	case scan(line, "take %d no %s", &take, &name):
		for _, d := range a.deviations() {
			if d.Kind == name && slices.Contains(d.Takes, s.takes[take]) {
				s.fail("%s", d.Words)
			}
		}
	case scan(line, "take %d no finding about light", &take):
		a.silent(take)
	case scan(line, "white %s is %f mired", &name, &want):
		if got := s.colorOf(s.id(name)); math.Abs(got-want) > 0.15 {
			s.fail("the white %s is %.2f mired, want %.2f", name, got, want)
		}
	case scan(line, "white %s is x %f y %f", &name, &x, &y):
		if got := s.xyOf(s.id(name)); math.Abs(got.X-x) > 0.00006 || math.Abs(got.Y-y) > 0.00006 {
			s.fail("the white %s is x %.5f y %.5f, want x %.4f y %.4f", name, got.X, got.Y, x, y)
		}
	case scan(line, "now light %s is %f mired", &name, &want):
		l := a.nowLight(name)
		if l.Color == nil || math.Abs(miredOf(l.Color.X, l.Color.Y)-want) > 0.15 {
			s.fail("%s is %s now, want %g mired", name, textOf(l), want)
		}
	case words[0] == "take" && words[2] == "says":
		if text := textOf(a.row(int(s.number(words[1])))); !strings.Contains(text, strings.Join(words[3:], " ")) {
			s.fail("the row does not say %q: %s", strings.Join(words[3:], " "), text)
		}
	case words[0] == "now" && words[1] == "says":
		if text := textOf(a.nowOf()); !strings.Contains(text, strings.Join(words[2:], " ")) {
			s.fail("now does not say %q: %s", strings.Join(words[2:], " "), text)
		}
	default:
		s.t.Fatalf("%s: a question that nobody understands: %s", s.where, line)
	}
}

// scan reads a question whole; what is left over is another question.
func scan(line, format string, args ...any) bool {
	n, err := fmt.Sscanf(line, format, args...)
	return err == nil && n == len(args) && len(strings.Fields(line)) == len(strings.Fields(format))
}

func (s *story) finding(a *asked, take int, kind string, mired float64) {
	s.t.Helper()
	for _, d := range a.deviations() {
		if d.Kind == kind && slices.Contains(d.Takes, s.takes[take]) {
			if d.Value == nil || d.Value.Mired == nil || *d.Value.Mired != mired {
				s.fail("%s says %s, want %g mired", kind, d.Words, mired)
			}
			return
		}
	}
	s.fail("no %s lists take %d", kind, take)
}
