package main

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"evenwhite/logbook/needed"
	"evenwhite/server/lan/lantest"
)

// A unit is a machine with a server, on a network with others.
type unit struct {
	t      *testing.T
	host   *lantest.Host
	folder string // in which its person types
	desk   string
	token  string
}

func openUnit(t *testing.T, h *lantest.Host, desk string, options ...string) *unit {
	u := &unit{t: t, host: h, folder: t.TempDir(), desk: desk}
	serveOn(t, h, filepath.Join(u.folder, "evenwhite-data"), options...)
	u.token = strings.TrimSpace(u.types("evenwhite token --role owner"))
	return u
}

// types is what a line prints that somebody types there.
func (u *unit) types(line string) string {
	u.t.Helper()
	var wrong bytes.Buffer
	shell := u.host.Command("bash", "-euc", "cd '"+u.folder+"'; "+line)
	shell.Stderr = &wrong
	out, err := shell.Output()
	if err != nil {
		u.t.Fatalf("%s: %v\n%s%s", line, err, out, &wrong)
	}
	u.t.Logf("$ %s\n%s", line, out)
	return string(out)
}

func (u *unit) asks(method, path, body string) string {
	u.t.Helper()
	return u.host.Run("curl", "-sS", "--fail-with-body", "-X", method, u.desk+path, "-H", "Authorization: Bearer "+u.token,
		"-H", "Content-Type: application/json", "-d", body)
}

func (u *unit) day(at string, number string) {
	u.t.Helper()
	u.asks("POST", at+"/records/day", `{"number":`+number+`,"date":"2031-03-04"}`)
}

// sees waits until something is there.
func (u *unit) sees(path, text string) {
	u.t.Helper()
	u.host.Until(path+" has "+text, func() bool {
		out, err := u.host.Command("curl", "-sS", u.desk+path, "-H", "Authorization: Bearer "+u.token).Output()
		return err == nil && strings.Contains(string(out), text)
	})
}

// TestTheReadmeLinksTwoUnitsAndPost types what the page "From one set to many" says, on two machines that know
// each other's names by multicast DNS alone.
func TestTheReadmeLinksTwoUnitsAndPost(t *testing.T) {
	needed.Tool(t, "curl")
	readme, err := os.ReadFile("../README.md")
	if err != nil {
		t.Fatal(err)
	}
	_, page, _ := strings.Cut(string(readme), "## From one set to many\n")
	page, _, _ = strings.Cut(page, "\n## ")
	var typed []string
	for line := range strings.Lines(page) {
		if after, ok := strings.CutPrefix(line, "    evenwhite "); ok {
			typed = append(typed, "evenwhite "+strings.TrimSpace(after))
		}
	}
	if len(typed) != 3 {
		t.Fatalf("the page has the lines %q, want pair, link, links", typed)
	}
	a, b := lantest.Pair(t, 1, withoutNetworks)
	a.Has("e0", "10.9.8.1/24")
	b.Has("e0", "10.9.8.2/24")
	first := openUnit(t, a, "http://127.0.0.1:8480", "--name", "unit1")
	second := openUnit(t, b, "http://127.0.0.1:8480", "--name", "unit2")
	var begun struct{ ID string }
	if err := json.Unmarshal([]byte(first.asks("POST", "/v1/productions", gaugeRow)), &begun); err != nil {
		t.Fatal(err)
	}
	at := "/v1/productions/" + begun.ID
	first.day(at, "1")

	link := func(on *unit, pairing string) {
		t.Helper()
		line := regexp.MustCompile(`(?m)^    (evenwhite link .*)$`).FindStringSubmatch(first.types(pairing))
		if line == nil {
			t.Fatal("no line is printed to link by")
		}
		if shape := regexp.MustCompile(`'[0-9A-F ]{79}'`).ReplaceAllString(line[1], "'4D9D 3A3C …'"); shape[:len(shape)-8] != typed[1][:len(typed[1])-8] {
			t.Errorf("it prints %s, the page has %s", line[1], typed[1])
		}
		if said := on.types(line[1]); !strings.Contains(said, "Linked with https://unit1.local:8443") {
			t.Errorf("%s: it says %s", line[1], said)
		}
	}
	link(second, typed[0])
	second.sees(at+"/records/day", `"number":1`)
	second.day(at, "2")
	first.sees(at+"/records/day", `"number":2`)
	second.host.Until("links says that all is exchanged", func() bool {
		return strings.Contains(second.types(typed[2]), "Gauge Row (production "+begun.ID+"): all exchanged at")
	})

	post := openUnit(t, b, "http://127.0.0.1:8580", "--name", "post", "--port", "8543", "--desk-port", "8580")
	link(post, "evenwhite pair --role reader --label post")
	post.sees(at+"/records/day", `"number":2`)
	post.types("evenwhite export --output tonight.csv")
	if log, err := os.ReadFile(filepath.Join(post.folder, "tonight.csv")); err != nil || !strings.HasPrefix(string(log), "clip name,") {
		t.Errorf("post's export is no colour log: %v", err)
	}
}
