package api

import (
	"net/http"
	"slices"
	"strings"
	"testing"

	"evenwhite/api/pairing"
	"evenwhite/logbook"
)

// push brings edits and returns what became of each.
func (g *stage) push(c *client, edits ...string) *reply {
	g.Helper()
	return c.ask("POST", g.base+"/exchange", `{"edits":[`+strings.Join(edits, ",")+`]}`).want(200)
}

func (g *stage) quarantine() *reply { return g.ask("GET", g.base+"/quarantine", "").want(200) }

func outcomes(r *reply) string {
	var all []string
	for item := range r.at("answers").Items() {
		text, _ := item.Member("outcome").Text()
		all = append(all, text)
	}
	return strings.Join(all, " ")
}

func (g *stage) correct(dot, patch string) *reply {
	g.Helper()
	return g.ask("POST", g.base+"/quarantine/"+dot+"/correct", patch, "Content-Type", mergePatch)
}

func TestARefusedEditHoldsUpNoneBehindIt(t *testing.T) {
	g := setStage(t)
	phone := g.admit(pairing.Editor, "phone of the 2nd AC", g.production)
	seen := `{"kelvin":["` + g.dotOf("clip", "clip") + `"]}`
	bad := g.edit(lineOfOne, 1, "clip", "$clip", `{"kelvin":-3}`, seen)
	good := g.edit(lineOfOne, 2, "clip", "$clip", `{"tint":5}`)
	if got := outcomes(g.push(phone, bad, good)); got != "refused taken" {
		t.Fatalf("in one push: got %s", got)
	}
	later := g.edit(lineOfOne, 3, "note", drawID().String(), `{"about":"$take","text":"a bird","to":{"as":"set"}}`)
	if got := outcomes(g.push(phone, later)); got != "taken" {
		t.Fatalf("in the push behind it: got %s", got)
	}
	if got := outcomes(g.push(phone, bad)); got != "refused" {
		t.Fatalf("sent again: got %s", got)
	}
	q := g.quarantine()
	if q.count("refused") != 1 || q.at("refused", 0, "dot") != `"`+lineOfOne+`.1"` || q.at("refused", 0, "edit", "by") != `"2nd AC"` ||
		q.at("refused", 0, "edit", "set", "kelvin") != "-3" || q.at("refused", 0, "edit", "record") != logbook.TextValue(g.ids["clip"]) ||
		q.at("refused", 0, "corrected") != "" {
		t.Errorf("got %s", q.body)
	}
	if clip := g.ask("GET", g.record("clip", "clip"), ""); clip.at("kelvin") != "5600" {
		t.Errorf("a refused value applies: %s", clip.body)
	}
}

func TestARefusedEditIsCorrectedOverREST(t *testing.T) {
	g := setStage(t)
	phone := g.admit(pairing.Editor, "phone of the 2nd AC", g.production)
	seen := `{"kelvin":["` + g.dotOf("clip", "clip") + `"],"tint":["` + g.dotOf("clip", "clip") + `"]}`
	g.push(phone, g.edit(lineOfOne, 1, "clip", "$clip", `{"kelvin":-3,"tint":5}`, seen))
	dot := lineOfOne + ".1"
	for _, c := range []struct {
		name, dot, patch string
		status           int
		says             string
	}{
		{"a value that is not allowed either", dot, `{"kelvin":-4}`, 400, "kelvin"},
		{"a value that is left as it was", dot, `{"tint":6}`, 400, "kelvin"},
		{"a field that the refused edit did not set", dot, `{"kelvin":4300,"lens":"50"}`, 400, "a field that the refused edit set and nobody corrected: kelvin, tint"},
		{"a field that no clip has", dot, `{"kelvins":4300}`, 400, "kelvins"},
		{"nothing at all", dot, `{"kelvin":null,"tint":null}`, 400, "discard"},
		{"no object", dot, `[4300]`, 400, ""},
		{"what is no dot", "first", `{"kelvin":4300}`, 400, "dot"},
		{"a valid edit", lineOfOther + ".1", `{"kelvin":4300}`, 404, "no refused edit"},
	} {
		before := g.head()
		if r := g.correct(c.dot, c.patch); r.status != c.status || !strings.Contains(string(r.body), c.says) || g.head() != before {
			t.Errorf("%s: got %d %s, want %d and %q, and nothing stored", c.name, r.status, r.body, c.status, c.says)
		}
	}
	r := g.correct(dot, `{"kelvin":4300.0}`).want(200)
	if r.at("kelvin") != "4300.0" || r.at("tint") != "5" || r.tag() == "" || r.at("conflicts") != "" {
		t.Errorf("got %s, want both values of the refused edit, put right", r.body)
	}
	q := g.quarantine()
	named := slices.Collect(q.at("refused", 0, "corrected", "over", "kelvin").Items()) // sorted by dot: the line of the service is drawn
	if q.count("refused") != 1 || q.at("refused", 0, "corrected", "by") != `"desk"` || !slices.Contains(named, logbook.TextValue(dot)) {
		t.Errorf("got %s, want the edit, corrected by an edit that names it", q.body)
	}
	if p := g.correct(dot, `{"kelvin":4400}`).want(409).problem(); p.Type != problemPrefix+"settled" {
		t.Errorf("corrected again: got %+v", p)
	}
}

// What others wrote since the author of the refused edit looked is not replaced.
func TestACorrectionSeesNoMoreThanTheRefusedEditDid(t *testing.T) {
	g := setStage(t)
	phone := g.admit(pairing.Editor, "phone of the 2nd AC", g.production)
	seen := `{"kelvin":["` + g.dotOf("clip", "clip") + `"]}`
	g.push(phone, g.edit(lineOfOne, 1, "clip", "$clip", `{"kelvin":-3}`, seen))
	tag := g.ask("GET", g.record("clip", "clip"), "").tag()
	g.ask("PATCH", g.record("clip", "clip"), `{"kelvin":3200}`, "If-Match", tag).want(200)
	if q := g.quarantine(); q.at("refused", 0, "corrected") != "" {
		t.Errorf("a change that does not name it corrects it: %s", q.body)
	}
	g.correct(lineOfOne+".1", `{"kelvin":4300}`).want(200)
	conflicts := g.ask("GET", g.base+"/conflicts", "").want(200)
	if conflicts.count("conflicts") != 1 || conflicts.at("conflicts", 0, "field") != `"kelvin"` {
		t.Errorf("got %s, want 3200 against 4300", conflicts.body)
	}
}

func TestARefusedEditOfARecordThatIsNotHereYetIsCorrected(t *testing.T) {
	g := setStage(t)
	phone := g.admit(pairing.Editor, "phone of the 2nd AC", g.production)
	light, reading := drawID().String(), drawID().String()
	g.push(phone,
		g.edit(lineOfOne, 1, "light", light, `{"setUp":"$setUp","name":"moon","role":"moon"}`),
		g.edit(lineOfOne, 2, "reading", reading, `{"measured":{"as":"cctDuv","cctKelvin":3,"duv":0.001},"takenAt":"2031-03-04T06:20:00Z"}`))
	if r := g.correct(lineOfOne+".1", `{"role":"back"}`).want(200); r.at("name") != `"moon"` || r.at("role") != `"back"` {
		t.Errorf("got %s", r.body)
	}
	r := g.correct(lineOfOne+".2", `{"measured":{"cctKelvin":3000}}`).want(200)
	if r.at("measured") != `{"as":"cctDuv","cctKelvin":3000,"duv":0.001}` {
		t.Errorf("got %s, want the group merged", r.body)
	}
	q := g.quarantine()
	if q.at("refused", 0, "corrected") == "" || q.at("refused", 1, "corrected") != "" ||
		!strings.Contains(string(q.at("refused", 1, "discarded")), "is corrected: measured/cctKelvin is 3;") {
		t.Errorf("got %s, want the first named by its correction, and a note for facts, which name nothing", q.body)
	}
	g.correct(lineOfOne+".2", `{"measured":{"cctKelvin":3100}}`).want(409)
}

func TestOnlyAnOwnerCorrectsWhatIsSaidOfTheProduction(t *testing.T) {
	g := setStage(t)
	phone := g.admit(pairing.Editor, "phone of the 2nd AC", g.production)
	g.push(g.client, g.edit(lineOfOne, 1, "production", "$production", `{"remeasureAfterMinutes":1}`))
	before := g.head()
	path := g.base + "/quarantine/" + lineOfOne + ".1/correct"
	phone.ask("POST", path, `{"remeasureAfterMinutes":60}`, "Content-Type", mergePatch).want(403)
	if g.head() != before {
		t.Error("the log changed")
	}
	if r := g.correct(lineOfOne+".1", `{"remeasureAfterMinutes":60}`).want(200); r.at("remeasureAfterMinutes") != "60" {
		t.Errorf("got %s", r.body)
	}
}

func TestARefusedEditIsDiscardedOverREST(t *testing.T) {
	g := setStage(t)
	phone := g.admit(pairing.Editor, "phone of the 2nd AC", g.production)
	g.push(phone, g.edit(lineOfOne, 1, "clip", "$clip", `{"kelvin":-3}`))
	path := g.base + "/quarantine/" + lineOfOne + ".1/discard"
	note := phone.ask("POST", path, "").want(200)
	if note.at("about") != logbook.TextValue(g.ids["clip"]) || note.at("discards") != `"`+lineOfOne+`.1"` || note.at("madeBy") != `"phone of the 2nd AC"` {
		t.Errorf("got the note %s", note.body)
	}
	before := g.head()
	if again := g.ask("POST", path, "").want(200); again.id() != note.id() || g.head() != before {
		t.Errorf("discarded again: got %s", again.body)
	}
	if q := g.quarantine(); q.count("refused") != 1 || q.at("refused", 0, "discarded", "record") != logbook.TextValue(note.id()) {
		t.Errorf("got %s, want the edit, discarded", q.body)
	}
	g.correct(lineOfOne+".1", `{"kelvin":4300}`).want(409)
	g.ask("DELETE", g.base+"/records/note/"+note.id(), "", "If-Match", note.tag()).want(http.StatusOK)
	if q := g.quarantine(); q.at("refused", 0, "discarded") != "" {
		t.Errorf("the note is struck out: got %s", q.body)
	}
	g.correct(lineOfOne+".1", `{"kelvin":4300}`).want(200)
	g.ask("POST", g.base+"/quarantine/"+lineOfOther+".7/discard", "").want(404)
}

func TestARefusedEditThatIsPulledIsMarked(t *testing.T) {
	g := setStage(t)
	phone := g.admit(pairing.Editor, "phone of the 2nd AC", g.production)
	pushed := g.push(phone, g.edit(lineOfOne, 1, "clip", "$clip", `{"kelvin":-3,"lens":"50"}`), g.edit(lineOfOne, 2, "clip", "$clip", `{"tint":5}`))
	pulled := g.ask("POST", g.base+"/exchange", `{}`).want(200)
	if pulled.count("refused") != 1 || pulled.at("refused", 0, "dot") != `"`+lineOfOne+`.1"` ||
		pulled.at("refused", 0, "reason") != pushed.at("answers", 0, "reason") {
		t.Errorf("got %s, want the one that is refused", pulled.at("refused"))
	}
	rows := g.ask("POST", g.base+"/exchange", `{}`, "Accept", rowsMedia+";knows=aside+mark").want(200)
	if old := g.ask("POST", g.base+"/exchange", `{}`, "Accept", rowsMedia).want(200); strings.Contains(string(old.body), `["mark"`) {
		t.Error("a reader of rows that says nothing of marks is sent some")
	}
	if !strings.Contains(string(rows.body), "\n[\"mark\",\""+lineOfOne+"\",1,"+string(pushed.at("answers", 0, "reason"))+"]\n[\"end\",") {
		t.Errorf("the rows do not mark it: %s", rows.body)
	}
	seen := g.ask("GET", g.record("clip", "clip"), "").want(200)
	g.ask("PATCH", g.record("clip", "clip"), `{"lens":"85"}`, "If-Match", seen.tag()).want(200)
	if q := g.quarantine(); q.at("refused", 0, "corrected") != "" || q.at("refused", 0, "open") != `["kelvin","lens"]` {
		t.Errorf("got %s, want both fields open", q.body)
	}
}
