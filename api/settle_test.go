package api

import (
	"slices"
	"strconv"
	"strings"
	"testing"

	"evenwhite/api/pairing"
	"evenwhite/logbook"
)

const (
	lineOfOne   = "00c0ffee00c0ff01"
	lineOfOther = "00c0ffee00c0ff02"
)

// dotOf is the dot of the last edit of a record, as an edit names it in over.
func (g *stage) dotOf(kind, name string) string {
	g.Helper()
	history := g.ask("GET", g.record(kind, name)+"/history", "").want(200)
	last := history.at("edits", history.count("edits")-1)
	line, _ := last.Member("line").Text()
	return line + "." + string(last.Member("n"))
}

func TestTwoDevicesThatWorkedApart(t *testing.T) {
	g := setStage(t)
	one, other := g.admit(pairing.Editor, "phone of the 2nd AC", g.production), g.admit(pairing.Editor, "phone of the gaffer", g.production)
	seen := `{"kelvin":["` + g.dotOf("clip", "clip") + `"]}`
	push := func(c *client, edit string) *reply {
		return c.ask("POST", g.base+"/exchange", `{"edits":[`+edit+`]}`).want(200)
	}
	first := g.edit(lineOfOne, 1, "clip", "$clip", `{"kelvin":4300.0}`, seen)
	if r := push(one, first); r.at("answers", 0, "outcome") != `"taken"` {
		t.Fatalf("got %s", r.body)
	}
	push(other, g.edit(lineOfOther, 1, "clip", "$clip", `{"kelvin":4400}`, seen))

	t.Run("a repeat is answered as one", func(t *testing.T) {
		before := g.head()
		if r := push(one, first); r.at("answers", 0, "outcome") != `"repeat"` || g.head() != before {
			t.Errorf("got %s", r.at("answers"))
		}
	})
	t.Run("both values come back as a conflict and neither is lost", func(t *testing.T) {
		r := g.ask("GET", g.base+"/conflicts", "").want(200)
		if r.count("conflicts") != 1 || r.at("conflicts", 0, "field") != `"kelvin"` || r.at("counts", 0, "count") != "1" {
			t.Fatalf("got %s", r.body)
		}
		values := string(r.at("conflicts", 0, "values", 0, "value")) + " " + string(r.at("conflicts", 0, "values", 1, "value"))
		if values != "4300.0 4400" && values != "4400 4300.0" {
			t.Errorf("got the values %s", values)
		}
		if clip := g.ask("GET", g.record("clip", "clip"), "").want(200); clip.count("conflicts") != 1 {
			t.Errorf("the record shows no conflict: %s", clip.body)
		}
	})
	t.Run("a patch settles it, also with the value that is shown", func(t *testing.T) {
		clip := g.ask("GET", g.record("clip", "clip"), "").want(200)
		settled := g.ask("PATCH", g.record("clip", "clip"), `{"kelvin":`+string(clip.at("kelvin"))+`}`, "If-Match", clip.tag()).want(200)
		if settled.at("kelvin") != clip.at("kelvin") || settled.count("conflicts") != 0 ||
			g.ask("GET", g.base+"/conflicts", "").count("conflicts") != 0 {
			t.Errorf("got %s", settled.body)
		}
	})
	t.Run("the other phone gets it, and its cursor moves on", func(t *testing.T) {
		all := other.ask("POST", g.base+"/exchange", `{"limitBytes":1048576}`).want(200)
		cursor, _ := all.at("cursor").Text()
		run, _ := all.at("run").Text()
		if all.at("more") != "false" || all.count("edits") < len(play)+3 || all.at("list") == "" {
			t.Fatalf("got %d edits, more %s", all.count("edits"), all.at("more"))
		}
		push(one, g.edit(lineOfOne, 2, "note", drawID().String(), `{"about":"$take","text":"a bird"}`))
		next := other.ask("POST", g.base+"/exchange", `{"run":"`+run+`","cursor":"`+cursor+`"}`).want(200)
		if next.count("edits") != 1 || next.at("edits", 0, "set", "text") != `"a bird"` || next.at("list") != "" {
			t.Errorf("got %s", next.body)
		}
		if body := string(next.body); !strings.HasSuffix(body, `"cursor":`+string(next.at("cursor"))+"}") {
			t.Errorf("the cursor does not stand last: %s", body)
		}
	})
	t.Run("an edit that is not valid is kept aside with its reason", func(t *testing.T) {
		r := push(one, g.edit(lineOfOne, 3, "clip", "$clip", `{"kelvin":-3}`))
		if r.at("answers", 0, "outcome") != `"refused"` {
			t.Fatalf("got %s", r.at("answers"))
		}
		clash := push(one, g.edit(lineOfOne, 1, "clip", "$clip", `{"kelvin":5000}`))
		if clash.at("answers", 0, "outcome") != `"clash"` {
			t.Fatalf("got %s", clash.at("answers"))
		}
		q := g.ask("GET", g.base+"/quarantine", "").want(200)
		reason, _ := q.at("refused", 0, "reason").Text()
		if q.count("refused") != 1 || !strings.Contains(reason, "kelvin is -3") || q.count("clashes") != 1 ||
			q.at("clashes", 0, "edit", "set", "kelvin") != "5000" || q.at("clashes", 0, "held", "set", "kelvin") != "4300.0" {
			t.Errorf("got %s", q.body)
		}
	})
	t.Run("a device that was set back gets all from the beginning", func(t *testing.T) {
		r := other.ask("POST", g.base+"/exchange", `{"cursor":"AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA","have":{"`+lineOfOne+`":[[1,2]]}}`).want(200)
		if r.at("reset") != "true" || r.at("list", lineOfOne, 0) == "" {
			t.Errorf("got %s", r.body)
		}
	})
}

func TestTwinsAreGroupsWhichOneCallAnswers(t *testing.T) {
	g := setStage(t)
	var edits, takes []string
	for number := 11; number <= 14; number++ {
		for range 3 {
			takes = append(takes, drawID().String())
			edits = append(edits, g.edit(lineOfOne, len(takes), "take", takes[len(takes)-1], `{"setUp":"$setUp","number":`+strconv.Itoa(number)+`}`))
		}
	}
	g.ask("POST", g.base+"/exchange", `{"edits":[`+strings.Join(edits, ",")+`]}`).want(200)
	seen, pages := map[logbook.Value]bool{}, 0
	for path := "/twins?limit=3"; path != ""; pages++ {
		page := g.ask("GET", g.base+path, "").want(200)
		for group := range page.at("twins").Items() {
			for record := range group.Member("records").Items() {
				if id := record.Member("id"); seen[id] {
					t.Errorf("%s comes twice", id)
				} else {
					seen[id] = true
				}
			}
		}
		next, more := page.at("next").Text()
		if path = ""; more {
			path = "/twins?limit=3&cursor=" + next
		}
		if link := page.header.Get("Link"); (link != "") != more {
			t.Errorf("Link is %q, next is %q", link, next)
		}
	}
	if len(seen) != len(takes) || pages != 2 {
		t.Fatalf("got %d records on %d pages, want %d on 2", len(seen), pages, len(takes))
	}
	g.ask("GET", g.base+"/twins?cursor=nonsense", "").want(400)
	said := func(answer, more string, ids ...string) *reply {
		return g.ask("POST", g.base+"/twins", `{"answer":"`+answer+`","records":["`+strings.Join(ids, `","`)+`"]`+more+`}`)
	}
	said("one", "", takes[0]).want(400)
	said("one", "", takes[0], drawID().String()).want(404)
	said("one", "", takes[0], g.ids["clip"]).want(400)
	if r := said("two", "", takes[0:3]...).want(200); r.count("records") != 2 {
		t.Errorf("got %s, want the two takes that hold the answers", r.body)
	}
	if n := g.ask("GET", g.base+"/twins", "").want(200).count("twins"); n != 3 {
		t.Errorf("%d groups are left, want 3", n)
	}
	if r := said("one", `,"wholeRun":true`, takes[3:6]...).want(200); r.count("records") != 3 {
		t.Errorf("got %s, want three takes", r.body)
	}
	if n := g.ask("GET", g.base+"/twins", "").want(200).count("twins"); n != 0 {
		t.Errorf("%d groups are left, want none", n)
	}
}

func TestConflictsComeInPages(t *testing.T) {
	g := setStage(t)
	var edits []string
	for i := range 5 {
		id := drawID().String()
		for _, line := range []string{lineOfOne, lineOfOther} {
			edits = append(edits, g.edit(line, i+1, "meter", id, `{"name":"`+line+strconv.Itoa(i)+`","serial":"`+line+`","meterKind":"other"}`))
		}
	}
	g.ask("POST", g.base+"/exchange", `{"edits":[`+strings.Join(edits, ",")+`]}`).want(200)
	var pages []int
	for path := "/conflicts?limit=5"; path != ""; {
		page := g.ask("GET", g.base+path, "").want(200)
		if first := len(pages) == 0; first && page.at("counts", 0, "count") != "10" || !first && page.count("counts") != 0 {
			t.Errorf("page %d: got counts %s, want ten on the first alone", len(pages), page.at("counts"))
		}
		pages = append(pages, page.count("conflicts"))
		next, more := page.at("next").Text()
		if path = ""; more {
			path = "/conflicts?limit=5&cursor=" + next
		}
	}
	if !slices.Equal(pages, []int{4, 4, 2}) {
		t.Errorf("got pages of %v conflicts, want those of a record on one", pages)
	}
	g.ask("GET", g.base+"/conflicts?cursor=nonsense", "").want(400)
}

func TestTwins(t *testing.T) {
	g := setStage(t)
	set := `{"setUp":"$setUp","number":2}`
	make := func(line string) string {
		id := drawID().String()
		r := g.ask("POST", g.base+"/exchange", `{"edits":[`+g.edit(line, 1, "take", id, set)+`]}`).want(200)
		if r.at("answers", 0, "outcome") != `"taken"` {
			t.Fatalf("got %s", r.body)
		}
		return id
	}
	one, other := make(lineOfOne), make(lineOfOther)
	asked := g.ask("GET", g.base+"/twins", "").want(200)
	if asked.count("twins") != 1 || asked.at("twins", 0, "kind") != `"take"` {
		t.Fatalf("the same take logged twice is not asked about: %s", asked.body)
	}
	before := g.head()
	g.ask("PUT", g.base+"/twins/"+one+"/"+g.ids["clip"], `{"answer":"one"}`).want(400)
	g.ask("PUT", g.base+"/twins/"+one+"/"+one, `{"answer":"one"}`).want(400)
	g.ask("PUT", g.base+"/twins/"+one+"/"+drawID().String(), `{"answer":"one"}`).want(404)
	if g.head() != before {
		t.Error("a wrong answer was stored")
	}
	g.ask("PUT", g.base+"/twins/"+other+"/"+one, `{"answer":"one"}`).want(200)
	if n := g.ask("GET", g.base+"/twins", "").want(200).count("twins"); n != 0 {
		t.Errorf("after the answer %d pairs are asked about, want none", n)
	}
	a, b := g.ask("GET", g.base+"/records/take/"+one, "").want(200), g.ask("GET", g.base+"/records/take/"+other, "").want(200)
	if a.id() != b.id() || a.count("twins") != 1 || g.ask("GET", g.base+"/records/take", "").count("records") != 2 {
		t.Errorf("they do not read as one: %s and %s", a.body, b.body)
	}
	g.ask("PUT", g.base+"/twins/"+one+"/"+other, `{"answer":"two"}`).want(200)
	if n := g.ask("GET", g.base+"/records/take", "").count("records"); n != 3 {
		t.Errorf("after \"two\" there are %d takes, want 3", n)
	}
}

func TestAnEditWithAWildOffsetHidesNoConflicts(t *testing.T) {
	g := setStage(t)
	for line, offset := range map[string]string{lineOfOne: "253402300799999", lineOfOther: "-253402300799999"} {
		edit := strings.Replace(g.edit(line, 1, "clip", "$clip", `{"lens":"`+line+`"}`), `"offsetMs":0`, `"offsetMs":`+offset, 1)
		g.ask("POST", g.base+"/exchange", `{"edits":[`+edit+`]}`).want(200)
	}
	if r := g.ask("GET", g.base+"/conflicts", "").want(200); r.count("conflicts") != 1 {
		t.Errorf("got %s", r.body)
	}
	g.ask("GET", g.record("clip", "clip"), "").want(200)
	g.ask("GET", g.base+"/color-log.json", "").want(200)
	g.ask("GET", g.base+"/color-log.csv", "").want(200)
}
