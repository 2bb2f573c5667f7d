package api

import (
	"testing"

	"evenwhite/api/pairing"
	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
)

func TestCopiesOfAPhone(t *testing.T) {
	g := setStage(t)
	phone := g.handset("phone of the 2nd AC")
	phone.meets()
	unsent := phone.writes(kinds.Clip, "clip", "lens", `"50 mm"`)
	before := g.head().Seq
	copied := phone.copied()
	again := copied.copied()
	edits := []*logbook.Edit{
		unsent,
		phone.writes(kinds.Clip, "clip", "card", `"002"`),
		copied.writes(kinds.Clip, "clip", "filters", `"ND 0.6"`),
		again.writes(kinds.Take, "take", "wanted", "true"),
	}
	lines := map[logbook.Line]bool{}
	for _, e := range edits[1:] {
		lines[e.Dot.Line] = true
	}
	if len(lines) != 3 {
		t.Errorf("the phone, its copy and the copy's copy wrote in %d lines, want 3", len(lines))
	}
	for range 2 {
		for _, h := range []*handset{again, phone, copied} {
			h.meets()
		}
	}
	g.holdsOnce(t, edits...)
	if n := g.head().Seq - before; n != 4 {
		t.Errorf("the log grew by %d edits, want 4: what was unsent arrives once", n)
	}
	for i, h := range []*handset{phone, copied, again} {
		if got := h.sees(kinds.Clip, "clip", "lens"); got.Shown.Value != `"50 mm"` || got.Conflict {
			t.Errorf("phone %d shows the lens %s, conflict %v", i, got.Shown.Value, got.Conflict)
		}
		if got := h.sees(kinds.Take, "take", "wanted").Shown.Value; got != "true" {
			t.Errorf("phone %d shows wanted %q", i, got)
		}
	}
	if n := g.quarantine().count("clashes"); n != 0 {
		t.Errorf("got %d clashes, want none", n)
	}
}

func TestAPhoneThatIsSetBackToYesterday(t *testing.T) {
	g := setStage(t)
	phone := g.handset("phone of the 2nd AC")
	phone.meets()
	first := phone.writes(kinds.Clip, "clip", "lens", `"50 mm"`)
	yesterday := append([]*logbook.Edit(nil), phone.kept...)
	second := phone.writes(kinds.Clip, "clip", "lens", `"85 mm"`)
	phone.meets()

	phone.kept = yesterday
	phone.start(drawLine)
	third := phone.writes(kinds.Clip, "clip", "card", `"003"`)
	if third.Dot.Line == first.Dot.Line {
		t.Errorf("after it was set back it writes in line %s again", third.Dot.Line)
	}
	phone.meets()
	g.holdsOnce(t, first, second, third)
	if got := phone.sees(kinds.Clip, "clip", "lens"); got.Shown.Value != `"85 mm"` || got.Conflict {
		t.Errorf("it shows the lens %s, conflict %v; want its own later edit back", got.Shown.Value, got.Conflict)
	}
}

func TestARestoredServersOwnEdits(t *testing.T) {
	g := setStage(t)
	phone := g.handset("phone of the 2nd AC")
	backup := string(g.ask("GET", g.base+"/bundle", "").want(200).body)
	clip := g.ask("GET", g.record("clip", "clip"), "").want(200)
	g.ask("PATCH", g.record("clip", "clip"), `{"kelvin":4300}`, "If-Match", clip.tag()).want(200)
	lost := g.dotOf("clip", "clip")
	phone.meets() // the phone has seen what the server is about to lose

	// The backup is restored on another machine: the same log, one edit shorter.
	there := openSite(t)
	if err := there.store.Begin(g.production, g.head().Identity); err != nil {
		t.Fatal(err)
	}
	restored := &stage{client: there.admit(pairing.Owner, "desk", logbook.ID{}), base: g.base, production: g.production, ids: g.ids}
	restored.carry(g.base, backup).want(200)
	clip = restored.ask("GET", g.record("clip", "clip"), "").want(200)
	restored.ask("PATCH", g.record("clip", "clip"), `{"kelvin":4400}`, "If-Match", clip.tag()).want(200)
	if now := restored.dotOf("clip", "clip"); now == lost {
		t.Errorf("the restored server writes under %s again", now)
	}
	met := phone.met
	phone.client, phone.at = restored.admit(pairing.Editor, "phone of the 2nd AC", g.production), restored
	phone.meets()
	if phone.met != met {
		t.Errorf("the phone takes it for another log, %s, want %s", phone.met, met)
	}
	r := restored.ask("GET", g.base+"/conflicts", "").want(200)
	if r.count("conflicts") != 1 || r.at("conflicts", 0, "field") != `"kelvin"` {
		t.Fatalf("got %s, want both of its own values, which nobody saw together", r.body)
	}
	values := string(r.at("conflicts", 0, "values", 0, "value")) + " " + string(r.at("conflicts", 0, "values", 1, "value"))
	if values != "4300 4400" && values != "4400 4300" {
		t.Errorf("got the values %s", values)
	}
	if got := phone.sees(kinds.Clip, "clip", "kelvin"); !got.Conflict || len(got.Heads) != 2 {
		t.Errorf("the phone shows %v, want the same conflict", got.Heads)
	}
}

func TestAClashIsKeptAsideAndShown(t *testing.T) {
	g := setStage(t)
	shared := drawLine()
	running := func() func() logbook.Line { // a copy of a running program: its line is drawn already
		drawn := false
		return func() logbook.Line {
			if !drawn {
				drawn = true
				return shared
			}
			return drawLine()
		}
	}
	phone := g.handset("phone of the 2nd AC")
	phone.meets()
	other := phone.copied()
	phone.start(running())
	other.start(running())
	first := phone.writes(kinds.Clip, "clip", "lens", `"50 mm"`)
	second := other.writes(kinds.Clip, "clip", "card", `"007"`)
	if first.Dot != second.Dot {
		t.Fatalf("got the dots %s and %s, want one", first.Dot, second.Dot)
	}
	phone.meets()
	other.meets()
	g.holdsOnce(t, first)
	q := g.quarantine()
	if q.count("clashes") != 1 || q.at("clashes", 0, "edit", "set", "card") != `"007"` {
		t.Fatalf("got %s, want the second edit kept aside", q.body)
	}
	next := other.writes(kinds.Clip, "clip", "card", `"008"`)
	if next.Dot.Line == shared {
		t.Errorf("the phone goes on in line %s, in which another wrote", shared)
	}
	other.meets()
	g.holdsOnce(t, first, next)
	if q := g.quarantine(); q.count("clashes") != 1 {
		t.Errorf("got %d clashes, want still the one", q.count("clashes"))
	}
}
