package api

import (
	"strings"
	"testing"
	"time"

	"evenwhite/api/pairing"
	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
)

func TestRecords(t *testing.T) {
	g := setStage(t)
	t.Run("one of every kind is made and comes back as it was typed", func(t *testing.T) {
		for _, spec := range kinds.Specs {
			if spec.Kind != kinds.Production && len(g.cast[string(spec.Kind)]) == 0 {
				t.Errorf("the play has no %s", spec.Kind)
			}
		}
		for _, p := range play {
			sent, err := logbook.ParseValue(g.fill(p.body))
			if err != nil {
				t.Fatal(err)
			}
			got := g.ask("GET", g.record(p.kind, p.name), "").want(200)
			for name, value := range sent.Members() {
				if got.at(name) != value {
					t.Errorf("%s: %s is %s, want %s", p.name, name, got.at(name), value)
				}
			}
		}
	})
	t.Run("a state that is known is not sent again", func(t *testing.T) {
		first := g.ask("GET", g.record("clip", "clip"), "").want(200)
		again := g.ask("GET", g.record("clip", "clip"), "", "If-None-Match", first.tag()).want(304)
		if len(again.body) != 0 || again.tag() != first.tag() {
			t.Errorf("got %d bytes and ETag %s, want none and %s", len(again.body), again.tag(), first.tag())
		}
	})
	t.Run("a tag that a proxy weakened is known for a read, and not for a change", func(t *testing.T) {
		path := g.record("clip", "clip")
		tag := g.ask("GET", path, "").want(200).tag()
		g.ask("GET", path, "", "If-None-Match", `"00", W/`+tag).want(304)
		g.ask("PATCH", path, `{"kelvin":4300}`, "If-Match", "W/"+tag).want(412)
	})
	t.Run("a change needs the state that was seen", func(t *testing.T) {
		seen := g.ask("GET", g.record("clip", "clip"), "").want(200).tag()
		before := g.head()
		g.ask("PATCH", g.record("clip", "clip"), `{"kelvin":4300}`).want(428)
		if g.head() != before {
			t.Error("a change without If-Match was stored")
		}
		changed := g.ask("PATCH", g.record("clip", "clip"), `{"kelvin":4300,"tint":null}`, "If-Match", seen).want(200)
		if got := changed.at("kelvin"); got != "4300" || changed.at("tint") != "" || changed.tag() == seen {
			t.Errorf("got kelvin %s, tint %q, the same ETag: %v", got, changed.at("tint"), changed.tag() == seen)
		}
		g.ask("PATCH", g.record("clip", "clip"), `{"kelvin":5600}`, "If-Match", seen).want(412)
	})
	t.Run("a patch that changes nothing stores nothing", func(t *testing.T) {
		seen := g.ask("GET", g.record("lamp", "lamp"), "").want(200)
		before := g.head()
		same := g.ask("PATCH", g.record("lamp", "lamp"), `{"name":"panel"}`, "If-Match", seen.tag()).want(200)
		if same.tag() != seen.tag() || g.head() != before {
			t.Error("the record or the log changed")
		}
	})
	t.Run("what is struck out leaves the lists and can be brought back", func(t *testing.T) {
		path := g.record("note", "note")
		struck := g.ask("DELETE", path, "", "If-Match", g.ask("GET", path, "").tag()).want(200)
		if struck.at("deleted") != "true" || g.ask("GET", g.base+"/records/note", "").want(200).count("records") != 0 {
			t.Errorf("it is not hidden: %s", struck.body)
		}
		if n := g.ask("GET", g.base+"/records/note?deleted=true", "").want(200).count("records"); n != 1 {
			t.Errorf("with deleted=true got %d notes, want 1", n)
		}
		back := g.ask("POST", path+"/restore", "", "If-Match", struck.tag()).want(200)
		if back.at("deleted") != "" || g.ask("GET", g.base+"/records/note", "").want(200).count("records") != 1 {
			t.Errorf("it is not back: %s", back.body)
		}
		history := g.ask("GET", path+"/history", "").want(200)
		if n := history.count("edits"); n != 3 || history.at("edits", 0, "by") != `"desk"` {
			t.Errorf("got %d edits, the first by %s; want 3, by the desk", n, history.at("edits", 0, "by"))
		}
	})
	t.Run("what is entered after its day was closed is marked in the history", func(t *testing.T) {
		day, take := g.record("day", "day"), g.record("take", "take")
		if h := g.ask("GET", take+"/history", "").want(200); h.at("afterClosing") != "" {
			t.Errorf("got %s of an open day", h.body)
		}
		closed := g.ask("PATCH", day, `{"closed":true}`, "If-Match", g.ask("GET", day, "").tag()).want(200)
		g.clock.move(time.Minute)
		g.ask("PATCH", take, `{"wanted":true}`, "If-Match", g.ask("GET", take, "").tag()).want(200)
		h := g.ask("GET", take+"/history", "").want(200)
		line, _ := h.at("edits", h.count("edits")-1, "line").Text()
		if got, _ := h.at("afterClosing", 0).Text(); h.count("afterClosing") != 1 || !strings.HasPrefix(got, line+".") {
			t.Errorf("got %s", h.body)
		}
		g.ask("PATCH", day, `{"closed":null}`, "If-Match", closed.tag()).want(200)
		if h := g.ask("GET", take+"/history", "").want(200); h.at("afterClosing") != "" {
			t.Errorf("got %s of a day that was opened again", h.body)
		}
	})
	t.Run("an edit is undone by what it replaced, and undoing as well", func(t *testing.T) {
		path := g.record("lamp", "lamp")
		first := g.ask("GET", path, "").want(200)
		changed := g.ask("PATCH", path, `{"name":"tile","count":2}`, "If-Match", first.tag()).want(200)
		dotOfLast := func() string {
			history := g.ask("GET", path+"/history", "").want(200)
			last := history.count("edits") - 1
			line, _ := history.at("edits", last, "line").Text()
			return line + "." + string(history.at("edits", last, "n"))
		}
		change := dotOfLast()
		g.ask("POST", path+"/undo/"+change, "").want(428)
		g.ask("POST", path+"/undo/"+change, "", "If-Match", first.tag()).want(412)
		g.ask("POST", path+"/undo/nothing", "", "If-Match", changed.tag()).want(400)
		g.ask("POST", path+"/undo/00c0ffee00c0ff09.1", "", "If-Match", changed.tag()).want(404)
		undone := g.ask("POST", path+"/undo/"+change, "", "If-Match", changed.tag()).want(200)
		if undone.at("name") != first.at("name") || undone.at("count") != first.at("count") {
			t.Errorf("got %s, want name and count of %s", undone.body, first.body)
		}
		g.ask("POST", path+"/undo/"+change, "", "If-Match", undone.tag()).want(409)
		again := g.ask("POST", path+"/undo/"+dotOfLast(), "", "If-Match", undone.tag()).want(200)
		if again.at("name") != `"tile"` || again.at("count") != "2" {
			t.Errorf("undoing was not undone: %s", again.body)
		}
	})
	t.Run("a lost answer asked for again makes nothing twice", func(t *testing.T) {
		first := g.ask("POST", g.base+"/records/lamp", `{"name":"spot","family":"incandescent"}`, "Idempotency-Key", "k1").want(201)
		before := g.head()
		again := g.ask("POST", g.base+"/records/lamp", `{"name":"spot","family":"incandescent"}`, "Idempotency-Key", "k1").want(201)
		if string(again.body) != string(first.body) || again.tag() != first.tag() ||
			again.header.Get("Location") != first.header.Get("Location") {
			t.Errorf("got %s, want %s", again.body, first.body)
		}
		g.ask("POST", g.base+"/records/lamp", `{"name":"flood","family":"incandescent"}`, "Idempotency-Key", "k1").want(422)
		if g.head() != before {
			t.Error("something was stored")
		}
		other := g.admit(pairing.Editor, "phone", g.production)
		if id := other.ask("POST", g.base+"/records/lamp", `{"name":"spot","family":"incandescent"}`, "Idempotency-Key", "k1").want(201).id(); id == first.id() {
			t.Error("another device's key was taken for the same")
		}
		g.clock.move(repeatLife)
		admission, err := g.auth.Renew(g.device)
		if err != nil {
			t.Fatal(err)
		}
		g.token = admission.Token
		if id := g.ask("POST", g.base+"/records/lamp", `{"name":"spot","family":"incandescent"}`, "Idempotency-Key", "k1").want(201).id(); id == first.id() {
			t.Error("a key is remembered for longer than it says")
		}
	})
	t.Run("a record may bring its id once", func(t *testing.T) {
		id := drawID().String()
		made := g.ask("POST", g.base+"/records/gel", `{"id":"`+id+`","name":"plus green","gelKind":"green"}`).want(201)
		if made.id() != id || made.header.Get("Location") != g.base+"/records/gel/"+id {
			t.Errorf("got id %s at %s, want %s", made.id(), made.header.Get("Location"), id)
		}
		g.ask("POST", g.base+"/records/gel", `{"id":"`+id+`","name":"plus green","gelKind":"green"}`).want(409)
	})
}

func TestListsOfRecords(t *testing.T) {
	g := setStage(t)
	for _, name := range []string{"one", "two", "three", "four", "five"} {
		g.clock.move(1)
		g.ask("POST", g.base+"/records/meter", `{"name":"`+name+`","meterKind":"other"}`).want(201)
	}
	t.Run("pages hold every record once", func(t *testing.T) {
		seen := map[logbook.Value]bool{}
		path, pages := g.base+"/records/meter?limit=2", 0
		for path != "" {
			page := g.ask("GET", path, "").want(200)
			for item := range page.at("records").Items() {
				if id := item.Member("id"); seen[id] {
					t.Errorf("%s comes twice", id)
				} else {
					seen[id] = true
				}
			}
			pages++
			next, more := page.at("next").Text()
			path = ""
			if more {
				path = g.base + "/records/meter?limit=2&cursor=" + next
			}
			if link := page.header.Get("Link"); (link != "") != more {
				t.Errorf("Link is %q on page %d, whose next is %q", link, pages, next)
			}
		}
		if len(seen) != 6 || pages != 3 {
			t.Errorf("got %d records on %d pages, want 6 on 3", len(seen), pages)
		}
	})
	t.Run("a list keeps to a set-up and to a day", func(t *testing.T) {
		otherDay := g.ask("POST", g.base+"/records/day", `{"number":4,"date":"2031-03-05"}`).want(201).id()
		other := g.ask("POST", g.base+"/records/setUp", `{"day":"`+otherDay+`","name":"13A"}`).want(201).id()
		g.ask("POST", g.base+"/records/take", `{"setUp":"`+other+`","number":1}`).want(201)
		for query, want := range map[string]int{
			"": 2, "?setUp=" + other: 1, "?setUp=" + g.ids["setUp"]: 1, "?day=" + otherDay: 1, "?day=" + g.ids["day"]: 1,
		} {
			if n := g.ask("GET", g.base+"/records/take"+query, "").want(200).count("records"); n != want {
				t.Errorf("%q: got %d takes, want %d", query, n, want)
			}
		}
	})
}

func TestProductions(t *testing.T) {
	g := setStage(t)
	second := g.ask("POST", "/v1/productions", newProduction).want(201).id()
	reader := g.admit(pairing.Reader, "post", g.production)
	t.Run("each caller sees those in which it has a role", func(t *testing.T) {
		mine, all := reader.ask("GET", "/v1/productions", "").want(200), g.ask("GET", "/v1/productions", "").want(200)
		if mine.count("productions") != 1 || mine.at("productions", 0, "role") != `"reader"` || all.count("productions") != 2 {
			t.Errorf("a reader of one got %s, the owner of all %s", mine.body, all.body)
		}
		reader.ask("GET", "/v1/productions/"+second, "").want(403)
	})
	t.Run("the record of the production is changed like any other", func(t *testing.T) {
		path := "/v1/productions/" + second
		seen := g.ask("GET", path, "").want(200)
		g.ask("GET", path, "", "If-None-Match", seen.tag()).want(304)
		changed := g.ask("PATCH", path, `{"remeasureAfterMinutes":60}`, "If-Match", seen.tag()).want(200)
		if changed.at("remeasureAfterMinutes") != "60" {
			t.Errorf("got %s", changed.body)
		}
		struck := g.ask("DELETE", path, "", "If-Match", changed.tag()).want(200)
		if struck.at("deleted") != "true" {
			t.Errorf("got %s", struck.body)
		}
	})
}

func TestOnlyAnOwnerChangesTheProductionUnderEitherAddress(t *testing.T) {
	g := setStage(t)
	editor := g.admit(pairing.Editor, "phone of the 2nd AC", g.production)
	tag := g.ask("GET", g.base, "").want(200).tag()
	record := g.record("production", "production")
	before := g.head()
	editor.ask("PATCH", record, `{"title":"Another"}`, "If-Match", tag).want(403)
	editor.ask("DELETE", record, "", "If-Match", tag).want(403)
	editor.ask("POST", record+"/restore", "", "If-Match", tag).want(403)
	if g.head() != before {
		t.Error("the log changed")
	}
	g.ask("PATCH", record, `{"title":"Another"}`, "If-Match", tag).want(200)
}
