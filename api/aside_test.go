package api

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"evenwhite/api/pairing"
	"evenwhite/logbook"
	"evenwhite/logbook/exchange"
)

const editorsLine = "00c0ffee00c0ffee"

// settings is an edit of the production itself by a device that worked apart.
func (g *stage) settings(n int, set string) string {
	return g.edit(editorsLine, n, "production", "$production", set)
}

func (r *reply) outcomes() string {
	var words []string
	for item := range r.at("answers").Items() {
		word, _ := logbook.Value(item).Member("outcome").Text()
		words = append(words, word)
	}
	return strings.Join(words, " ")
}

func (r *reply) text(path ...any) string {
	s, _ := r.at(path...).Text()
	return s
}

func TestAnEditorsEditsOfTheSettingsWaitForAnOwner(t *testing.T) {
	g := setStage(t)
	editor := g.admit(pairing.Editor, "2nd AC", g.production)
	there := g.admit(pairing.Owner, "elsewhere", drawID()) // an owner, but not of this
	title := func() string { s, _ := g.ask("GET", g.base, "").want(200).at("title").Text(); return s }
	was, head := title(), g.head()
	bring := func(c *client, edits ...string) *reply {
		g.Helper()
		return c.ask("POST", g.base+"/exchange", `{"edits":[`+strings.Join(edits, ",")+`]}`)
	}
	theirs, struck := g.settings(1, `{"title":"Mine now"}`), g.settings(2, `{"deleted":true}`)

	r := bring(editor, theirs, struck).want(200)
	if got := r.outcomes(); got != "aside aside" {
		t.Fatalf("got %s, want both aside", got)
	}
	if reason, _ := r.at("answers", 0, "reason").Text(); !strings.Contains(reason, "owner") {
		t.Errorf("the reason is %q", reason)
	}
	if title() != was || g.head() != head {
		t.Errorf("the title is %q and the log went on, want %q", title(), was)
	}
	bring(there, theirs).want(403)
	list := g.ask("GET", g.base+"/aside", "").want(200)
	first, second := list.text("edits", 0, "id"), list.text("edits", 1, "id")
	title0, label0 := list.text("edits", 0, "edit", "set", "title"), list.text("edits", 0, "via", "label")
	if n := string(list.at("waiting")); n != "2" || label0 != "2nd AC" || title0 != "Mine now" {
		t.Errorf("got %s", list.body)
	}
	if ready := string(g.ask("GET", "/readyz", "").want(200).body); !strings.Contains(ready, "2 edits of a production's settings") {
		t.Errorf("nobody is told: %s", ready)
	}
	for _, c := range []*client{editor, there} {
		c.ask("GET", g.base+"/aside", "").want(403)
		c.ask("POST", g.base+"/aside", `{"take":["`+first+`"]}`).want(403)
	}

	t.Run("page by page", func(t *testing.T) {
		page := g.ask("GET", g.base+"/aside?limit=1", "").want(200)
		next := page.text("next")
		if next != first || !strings.Contains(page.header.Get("Link"), "cursor="+first) {
			t.Errorf("next is %s, want %s; Link %s", next, first, page.header.Get("Link"))
		}
		if got := g.ask("GET", g.base+"/aside?cursor="+next, "").want(200).text("edits", 0, "id"); got != second {
			t.Errorf("the second page begins with %s, want %s", got, second)
		}
		g.ask("GET", g.base+"/aside?cursor=x", "").want(400)
	})
	t.Run("what is not there is not answered, nor anything with it", func(t *testing.T) {
		nowhere := editorsLine + ".9" + first[len(editorsLine)+2:]
		g.ask("POST", g.base+"/aside", fmt.Sprintf(`{"take":[%q,%q]}`, first, nowhere)).want(404)
		g.ask("POST", g.base+"/aside", fmt.Sprintf(`{"take":[%q],"leave":[%q]}`, first, nowhere)).want(404)
		g.ask("POST", g.base+"/aside", `{"take":["x"]}`).want(400)
		if g.head() != head {
			t.Error("the log went on")
		}
	})
	t.Run("a yes takes in, a no leaves aside for good", func(t *testing.T) {
		r := g.ask("POST", g.base+"/aside", fmt.Sprintf(`{"take":[%q],"leave":[%q]}`, first, second)).want(200)
		if got := r.outcomes(); got != "taken" || string(r.at("waiting")) != "0" {
			t.Errorf("got %s, %s waiting", got, r.at("waiting"))
		}
		if title() != "Mine now" {
			t.Errorf("the title is %q", title())
		}
		if got := bring(editor, theirs, struck).want(200).outcomes(); got != "repeat aside" {
			t.Errorf("brought again: got %s, want repeat aside", got)
		}
		if body := string(g.ask("GET", "/readyz", "").want(200).body); strings.Contains(body, "settings") {
			t.Errorf("it is still asked about: %s", body)
		}
		if list := g.ask("GET", g.base+"/aside", "").want(200); string(list.at("edits", 0, "left")) != "true" {
			t.Errorf("got %s, want that one is left", list.body)
		}
	})
	t.Run("an owner brings the same bytes", func(t *testing.T) {
		if got := bring(g.client, struck).want(200).outcomes(); got != "taken" {
			t.Errorf("got %s, want taken", got)
		}
		if list := g.ask("GET", g.base+"/aside", "").want(200); list.at("edits", 0) != "" {
			t.Errorf("it is still aside: %s", list.body)
		}
	})
}

func TestABundleIsNoWayAroundAnOwner(t *testing.T) {
	g := setStage(t)
	editor := g.admit(pairing.Editor, "2nd AC", g.production)
	var edits []*logbook.Edit
	for _, text := range []string{g.settings(1, `{"title":"Mine now"}`), g.edit(editorsLine, 2, "note", drawID().String(), `{"text":"a bird"}`)} {
		e := new(logbook.Edit)
		if err := e.UnmarshalJSON([]byte(text)); err != nil {
			t.Fatal(err)
		}
		edits = append(edits, e)
	}
	var file bytes.Buffer
	if err := exchange.WriteBundle(&file, g.production, edits); err != nil {
		t.Fatal(err)
	}
	whole := file.String()
	r := editor.ask("POST", g.base+"/bundle", whole, "Content-Type", "application/octet-stream").want(200)
	if want := `{"taken":1,"repeat":0,"refused":0,"clash":0,"aside":1,"later":0}`; string(r.body) != want {
		t.Errorf("got %s, want %s", r.body, want)
	}
	r = g.ask("POST", g.base+"/bundle", whole, "Content-Type", "application/octet-stream").want(200)
	if want := `{"taken":1,"repeat":1,"refused":0,"clash":0,"aside":0,"later":0}`; string(r.body) != want {
		t.Errorf("an owner's: got %s, want %s", r.body, want)
	}
}

func TestAReaderOfRowsIsToldAsideOnlyWhereItKnowsTheWord(t *testing.T) {
	g := setStage(t)
	editor := g.admit(pairing.Editor, "2nd AC", g.production)
	e := new(logbook.Edit)
	if err := e.UnmarshalJSON([]byte(g.settings(1, `{"title":"Mine now"}`))); err != nil {
		t.Fatal(err)
	}
	text, err := (&exchange.Request{Edits: []*logbook.Edit{e}}).Rows(nil)
	if err != nil {
		t.Fatal(err)
	}
	for accept, want := range map[string]string{rowsMedia: logbook.AnswerRefused, rowsMedia + ";knows=aside": logbook.AnswerAside} {
		r := editor.ask("POST", g.base+"/exchange", string(text), "Content-Type", rowsMedia, "Accept", accept).want(200)
		a, err := exchange.ReadAnswerRows(r.body, g.production, nil)
		if err != nil || len(a.Answers) != 1 || a.Answers[0].Outcome != want || !strings.Contains(a.Answers[0].Reason, "owner") {
			t.Errorf("%s: got %+v (%v), want %s", accept, a.Answers, err, want)
		}
	}
}

func TestAnOwnerIsWokenByWhatWaits(t *testing.T) {
	g := setStage(t)
	editor := g.admit(pairing.Editor, "2nd AC", g.production)
	place := g.listen(g.base+"/events", "").event()
	owner, other := g.listen(g.base+"/events", place), editor.listen(g.base+"/events", place)
	editor.ask("POST", g.base+"/exchange", `{"edits":[`+g.settings(1, `{"title":"Mine now"}`)+`]}`).want(200)
	if got, want := owner.block(), "event: aside\ndata: 1\n"; got != want {
		t.Errorf("an owner gets %q, want %q", got, want)
	}
	g.writeNote()
	if owner.event() == place || other.event() == place {
		t.Error("the next event names the old place")
	}
}
