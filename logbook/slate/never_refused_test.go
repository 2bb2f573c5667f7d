package slate_test

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/amendtest"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/logtest"
	"evenwhite/logbook/slate"
)

// gap is a set-up of which a book knows only part, as a phone does before the others' edits came.
type gap struct {
	*amendtest.Desk
	rng     *rand.Rand
	setUp   logbook.View
	cameras []logbook.View
}

func (g *gap) one(of ...string) string { return of[g.rng.IntN(len(of))] }

func (g *gap) push(kind logbook.Kind, fields ...string) logbook.View {
	id := g.NewID()
	d := logbook.Draft{Kind: kind, Record: id}
	for i := 0; i < len(fields); i += 2 {
		if fields[i+1] == "" {
			continue
		}
		v, err := logbook.ParseValue(fields[i+1])
		if err != nil {
			g.T.Fatal(err)
		}
		d.Set = append(d.Set, logbook.Change{Field: fields[i], Value: v})
	}
	if len(d.Set) == 0 {
		d.Set = []logbook.Change{{Field: "note", Value: `"of a newer version"`}}
	}
	g.Apply(d)
	return g.View(id)
}

func ref(v logbook.View) string { return string(logbook.IDValue(v.ID)) }

// newGap draws a set-up. Each thing that a complete one has may be missing.
func newGap(t *testing.T, rng *rand.Rand) *gap {
	g := &gap{Desk: amendtest.New(t), rng: rng}
	nowhere := logtest.SomeID
	bodies := []string{"", nowhere}
	for i := range 1 + rng.IntN(3) {
		bodies = append(bodies, ref(g.push(kinds.Body, "label", fmt.Sprintf(`"b%d"`, i),
			"clipNameRule", g.one("", ruleOfA, `[{"as":"tail"}]`, `[{"as":"clip","digits":2,"reset":"daily"}]`))))
	}
	day := g.push(kinds.Day, "date", g.one("", `"2026-03-04"`))
	fields := []string{"name", g.one("", `"A"`), "day", g.one("", nowhere, ref(day))}
	for i := range rng.IntN(4) {
		body := g.one(bodies...)
		if body != "" {
			body = `{"body":` + body + `}`
		}
		camera := g.push(kinds.Camera, "letter", fmt.Sprintf("%q", string(rune('A'+i))), "body", body, "card", g.one("", `""`, `"A001"`, `"red"`))
		g.cameras = append(g.cameras, camera)
		in := "cameras/" + camera.ID.String() + "/"
		fields = append(fields, in+"inUse", g.one("", "true", "true", "false"), in+"plannedKelvin", g.one("", "", "5600"),
			in+"lens", g.one("", `"35"`))
	}
	g.setUp = g.push(kinds.SetUp, fields...)
	for range rng.IntN(4) {
		take := g.push(kinds.Take, "setUp", ref(g.setUp), "number", g.one("", "1", "7", "998", "999"), "state", g.one("", `"numberUsedAgain"`))
		for _, camera := range g.cameras {
			g.Now += logbook.Millis(rng.IntN(100_000))
			g.push(kinds.Clip, "setUp", g.one("", ref(g.setUp), ref(g.setUp)), "camera", g.one("", ref(camera), ref(camera)),
				"body", g.one(bodies...), "takes/"+take.ID.String(), g.one("", "{}"), "whiteMode", g.one("", `"kelvin"`, `"auto"`), "kelvin", g.one("", "4300"),
				"card", g.one("", `"A001"`), "name", g.one("", `{"text":"A001C003","from":"readOff"}`), "rolled", g.one("", "", "false"))
		}
	}
	return g
}

// press sends an event and reports its error; the drafts must be valid edits.
func (g *gap) press(object string) error {
	g.T.Helper()
	g.Now += 1000
	v, err := logbook.ParseValue(object)
	if err != nil {
		g.T.Fatal(err)
	}
	ev, err := slate.ReadEvent(g.setUp.ID, v)
	if err != nil {
		return err
	}
	drafts, err := slate.Drafts(g.Book, ev, g.NewID, g.Now)
	if err == nil {
		g.Apply(drafts...)
	}
	return err
}

// A take is never refused for what nobody knows: not before the others' edits came, not
// after a swap, not with numbers that are used up.
func TestATakeIsNeverRefused(t *testing.T) {
	const sets = 400
	seed := rand.Uint64()
	t.Logf("seed %d", seed)
	seen := map[string]int{}
	for n := range sets {
		g := newGap(t, rand.New(rand.NewPCG(seed, uint64(n))))
		for range 3 {
			before := len(g.Book.Referring(kinds.Take, "setUp", g.setUp.ID))
			if err := g.press(`{"event":"nextTake"}`); err != nil {
				t.Fatalf("set-up %d: the take is refused: %v", n, err)
			}
			takes := g.Book.Referring(kinds.Take, "setUp", g.setUp.ID)
			if len(takes) != before+1 {
				t.Fatalf("set-up %d: %d takes after %d", n, len(takes), before)
			}
			take := takes[slices.IndexFunc(takes, func(v logbook.View) bool { return v.CreatedAt() == g.Now })]
			if number, ok := take.Number("number"); !ok || number < 1 || number > 999 {
				t.Fatalf("set-up %d: the take has the number %v", n, number)
			}
			inUse := 0
			for _, clip := range g.Book.Referring(kinds.Clip, "takes", take.ID) {
				inUse++
				switch {
				case clip.Value("body") == "":
					seen["no body"]++
				case clip.Value("whiteMode") == "":
					seen["not read off"]++
				case clip.Text("settingsAre") == "carriedOver":
					seen["carried over"]++
				}
				if clip.Value("whiteMode") == "" && clip.Value("settingsAre") != "" {
					t.Fatalf("set-up %d: settings that nobody knows are %s", n, clip.Value("settingsAre"))
				}
			}
			for _, camera := range g.cameras {
				if g.setUp.Flag("cameras/"+camera.ID.String()+"/inUse", false) {
					inUse--
				}
			}
			if inUse < 0 {
				t.Fatalf("set-up %d: %d cameras in use have no clip", n, -inUse)
			}
			// Another body, or another event, comes in between.
			if len(g.cameras) > 0 {
				camera := ref(g.cameras[g.rng.IntN(len(g.cameras))])
				if err := g.press(g.one(`{"event":"falseStart"}`, `{"event":"falseTake"}`, `{"event":"series"}`, `{"event":"pickUp","sameNumber":true}`,
					`{"event":"chart"}`, `{"event":"noSlate","place":"a market"}`, `{"event":"insertTake"}`,
					`{"event":"reroll","camera":`+camera+`}`, `{"event":"newCard","camera":`+camera+`}`,
					`{"event":"newBattery","camera":`+camera+`}`, `{"event":"notRolling","camera":`+camera+`}`,
					`{"event":"whiteChanged","camera":`+camera+`,"cameras":{`+camera+`:{"kelvin":3200}}}`)); err != nil {
					t.Fatalf("set-up %d: %v", n, err)
				}
			}
		}
	}
	for _, what := range []string{"no body", "not read off", "carried over"} {
		if seen[what] == 0 {
			t.Errorf("no clip of %d set-ups came out as %q: %v", sets, what, seen)
		}
	}
}

// In a set-up of which nothing is here, every event is logged with what it says itself.
func TestEventsCountOnFromNothing(t *testing.T) {
	for _, c := range []struct{ event, want string }{
		{`{"event":"series","timecode":"10:20:30:00"}`, "1: A001C001 B001C001"},
		{`{"event":"pickUp","sameNumber":true}`, "1PU: A001C001 B001C001"},
		{`{"event":"falseTake"}`, "1 falseStart: A001C001 B001C001"},
		{`{"event":"reroll","camera":"A"}`, "no take: A001C001"},
		{`{"event":"joinsLate","camera":"A"}`, "no take: A001C001"},
		{`{"event":"notRolling","camera":"A"}`, "no take: "},
		{`{"event":"whiteChanged","camera":"A","cameras":{"A":{"kelvin":3200}}}`, "no take: A001C001"},
	} {
		s := newFloor(t)
		s.press(c.event)
		if got := s.summary(); got != c.want {
			t.Errorf("%s: got\n%s\nwant\n%s", c.event, got, c.want)
		}
		for _, clip := range s.Book.Records(kinds.Clip) {
			for _, key := range clip.Keys("takes") {
				if got := clip.Value("takes/" + key); strings.Contains(c.event, "timecode") && got != `{"beginsAt":"10:20:30:00"}` {
					t.Errorf("%s: the take begins at %s", c.event, got)
				}
			}
			for _, key := range clip.Keys("changes") {
				if got := clip.Value("changes/" + key); clip.Value("kelvin") != "4300" || got != `{"kelvin":3200,"whiteMode":"kelvin"}` {
					t.Errorf("%s: got %s, then %s", c.event, clip.Value("kelvin"), got)
				}
			}
		}
	}
}

func TestANewCardWhoseNameNobodySaid(t *testing.T) {
	s := newFloor(t)
	s.press(`{"event":"nextTake","cameras":{"A":{"card":"red"}}}`)
	s.press(`{"event":"newCard","camera":"A"}`)
	s.press(`{"event":"nextTake"}`)
	if got := s.clipOf("2", 0).Value("card"); got != "" {
		t.Errorf("got card %s: it is another one, and nobody said which", got)
	}
	s.press(`{"event":"nextTake","cameras":{"A":{"card":"blue"}}}`)
	s.press(`{"event":"nextTake"}`)
	if got := s.clipOf("4", 0).Text("card"); got != "blue" {
		t.Errorf("got card %q, want blue", got)
	}
}

func TestTheNumberAfterTheLast(t *testing.T) {
	s := newFloor(t)
	s.press(`{"event":"nextTake","number":999}`)
	s.press(`{"event":"nextTake","number":1}`)
	s.press(`{"event":"nextTake"}`)
	s.takeNumbered("2")
}
