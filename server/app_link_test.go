package main

import (
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"evenwhite/server/browsertest"
	"evenwhite/server/demo"
)

// scriptToken is a token that the server of a folder makes for an editor.
func scriptToken(t *testing.T, data string) string {
	t.Helper()
	out, err := exec.Command("evenwhite", "token", "--data", data, "--role", "editor").Output()
	if err != nil {
		t.Fatal(err)
	}
	return strings.TrimSpace(string(out))
}

// A phone and its server: edits that are too many or that nobody takes, no answer, a token that ran out, a server that does not
// know it, a production that was removed; and a second phone, which may look.
func TestAPhoneAndItsServer(t *testing.T) {
	data := filepath.Join(t.TempDir(), "data")
	s := servePagesIn(t, data, "--demo")
	day := appDay(t, s)
	other := &caller{T: t, url: s.url(), token: scriptToken(t, data)}
	control := httptest.NewServer(http.HandlerFunc(func(_ http.ResponseWriter, r *http.Request) {
		switch r.URL.Path {
		case "/place": // another device names the place of a set-up
			record := "/v1/productions/" + demo.Production.String() + "/records/setUp/" + r.FormValue("setUp")
			_, h := other.call("GET", record, "")
			other.call("PATCH", record, `{"place":"theirs"}`, "If-Match", h.Get("ETag"), "Content-Type", "application/merge-patch+json")
		case "/later":
			s.end(os.Interrupt)
			t.Setenv(aheadVariable, "13h")
			s = servePagesIn(t, data)
		}
	}))
	defer control.Close()
	var got struct {
		Around struct {
			Said        string
			Notes, Left []string
			Sent        bool
		}
		Plain struct {
			Packings []string
			Held     bool
		}
		Packed        []string
		NotKept, Kept string
		Nine          int
		Halved        [][2]int
		Aside         struct {
			Said, Unreadable string
			Held             bool
		}
		Shared     struct{ How, Name string }
		Behind     int
		BehindHeld bool
		Taken      string
		Scanned    struct {
			Link, Address string
			Length        int
		}
		Reader struct {
			Said, Saved string
			Acts, Count int
		}
		Bundle  string
		Carried bool
		Later   struct {
			Words []string
			Held  bool
		}
		Strange struct {
			Said  string
			Count int
		}
		Again   bool
		Removed struct {
			Said         string
			Asked        [][2]int
			Notes, There []string
		}
	}
	browsertest.Browser{Trusts: s.root(t), Hosts: "MAP set7.local 127.0.0.1"}.Run(t, "../testdata/browser/app-link.mjs",
		map[string]string{"origin": s.origin, "day": day, "code": s.code, "control": control.URL}, &got)

	for _, c := range []struct{ name, said, want string }{
		{"looking around", got.Around.Said, `Invented production`},
		{"storage that the browser may clear", got.NotKept, `This browser may clear what is kept here`},
		{"storage that it keeps", got.Kept, `This browser keeps what is here until somebody removes it`},
		{"an edit that no server takes", got.Aside.Said, `too large or unreadable for the server. It stays on this phone`},
		{"a value of somebody else's", got.Taken, `^theirs$`},
		{"a phone that may look", got.Reader.Said, `^This phone may look\. The owner can change that\.$`},
		{"a note by it", got.Reader.Saved, `looksOnly`},
		{"a bundle", got.Bundle, `\.bundle$`},
		{"a bundle that is shared", got.Shared.How + " " + got.Shared.Name, `^shared .*\.bundle$`},
		{"a server that does not know the phone", got.Strange.Said, `Not paired`},
		{"a production that was removed there", got.Removed.Said, `An owner removed this production from the server`},
		{"its notes", strings.Join(got.Removed.Notes, "; "), `after the wrap`},
	} {
		if !regexp.MustCompile(c.want).MatchString(c.said) {
			t.Errorf("%s: got %q, want %s", c.name, c.said, c.want)
		}
	}
	const tried = "tried while looking around"
	if !slices.Contains(got.Around.Notes, tried) || slices.Contains(got.Around.Left, tried) || got.Around.Sent {
		t.Errorf("what was tried in the invented production was kept there as %q, is among %q of the real one, and was sent: %v",
			got.Around.Notes, got.Around.Left, got.Around.Sent)
	}
	if !slices.Equal(got.Plain.Packings, []string{"plain"}) || !got.Plain.Held || !slices.Equal(got.Packed, []string{"gzip"}) {
		t.Errorf("exchanges went %q where the browser cannot pack (arrived: %v), and %q where it can", got.Plain.Packings, got.Plain.Held,
			got.Packed)
	}
	got.Halved = slices.DeleteFunc(got.Halved, func(e [2]int) bool { return e[0] == 0 }) // asked only
	if want := [][2]int{{9, 413}, {4, 400}, {2, 200}, {2, 200}, {2, 200}, {2, 200}, {1, 200}}; !slices.Equal(got.Halved, want) {
		t.Errorf("nine edits went as %v, want %v", got.Halved, want)
	}
	if got.Nine != 9 {
		t.Errorf("nine edits were saved, and %d are unsent", got.Nine)
	}
	for what, is := range map[string]bool{
		"what went beside one that nobody takes": got.Aside.Held, "what a production had that is not open": got.BehindHeld,
		"what was carried by hand": got.Carried, "what was saved after 13 hours": got.Later.Held, "what waited for another pairing": got.Again,
	} {
		if !is {
			t.Errorf("%s did not arrive", what)
		}
	}
	if got.Behind == 0 || got.Strange.Count == 0 {
		t.Errorf("unsent: %d of a production that is not open, %d for a server that does not know the phone", got.Behind, got.Strange.Count)
	}
	if strings.Contains(got.Scanned.Address, got.Scanned.Link[strings.Index(got.Scanned.Link, "#")+1:]) || got.Scanned.Length > 2 {
		t.Errorf("of the scanned address the secret stayed: %+v", got.Scanned)
	}
	if got.Reader.Acts != 0 || got.Reader.Count != 0 {
		t.Errorf("a phone that may look has %d acts and holds %d edits", got.Reader.Acts, got.Reader.Count)
	}
	for _, words := range got.Later.Words {
		if !regexp.MustCompile(`^(\d+ on this phone|All sent)\s`).MatchString(words) {
			t.Errorf("while its token was renewed it said %q", words)
		}
	}
	if len(got.Removed.Asked) > 0 || !slices.Equal(got.Removed.There, []string{"The Other One"}) {
		t.Errorf("of what was removed it brought %v, and the server lists %q", got.Removed.Asked, got.Removed.There)
	}
}
