package api

import (
	"strings"
	"testing"

	"evenwhite/api/pairing"
)

// A guest finds a clip by its name and by what its timecode holds, and is told what cannot be asked.
func TestClipsAreFoundOverREST(t *testing.T) {
	g := setStage(t)
	guest := g.admit(pairing.Guest, "post", g.production)
	patch := func(body string) *reply {
		clip := g.record("clip", "clip")
		return g.ask("PATCH", clip, body, "If-Match", g.ask("GET", clip, "").tag(), "Content-Type", "application/merge-patch+json")
	}
	patch(`{"timecode":{"start":"10:00:00:00","end":"10:00:30:00"}}`).want(200)
	for query, want := range map[string]int{
		"name=A001001": 1, "name=A001*": 1, "name=B*": 0, "timecodeFrom=10:00:29:24": 1, "timecodeFrom=10:00:30:01": 0,
		"timecodeFrom=09:00:00:00&timecodeTo=10:00:00:00": 1, "day=" + g.ids["day"]: 1, "": 1,
		"least=0.001%20Duv": 1, "least=9000mired": 0, "least=1mired&deviation=no-chart": 0, "least=1mired&name=B*": 0,
	} {
		r := guest.ask("GET", g.base+"/clips?"+query, "").want(200)
		if got := r.count("clips"); got != want {
			t.Errorf("%s: got %d clips, want %d: %s", query, got, want, r.body)
		}
	}
	guest.ask("GET", g.base+"/clips?timecodeFrom=10:00:00:60", "").want(400)
	guest.ask("GET", g.base+"/clips?least=8", "").want(400)
	guest.ask("GET", g.base+"/clips?timecodeTo=10:00:00:00", "").want(400)
	for body, field := range map[string]string{
		`{"timecode":{"start":"10:00:00:59"}}`: "timecode/start", `{"timecode":{"start":"10:00:00;10"}}`: "timecode/start",
		`{"timecode":{"end":"09:00:00:00"}}`: "timecode/end", `{"timecode":{"rate":"25","drop":true}}`: "timecode/",
	} {
		if r := patch(body).want(400); !strings.Contains(string(r.body), field) {
			t.Errorf("%s: got %s, want an error about %s", body, r.body, field)
		}
	}
}
