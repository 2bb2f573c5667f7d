package api

import (
	"fmt"
	"regexp"
	"strings"
	"testing"

	"evenwhite/api/pairing"
	"evenwhite/logbook"
)

func TestMetricsCountWhatWasAsked(t *testing.T) {
	g := setStage(t)
	path := "/v1/productions/:production/records/:kind/:record"
	for range 3 {
		g.ask("GET", g.record("take", "take"), "").want(200)
	}
	g.ask("GET", g.record("clip", "take"), "").want(404)
	g.ask("BREW", "/v9/anything", "").want(404)
	// What answered the last request may not have counted it yet: this one follows on
	// its connection.
	text := string(g.ask("GET", "/metrics", "").want(200).body)
	for _, row := range []string{
		`evenwhite_requests_total{method="GET",path="` + path + `",status="200"} 3`,
		`evenwhite_requests_total{method="GET",path="` + path + `",status="404"} 1`,
		fmt.Sprintf(`evenwhite_log_edits{production="%s"} %d`, g.production, len(play)+1),
		`evenwhite_writable 1`,
		`evenwhite_warnings 0`,
	} {
		if !strings.Contains(text, "\n"+row+"\n") {
			t.Errorf("there is no row %s in\n%s", row, text)
		}
	}
	if strings.Contains(text, "BREW") || strings.Contains(text, "anything") {
		t.Error("a caller can make rows of its own")
	}
	line := regexp.MustCompile(`^(# (HELP|TYPE) evenwhite_[a-z_]+ .+|evenwhite_[a-z_]+(\{[a-z]+="[^"\\]*"(,[a-z]+="[^"\\]*")*\})? [0-9.e+-]+)$`)
	for row := range strings.Lines(text) {
		if !line.MatchString(strings.TrimSuffix(row, "\n")) {
			t.Errorf("%q is no line of the format", row)
		}
	}
	g.admit(pairing.Owner, "owner of one production", g.production).ask("GET", "/metrics", "").want(403)
	g.admit(pairing.Editor, "2nd AC", logbook.ID{}).ask("GET", "/metrics", "").want(403)
}
