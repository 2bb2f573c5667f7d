package main

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/exchange"
	"evenwhite/logbook/needed"
	"evenwhite/server/browsertest"
	"evenwhite/server/demo"
)

// appDay is the file of the app by which its screens act, for scripts that act as they do.
func appDay(t testing.TB, s pagesSite) string {
	t.Helper()
	found, err := filepath.Glob("phone/dist/assets/day-*.js")
	if err != nil || len(found) != 1 {
		needed.MissingFor(t, "the phone app", "make app")
	}
	return s.origin + "/assets/" + filepath.Base(found[0])
}

// A caller asks a server at this machine as a script.
type caller struct {
	*testing.T
	url, token string
}

func (c *caller) call(method, path, body string, headers ...string) (answer string, h http.Header) {
	c.Helper()
	r, err := http.NewRequest(method, c.url+path, strings.NewReader(body))
	if err != nil {
		c.Fatal(err)
	}
	if body != "" {
		r.Header.Set("Content-Type", "application/json")
	}
	if c.token != "" {
		r.Header.Set("Authorization", "Bearer "+c.token)
	}
	for i := 0; i < len(headers); i += 2 {
		r.Header.Set(headers[i], headers[i+1])
	}
	got, err := http.DefaultClient.Do(r)
	if err != nil {
		c.Fatal(err)
	}
	defer func() { _ = got.Body.Close() }()
	text, err := io.ReadAll(got.Body)
	if err != nil || got.StatusCode >= 300 {
		c.Fatalf("%s %s: %s %s (%v)", method, path, got.Status, text, err)
	}
	return string(text), got.Header
}

// A phone pairs by a code and logs five takes; the server is killed; the phone logs five more, changes a
// field that another device changes too, and is killed in the middle of a write; the server comes back at
// another address. It is killed again, and still holds what it could not send.
func TestAPhoneGoesOnThroughTheEndOfServerAndPhone(t *testing.T) {
	t.Parallel()
	data, home := filepath.Join(t.TempDir(), "data"), t.TempDir()
	s := servePagesIn(t, data, "--demo")
	day, trusts := appDay(t, s), s.root(t)
	other := &caller{T: t, url: s.url()}
	control := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		var said struct{ Token string }
		if err := json.NewDecoder(r.Body).Decode(&said); err != nil {
			t.Error(err)
		}
		other.token = said.Token
		s.end(os.Kill)
	}))
	defer control.Close()

	var out struct {
		SetUp, Changed string
		Takes, Edits   []string
		Status         struct {
			State string
			Count int
		}
	}
	browsertest.Browser{Trusts: trusts, Hosts: "MAP set7.local 127.0.0.1", Home: home, Kill: true}.Run(t, "../testdata/browser/app.mjs",
		map[string]string{"origin": s.origin, "day": day, "code": s.code, "control": control.URL}, &out)
	if len(out.Takes) != 10 || out.Status.State != "here" || out.Status.Count == 0 {
		t.Fatalf("before it was killed the phone said %+v", out)
	}

	torn := tornLog(t, home)
	s = servePagesIn(t, data)
	other.url = s.url()
	record := "/v1/productions/" + demo.Production.String() + "/records/setUp/" + out.SetUp
	_, h := other.call("GET", record, "")
	other.call("PATCH", record, `{"place":"the other's quay"}`, "If-Match", h.Get("ETag"), "Content-Type", "application/merge-patch+json")

	var back struct {
		Asked []struct {
			Field  string
			Values []string
		}
		Left           []any
		By, Late, Said string
		Bundle         []byte
	}
	phone := browsertest.Browser{Trusts: trusts, Hosts: "MAP set7.local 127.0.0.2", Home: home, Kill: true}
	phone.Run(t, "../testdata/browser/app.mjs", map[string]string{"origin": s.origin, "day": day, "torn": torn}, &back)
	if len(back.Asked) != 1 || back.Asked[0].Field != "place" || back.By != "2nd AC" || len(back.Left) != 0 {
		t.Fatalf("the phone came back with %+v", back)
	}
	slices.Sort(back.Asked[0].Values)
	if want := []string{"the other's quay", "the phone's quay"}; !slices.Equal(back.Asked[0].Values, want) {
		t.Errorf("the question is between %q, want %q", back.Asked[0].Values, want)
	}
	other.heldOnce(out.Takes, out.Edits)
	kept := 0
	err := exchange.ReadBundle(bytes.NewReader(back.Bundle), demo.Production, func(e *logbook.Edit) error {
		if kept++; e.Dot.String() != back.Late {
			t.Errorf("the bundle of what was not sent holds %s", e.Dot)
		}
		return nil
	})
	if err != nil || kept != 1 || !strings.Contains(back.Said, "Phone revoked") {
		t.Errorf("once revoked it says %q and hands over %d edits (%v), want the one that it could not send", back.Said, kept, err)
	}
	s.end(os.Kill)
	var again struct {
		By    string
		Count int
		Lost  bool
	}
	phone.Run(t, "../testdata/browser/app.mjs", map[string]string{"origin": s.origin, "day": day}, &again)
	if again.Count != 1 || again.Lost || again.By != "2nd AC" {
		t.Errorf("killed twice, the phone came back with %+v, want the one that it could not send", again)
	}
}

// tornLog leaves the file that Chromium writes a page's database to as it is where Chromium was killed between the head of a record (a
// checksum, a length of 64, its type: "log_format.md" of LevelDB) and the record itself, which a test cannot time. It says which file.
func tornLog(t testing.TB, home string) string {
	t.Helper()
	found, err := filepath.Glob(filepath.Join(home, "profile/Default/IndexedDB/https_set7.local_*.indexeddb.leveldb/*.log"))
	if err != nil || len(found) != 1 {
		t.Fatalf("the browser writes to %q (%v), want one file", found, err)
	}
	f, err := os.OpenFile(found[0], os.O_APPEND|os.O_WRONLY, 0)
	if err == nil {
		_, err = f.Write([]byte{0x11, 0x22, 0x33, 0x44, 64, 0, 1})
	}
	if err == nil {
		err = f.Close()
	}
	if err != nil {
		t.Fatal(err)
	}
	return found[0]
}

// heldOnce looks that the server holds each take and each edit of the phone once, and that each clip
// of the takes has a row in the colour log.
func (c *caller) heldOnce(takes, edits []string) {
	c.Helper()
	if slices.Sort(edits); len(slices.Compact(slices.Clone(edits))) != len(edits) {
		c.Errorf("the phone gave two edits one dot: %q", edits)
	}
	held := heldBy(c.T, c.url, c.token, demo.Production.String())
	for _, dot := range edits {
		if held[dot] == "" {
			c.Errorf("the server does not hold the phone's edit %s", dot)
		}
	}
	text, _ := c.call("GET", "/v1/productions/"+demo.Production.String()+"/color-log.csv", "")
	rows, err := csv.NewReader(bytes.NewReader([]byte(text))).ReadAll()
	if err != nil {
		c.Fatal(err)
	}
	column, started := slices.Index(rows[0], "take record"), slices.Index(rows[0], "started (UTC)")
	counts := map[string]int{}
	for _, row := range rows[1:] {
		if counts[row[column]]++; !slices.Contains(takes, row[column]) {
			continue
		}
		if at, err := time.Parse(time.RFC3339, row[started]); err != nil || time.Since(at).Abs() > time.Hour {
			c.Errorf("a take of a phone whose clock is two days behind started at %s (%v), and now it is %s", row[started], err, time.Now().UTC())
		}
	}
	for _, take := range takes {
		if counts[take] != 2 {
			c.Errorf("the colour log has %d rows of take %s, want one for each of two cameras", counts[take], take)
		}
	}
}
