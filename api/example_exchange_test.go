package api

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"evenwhite/api/pairing"
	"evenwhite/logbook"
)

// TestTheExamplesOfTheContractAreWhatIsSaid holds the conversation of the contract's
// examples with a server. What each server draws or times for itself (its run, its log,
// its line, its cursors) stands for what this one says; all else is the same.
func TestTheExamplesOfTheContractAreWhatIsSaid(t *testing.T) {
	paths, err := filepath.Glob("../openapi/examples/*.json")
	if err != nil || len(paths) < 8 {
		t.Fatalf("there are %d examples (%v), want a conversation", len(paths), err)
	}
	s := openSite(t)
	owner := s.admit(pairing.Owner, "tablet of the DIT", logbook.ID{})
	const production = "01c172d3-d080-78be-a357-e0bc06d5d747"
	owner.ask("POST", "/v1/productions",
		`{"id":"`+production+`","title":"The Salt Stairs","timeZone":"Europe/Berlin","frameRate":"24","gelFamily":"based5500"}`).want(201)
	same := alike{}
	for _, path := range paths {
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		var said struct {
			Request json.RawMessage
			Answer  any
		}
		if err := json.Unmarshal(text, &said); err != nil {
			t.Fatalf("%s: %v", path, err)
		}
		r := owner.ask("POST", "/v1/productions/"+production+"/exchange", same.here(string(said.Request))).want(200)
		var got any
		if err := json.Unmarshal(r.body, &got); err != nil {
			t.Fatal(err)
		}
		if !same.as(said.Answer, got, "") {
			want, _ := json.Marshal(said.Answer)
			t.Errorf("%s: got\n%s\nwant, but for what a server draws,\n%s", path, r.body, want)
		}
	}
	if len(same) < 8 {
		t.Errorf("%d texts of the examples stand for ones of this server, want its run, log, line and cursors at least", len(same))
	}
}

// alike are texts of the examples and what they stand for here.
type alike map[string]string

// here is a request of the examples as this server is to be sent it.
func (a alike) here(request string) string {
	for theirs, ours := range a {
		request = strings.ReplaceAll(request, theirs, ours)
	}
	return request
}

// drawn are the members that a server draws or times for itself.
var drawn = map[string]bool{"run": true, "log": true, "now": true, "cursor": true, "line": true, "device": true, "at": true, "by": true}

// as reports whether an answer is that of the examples.
func (a alike) as(want, got any, name string) bool {
	switch want := want.(type) {
	case map[string]any:
		got, ok := got.(map[string]any)
		if !ok || len(got) != len(want) {
			return false
		}
		for member, value := range want {
			at := member
			if known, ok := a[member]; ok {
				at = known
			} else if name == "list" && got[member] == nil && len(got) == 1 { // the line of the server
				for line := range got {
					a[member], at = line, line
				}
			}
			if there, ok := got[at]; !ok || !a.as(value, there, member) {
				return false
			}
		}
		return true
	case []any:
		got, ok := got.([]any)
		if !ok || len(got) != len(want) {
			return false
		}
		for i := range want {
			if !a.as(want[i], got[i], name) {
				return false
			}
		}
		return true
	case string:
		got, ok := got.(string)
		if known, met := a[want]; met {
			return ok && known == got
		}
		if ok && drawn[name] {
			a[want] = got
		}
		return ok && (drawn[name] || want == got)
	}
	return want == got
}
