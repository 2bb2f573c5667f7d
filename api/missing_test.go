package api

import (
	"testing"

	"evenwhite/api/pairing"
	"evenwhite/logbook"
)

func TestWhatIsMissingIsListedWithWhoMayHaveIt(t *testing.T) {
	g := setStage(t)
	phone := g.admit(pairing.Editor, "phone of the 2nd AC", g.production)
	tablet := g.admit(pairing.Editor, "tablet of the DIT", g.production)
	push := func(c *client, edits string) {
		c.ask("POST", g.base+"/exchange", `{"edits":[`+edits+`]}`).want(200)
	}
	missing := func() *reply { return g.ask("GET", g.base+"/missing", "").want(200) }
	if r := missing(); r.count("lines") != 0 {
		t.Fatalf("got %s, want nothing", r.body)
	}
	mine := &stage{client: phone, ids: g.ids}
	his := &stage{client: tablet, ids: g.ids}
	third := mine.edit(lineOfOne, 3, "clip", "$clip", `{"kelvin":4300}`)
	push(phone, mine.edit(lineOfOne, 1, "clip", "$clip", `{"kelvin":4100}`))
	push(tablet, his.edit(lineOfOther, 1, "clip", "$clip", `{"kelvin":4400}`, `{"kelvin":["`+lineOfOne+`.3"]}`))

	r := missing()
	if r.count("lines") != 1 || r.at("lines", 0, "line") != `"`+lineOfOne+`"` || r.at("lines", 0, "spans") != "[[2,3]]" {
		t.Fatalf("got %s, want 2 and 3 of the phone's line", r.body)
	}
	writer, seen := r.at("lines", 0, "writer"), r.at("lines", 0, "seenBy", 0)
	for _, c := range []struct {
		got         logbook.Value
		of          *client
		label, what string
	}{{writer, phone, "phone of the 2nd AC", "writer"}, {seen, tablet, "tablet of the DIT", "who has seen it"}} {
		device, _ := c.got.Member("device").Text()
		if device != c.of.device.String() || c.got.Member("label") != logbook.Value(`"`+c.label+`"`) || c.got.Member("by") != `"2nd AC"` {
			t.Errorf("%s: got %s, want %s on %s", c.what, c.got, c.label, c.of.device)
		}
	}
	push(tablet, third+","+mine.edit(lineOfOne, 2, "clip", "$clip", `{"kelvin":4200}`))
	if r := missing(); r.count("lines") != 0 {
		t.Errorf("after another device brought them: got %s, want nothing", r.body)
	}
}
