//go:build !js

package handset_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"evenwhite/api"
	"evenwhite/api/pairing"
	"evenwhite/logbook"
	"evenwhite/logbook/growth"
	"evenwhite/logbook/kinds"
)

// service is the real service on a store, and a device that may read.
type service struct {
	testing.TB
	production logbook.ID
	handler    http.Handler
	token      string
}

func serve(t testing.TB, store logbook.Store, production logbook.ID, now logbook.Millis) *service {
	t.Helper()
	clock := func() time.Time { return now.Time() }
	quiet := slog.New(slog.NewTextHandler(io.Discard, nil))
	auth, err := pairing.OpenAuth(pairing.Config{Keep: store, Key: pairing.DrawKey(), Now: clock, Log: quiet})
	if err != nil {
		t.Fatal(err)
	}
	handler, err := api.New(api.Config{Names: []string{"example.com"}, Store: store, Auth: auth, Now: clock, Log: quiet, Program: "test"})
	if err != nil {
		t.Fatal(err)
	}
	script, err := auth.MakeScript(pairing.Reader, "phone", production, time.Hour)
	if err != nil {
		t.Fatal(err)
	}
	return &service{t, production, handler, script.Token}
}

func (s *service) get(path string) (status int, body []byte) {
	request := httptest.NewRequest("GET", "/v1/productions/"+s.production.String()+path, nil)
	request.Header.Set("Authorization", "Bearer "+s.token)
	recorder := httptest.NewRecorder()
	s.handler.ServeHTTP(recorder, request)
	return recorder.Code, recorder.Body.Bytes()
}

// A comparison puts the service's answers beside the phone's.
type comparison struct {
	*service
	phone *machine
	zone  int            // of the production, in minutes
	equal map[string]int // by message
	most  map[string]int // the longest of them
}

// same asks both: the phone's answer, or a member of it, must be the service's, byte for byte; so
// must be the word for what cannot be answered.
func (c *comparison) same(path, name, text, member string) {
	c.Helper()
	status, want := c.get(path)
	a, ok := c.phone.Call(name, []byte(text), nil)
	got := a.JSON
	if !ok || status != http.StatusOK {
		var problem, fault struct{ Type, Detail string }
		_, _ = json.Unmarshal(want, &problem), json.Unmarshal(got, &fault)
		words := problem.Detail == fault.Detail || fault.Type == "bad-request" // there each speaks of its own members
		if ok || problem.Type != "urn:evenwhite:problem:"+fault.Type || !words {
			c.Errorf("%s: the service answers %d %s; the phone's %s %s answers %s", path, status, want, name, text, got)
		}
		return
	}
	if member != "" {
		var members map[string]json.RawMessage
		if err := json.Unmarshal(got, &members); err != nil {
			c.Fatal(err)
		}
		got = members[member]
	}
	if !bytes.Equal(got, want) {
		c.Errorf("%s and %s %s: the phone answers\n%s\nthe service\n%s", path, name, text, got, want)
	}
	c.equal[name]++
	c.most[name] = max(c.most[name], len(got))
}

func (c *comparison) drawn(path, name, text string) {
	c.Helper()
	status, want := c.get(path)
	if got := c.phone.ask(name, text, nil).Bytes; status != http.StatusOK || !bytes.Equal(got, want) {
		c.Errorf("%s: the phone draws\n%s\nthe service (%d)\n%s", path, got, status, want)
	}
	c.equal[name+" drawn"]++
}

func TestAPhoneAnswersWhatTheServiceDoes(t *testing.T) {
	store := logbook.NewMemory()
	c := compare(t, store, demoLog(t, store), asked, 60, 1)
	for _, name := range []string{"now", "match", "plan", "deviations", "correct", "record", "history", "list",
		"conflicts", "twins", "quarantine", "color", "learnt", "plane", "drift", "swatches", "plane drawn", "drift drawn", "swatches drawn"} {
		if c.equal[name] == 0 || !strings.HasSuffix(name, "drawn") && c.most[name] < 100 {
			t.Errorf("%s: %d answers were compared, the longest of %d bytes: too little to say anything", name, c.equal[name], c.most[name])
		}
	}
}

func TestAPhoneAnswersWhatTheServiceDoesOfALongJobsFirstDay(t *testing.T) {
	store := logbook.NewMemory()
	l := logOf(t, store)
	edits := growth.LongJob(1)
	now := logbook.Millis(0)
	for _, e := range edits {
		now = max(now, e.Corrected()+60_000)
	}
	if _, err := l.Push(edits, other, now); err != nil {
		t.Fatal(err)
	}
	c := compare(t, store, l, now, 0, 16)
	for _, name := range []string{"now", "match", "plan", "deviations", "correct", "record", "history", "list", "color", "plane", "drift"} {
		if c.equal[name] < 5 || c.most[name] < 100 {
			t.Errorf("%s: %d answers were compared, the longest of %d bytes: too little to say anything", name, c.equal[name], c.most[name])
		}
	}
}

// logOf is an empty log of the long job.
func logOf(t *testing.T, store logbook.Store) *logbook.Log {
	t.Helper()
	l, err := logbook.OpenLog(store, growth.Production, kinds.Rules, func() logbook.Line { return logbook.Line{0xee} })
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// compare asks phone and service all that can be asked of a log, and of its records one in so many of a kind.
func compare(t *testing.T, store logbook.Store, l *logbook.Log, at logbook.Millis, zone, one int) *comparison {
	t.Helper()
	production := l.Production()
	c := &comparison{serve(t, store, production, at), heldOf(t, store, production), zone, map[string]int{}, map[string]int{}}
	now := fmt.Sprintf(`"now":%d`, at)
	l.Read(func(b *logbook.Book) {
		c.lists(b, now)
		for _, v := range b.Records(kinds.SetUp) {
			c.setUp(b, v, now)
		}
		for _, kind := range b.Kinds() {
			for i, v := range b.AllRecords(kind) {
				if i%one == 0 {
					c.record(v, now)
				}
			}
		}
	})
	return c
}

func (c *comparison) lists(b *logbook.Book, now string) {
	c.same("/conflicts", "conflicts", `{`+now+`}`, "")
	c.same("/conflicts?limit=1", "conflicts", `{"limit":1,`+now+`}`, "")
	c.same("/conflicts?cursor=x", "conflicts", `{"limit":1,`+now+`,"cursor":"x"}`, "")
	c.same("/twins", "twins", `{}`, "")
	c.same("/quarantine", "quarantine", `{}`, "")
	c.same("/deviations", "deviations", `{`+now+`}`, "")
	c.same("/deviations?accepted=true", "deviations", `{"accepted":true,`+now+`}`, "")
	for _, day := range b.Records(kinds.Day) {
		c.same("/deviations?day="+day.ID.String(), "deviations", fmt.Sprintf(`{"day":"%s",%s}`, day.ID, now), "")
		c.same("/records/take?limit=3&day="+day.ID.String(), "list", fmt.Sprintf(`{"kind":"take","limit":3,"day":"%s"}`, day.ID), "")
	}
	for _, kind := range b.Kinds() {
		c.same("/records/"+string(kind), "list", fmt.Sprintf(`{"kind":"%s"}`, kind), "")
		_, first := c.get("/records/" + string(kind) + "?limit=1")
		var page struct{ Next string }
		if err := json.Unmarshal(first, &page); err == nil && page.Next != "" {
			c.same("/records/"+string(kind)+"?deleted=true&limit=2&cursor="+url.QueryEscape(page.Next), "list",
				fmt.Sprintf(`{"kind":"%s","deleted":true,"limit":2,"cursor":"%s"}`, kind, page.Next), "")
		}
	}
	nowhere := logbook.ID{5: 7, 6: 0x70, 8: 0x80}
	c.same("/set-ups/"+nowhere.String()+"/now", "now", fmt.Sprintf(`{"setUp":"%s",%s}`, nowhere, now), "")
	c.same("/records/take/"+nowhere.String(), "record", fmt.Sprintf(`{"kind":"take","record":"%s"}`, nowhere), "record")
}

func (c *comparison) setUp(b *logbook.Book, v logbook.View, now string) {
	at, asks := "/set-ups/"+v.ID.String(), fmt.Sprintf(`{"setUp":"%s",%s`, v.ID, now)
	c.same(at+"/now", "now", asks+"}", "")
	c.same(at+"/plan", "plan", asks+"}", "")
	c.same("/deviations?setUp="+v.ID.String(), "deviations", asks+"}", "")
	for _, name := range []string{"plane", "drift", "swatches"} {
		c.same(at+"/"+name, name, asks+"}", "")
		c.drawn(at+"/"+name+".svg", name, asks+fmt.Sprintf(`,"draw":true,"zoneMinutes":%d}`, c.zone))
	}
	for _, camera := range b.Records(kinds.Camera) {
		c.same(at+"/match?camera="+camera.ID.String(), "match", asks+`,"camera":"`+camera.ID.String()+`"}`, "")
	}
}

func (c *comparison) record(v logbook.View, now string) {
	at, asks := fmt.Sprintf("/records/%s/%s", v.Kind, v.ID), fmt.Sprintf(`{"kind":"%s","record":"%s"}`, v.Kind, v.ID)
	c.same(at, "record", asks, "record")
	c.same(at+"/history", "history", asks, "")
	about := func(member string) string { return fmt.Sprintf(`{"%s":"%s",%s}`, member, v.ID, now) }
	switch v.Kind {
	case kinds.Reading:
		c.same(at+"/color?reference=daylight", "color", strings.Replace(about("reading"), "}", `,"reference":"daylight"}`, 1), "")
		c.same(at+"/color", "color", about("reading"), "")
	case kinds.Sample:
		c.same(at+"/color", "color", about("sample"), "")
	case kinds.Clip:
		c.same(at+"/corrections", "correct", about("clip"), "")
	case kinds.Lamp, kinds.Gel, kinds.Meter:
		c.same(at+"/learnt", "learnt", about(string(v.Kind)), "")
	}
}
