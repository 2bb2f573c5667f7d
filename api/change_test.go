package api

import (
	"fmt"
	"net/http"
	"strings"
	"testing"

	"evenwhite/api/pairing"
	"evenwhite/logbook"
	"evenwhite/logbook/amend"
	"evenwhite/logbook/kinds"
)

// changes is one patch for a record of every kind, facts included: of them only
// what is not the fact itself.
var changes = []struct{ name, kind, patch, field, want string }{
	{"day", "day", `{"weather":"haze"}`, "weather", `"haze"`},
	{"scene", "scene", `{"storyTime":"dusk"}`, "storyTime", `"dusk"`},
	{"setUp", "setUp", `{"cameras":{"$a":{"plannedKelvin":5600.00}}}`, "cameras/$a/plannedKelvin", `5600.00`},
	{"lamp", "lamp", `{"count":3}`, "count", `3`},
	{"panel", "light", `{"rigged":{"levelPercent":40.50}}`, "rigged/levelPercent", `40.50`},
	{"gel", "gel", `{"shiftMired":80.0}`, "shiftMired", `80.0`},
	{"body", "body", `{"label":"SN 1b"}`, "label", `"SN 1b"`},
	{"a", "camera", `{"card":"002"}`, "card", `"002"`},
	{"meter", "meter", `{"floorXY":0.00300}`, "floorXY", `0.00300`},
	{"reading", "reading", `{"position":"at the face"}`, "position", `"at the face"`},
	{"white", "white", `{"struckOut":{"reason":"the wrong lamp"}}`, "struckOut/reason", `"the wrong lamp"`},
	{"sample", "sample", `{"setUp":"$setUp"}`, "setUp", `"$setUp"`},
	{"take", "take", `{"wanted":true}`, "wanted", `true`},
	{"clip", "clip", `{"kelvin":4300.00}`, "kelvin", `4300.00`},
	{"acceptance", "acceptance", `{"reason":"it is meant"}`, "reason", `"it is meant"`},
	{"note", "note", `{"text":"the sun stayed"}`, "text", `"the sun stayed"`},
}

// fieldOf finds a value by the name of a field.
func fieldOf(r *reply, name string) logbook.Value {
	r.Helper()
	var steps []any
	for _, step := range strings.Split(name, "/") {
		steps = append(steps, step)
	}
	return r.at(steps...)
}

func TestARecordOfEveryKindIsChangedByAPatch(t *testing.T) {
	g := setStage(t)
	changed := map[string]bool{"production": true} // by TestProductions
	for _, c := range changes {
		t.Run(c.kind, func(t *testing.T) {
			path, before := g.record(c.kind, c.name), g.head()
			seen := g.ask("GET", path, "").want(200)
			r := g.ask("PATCH", path, g.fill(c.patch), "If-Match", seen.tag()).want(200)
			if got := fieldOf(r, g.fill(c.field)); string(got) != g.fill(c.want) {
				t.Errorf("got %s %s, want %s", c.field, got, g.fill(c.want))
			}
			if r.tag() == seen.tag() || g.head().Seq != before.Seq+1 {
				t.Errorf("the ETag stayed %s, or the log grew by %d edits instead of one", r.tag(), g.head().Seq-before.Seq)
			}
			if again := g.ask("GET", path, "").want(200); string(again.body) != string(r.body) || again.tag() != r.tag() {
				t.Errorf("read again it is %s, the change answered %s", again.body, r.body)
			}
			changed[c.kind] = true
		})
	}
	for _, spec := range kinds.Specs {
		if !changed[string(spec.Kind)] {
			t.Errorf("no %s was changed", spec.Kind)
		}
	}
}

func TestARecordOfEveryKindIsBroughtByAnExchange(t *testing.T) {
	g := setStage(t)
	phone := g.admit(pairing.Owner, "phone", g.production) // of an editor the production itself would wait
	push := func(t *testing.T, edit string) {
		t.Helper()
		if r := phone.ask("POST", g.base+"/exchange", `{"edits":[`+edit+`]}`).want(200); r.at("answers", 0, "outcome") != `"taken"` {
			t.Fatalf("got %s", r.at("answers"))
		}
	}
	for i, p := range play {
		t.Run(p.name, func(t *testing.T) {
			body, err := logbook.ParseValue(g.fill(p.body))
			if err != nil {
				t.Fatal(err)
			}
			fields, err := amend.Changes(logbook.Kind(p.kind), body)
			if err != nil {
				t.Fatal(err)
			}
			var set []string
			for _, f := range fields {
				set = append(set, fmt.Sprintf("%q:%s", f.Field, f.Value))
			}
			id := drawID().String()
			push(t, g.edit(lineOfOne, i+1, p.kind, id, "{"+strings.Join(set, ",")+"}"))
			got := g.ask("GET", g.base+"/records/"+p.kind+"/"+id, "").want(200)
			for name, value := range body.Members() {
				if got.at(name) != value {
					t.Errorf("%s is %s, want %s", name, got.at(name), value)
				}
			}
			if by, _ := got.at("madeBy").Text(); by != "2nd AC" {
				t.Errorf("it is made by %s, want by the author of the edit", by)
			}
		})
	}
	t.Run("production", func(t *testing.T) {
		push(t, g.edit(lineOfOther, 1, "production", g.production.String(), `{"remeasureAfterMinutes":45}`))
		if got := g.ask("GET", g.base, "").want(200).at("remeasureAfterMinutes"); got != "45" {
			t.Errorf("got %s, want 45", got)
		}
	})
}

// atOnce sends one request as often as there are bodies, all at the same time,
// and counts the statuses.
func (g *stage) atOnce(t *testing.T, method, path, media string, bodies []string, header ...string) map[int]int {
	t.Helper()
	type result struct {
		status int
		err    error
	}
	results, start := make(chan result), make(chan struct{})
	for _, body := range bodies {
		request, err := http.NewRequest(method, g.url+path, strings.NewReader(body))
		if err != nil {
			t.Fatal(err)
		}
		g.show(request)
		request.Header.Set("Content-Type", media)
		request.Header.Set(header[0], header[1])
		go func() {
			<-start
			response, err := g.http.Do(request)
			if err != nil {
				results <- result{err: err}
				return
			}
			results <- result{response.StatusCode, response.Body.Close()}
		}()
	}
	close(start)
	statuses := map[int]int{}
	for range bodies {
		r := <-results
		if r.err != nil {
			t.Error(r.err)
		}
		statuses[r.status]++
	}
	return statuses
}

func TestRequestsAtOnce(t *testing.T) {
	const many = 8
	g := setStage(t)
	t.Run("of the changes of one state exactly one passes", func(t *testing.T) {
		var patches []string
		for i := range many {
			patches = append(patches, fmt.Sprintf(`{"kelvin":%d}`, 4000+i))
		}
		path, before := g.record("clip", "clip"), g.head()
		seen := g.ask("GET", path, "").want(200).tag()
		got := g.atOnce(t, "PATCH", path, mergePatch, patches, "If-Match", seen)
		if got[200] != 1 || got[412] != many-1 || g.head().Seq != before.Seq+1 {
			t.Errorf("got the statuses %v and %d edits, want one 200, %d times 412, one edit", got, g.head().Seq-before.Seq, many-1)
		}
		if clip := g.ask("GET", path, "").want(200); clip.count("conflicts") != 0 {
			t.Errorf("they made a conflict: %s", clip.body)
		}
	})
	t.Run("with one Idempotency-Key one record is made", func(t *testing.T) {
		same, before := make([]string, many), g.head()
		for i := range same {
			same[i] = `{"name":"spot","family":"incandescent"}`
		}
		got := g.atOnce(t, "POST", g.base+"/records/lamp", "application/json", same, "Idempotency-Key", "lamps")
		if got[201] != many || g.head().Seq != before.Seq+1 {
			t.Errorf("got the statuses %v and %d edits, want %d times 201 and one edit", got, g.head().Seq-before.Seq, many)
		}
	})
}

func TestAChangeNotesTheDeviceThatAskedForIt(t *testing.T) {
	g := setStage(t)
	one, other := g.admit(pairing.Editor, "2nd AC", g.production), g.admit(pairing.Editor, "2nd AC", g.production)
	for _, phone := range []*client{one, other} {
		after := g.head().Seq
		phone.ask("POST", g.base+"/records/note", g.fill(`{"about":"$take","text":"who was it"}`)).want(201)
		stored, err := g.store.Read(g.production, after, 1<<20)
		if err != nil || len(stored) != 1 {
			t.Fatalf("got %d edits (%v), want one", len(stored), err)
		}
		if stored[0].Via != phone.device {
			t.Errorf("got %s as the one who brought it, want %s", stored[0].Via, phone.device)
		}
	}
}
