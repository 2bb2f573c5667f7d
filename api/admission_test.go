package api

import (
	"crypto/sha256"
	"encoding/base64"
	"fmt"
	"io"
	"net/http"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"evenwhite/api/pairing"
	"evenwhite/api/pairing/prooftest"
	"evenwhite/logbook/bolt"
)

// phone is a device that is not paired yet, and has drawn its key.
func (s *site) phone() *client {
	key := prooftest.Draw()
	key.Clock = s.clock.now
	return &client{site: s, signs: key}
}

// scanned is the secret of an invitation, as it stands in the link that a phone scans.
func (g *stage) scanned(role pairing.Role) string {
	g.Helper()
	g.clock.move(time.Minute) // so that the limits on pairing are not met
	link, _ := g.ask("POST", "/v1/invitations", g.fill(`{"role":"`+string(role)+`","label":"phone","production":"$production"}`)).want(201).at("link").Text()
	secret, ok := strings.CutPrefix(link, g.url+"/pair#")
	if !ok || len(secret) != 22 {
		g.Fatalf("got the link %s, want one of %s/pair with 128 bits behind #", link, g.url)
	}
	return secret
}

// take is what the phone was given.
func (c *client) take(r *reply) *reply {
	c.Helper()
	c.token, _ = r.at("token").Text()
	c.device, _ = r.at("device").ID()
	if kind, _ := r.at("tokenType").Text(); kind != "DPoP" {
		c.Fatalf("got %s, want a token for DPoP", r.body)
	}
	return r
}

// keyed is a phone that came in by its key.
func (g *stage) keyed(role pairing.Role) *client {
	g.Helper()
	c := g.phone()
	c.take(c.ask("POST", "/v1/pairing", `{"code":"`+g.scanned(role)+`"}`).want(201))
	return c
}

func (r *reply) refused(kind, challenge string) {
	r.Helper()
	if p := r.problem(); r.status != 401 || p.Type != problemPrefix+kind || !strings.Contains(r.header.Get("WWW-Authenticate"), challenge) {
		r.Errorf("got %d %s and %q, want 401 %s and %s", r.status, r.body, r.header.Get("WWW-Authenticate"), kind, challenge)
	}
}

func TestAPhoneWithAKeyLivesADay(t *testing.T) {
	g := setStage(t)
	secret := g.scanned(pairing.Editor)
	phone := g.phone()
	body := `{"code":"` + secret + `","label":"phone of the 2nd AC"}`
	first := phone.ask("POST", "/v1/pairing", body, "DPoP", phone.signs.Proof("POST", g.url+"/v1/pairing", "", ""))
	first.refused("nonce", `error="use_dpop_nonce"`)
	nonce := first.header.Get("DPoP-Nonce")
	phone.take(phone.ask("POST", "/v1/pairing", body, "DPoP", phone.signs.Proof("POST", g.url+"/v1/pairing", "", nonce)).want(201))

	t.Run("it reads, logs and exchanges, with a proof for each", func(t *testing.T) {
		phone.ask("GET", g.base+"/records/take?limit=3", "").want(200)
		made := phone.ask("POST", g.base+"/records/note", g.fill(`{"about":"$take","text":"from the floor"}`)).want(201)
		if by, _ := made.at("madeBy").Text(); by != "phone of the 2nd AC" {
			t.Errorf("got %s", by)
		}
		if r := phone.ask("POST", g.base+"/exchange", `{}`).want(200); r.header.Get("DPoP-Nonce") == "" {
			t.Error("the answer brings no nonce for the next proof")
		}
	})
	t.Run("it knows who it is, renames itself, and tells how it stands", func(t *testing.T) {
		phone.signs.Clock = func() time.Time { return g.clock.now().Add(72 * time.Hour) }
		phone.ask("PATCH", "/v1/me", `{"label":"phone of the loader","unsent":12,"program":"phone 0.1"}`).want(200)
		me := phone.ask("GET", "/v1/me", "").want(200)
		for name, want := range map[string]string{"label": `"phone of the loader"`, "unsent": "12", "program": `"phone 0.1"`,
			"keyed": "true", "clockAheadSeconds": "259200", "device": `"` + phone.device.String() + `"`} {
			if got := string(me.at(name)); got != want {
				t.Errorf("%s: got %s, want %s", name, got, want)
			}
		}
		phone.signs.Clock = func() time.Time { return g.clock.now().Add(-72 * time.Hour) }
		if got := phone.ask("GET", "/v1/me", "").want(200).at("clockAheadSeconds"); got != "-259200" {
			t.Errorf("got %s", got)
		}
		phone.ask("PATCH", "/v1/me", `{"label":null}`).want(400)
		phone.ask("PATCH", "/v1/me", `{"unsent":-1}`).want(400)
	})
	t.Run("after days a proof alone gets it the next token", func(t *testing.T) {
		g.clock.move(9 * 24 * time.Hour)
		phone.ask("GET", g.base, "").refused("expired", `error="invalid_token"`)
		phone.token = ""
		phone.take(phone.ask("POST", "/v1/token", `{"unsent":40}`).want(200))
		if got := phone.ask("GET", "/v1/me", "").want(200).at("unsent"); got != "40" {
			t.Errorf("got %s unsent, want 40", got)
		}
		phone.take(phone.ask("POST", "/v1/token", `{}`).want(200)) // and under the token
	})
	t.Run("it is paired again with one more role, and is the same device", func(t *testing.T) {
		renewed, err := g.auth.Renew(g.device)
		if err != nil {
			t.Fatal(err)
		}
		g.token = renewed.Token
		was := phone.device
		phone.token = ""
		phone.take(phone.ask("POST", "/v1/pairing", `{"code":"`+g.scanned(pairing.Reader)+`"}`).want(201))
		if phone.device != was {
			t.Errorf("got %s, want %s", phone.device, was)
		}
	})
	t.Run("revoked, it is refused at its next request, and its stream ends", func(t *testing.T) {
		stream := phone.listen(g.base+"/events", "")
		if stream.response.StatusCode != 200 {
			t.Fatalf("the stream is answered %d", stream.response.StatusCode)
		}
		g.ask("DELETE", "/v1/devices/"+phone.device.String(), "").want(204)
		if _, err := io.Copy(io.Discard, stream.lines); err != nil { // comes to its end
			t.Errorf("the stream: %v", err)
		}
		phone.ask("GET", g.base, "").refused("revoked", `error="invalid_token"`)
		phone.token = ""
		phone.ask("POST", "/v1/token", `{}`).refused("revoked", "")
		phone.ask("POST", "/v1/pairing", `{"code":"BBBBBBBB"}`).want(403)
	})
}

// A device that an older version paired, as that left it in the store: it has a secret, and no key.
func TestADeviceOfBeforeEnrolsItsKey(t *testing.T) {
	path, id := filepath.Join(t.TempDir(), "log.db"), drawID()
	store, err := bolt.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	hash := sha256.Sum256([]byte("told once"))
	err = store.Keep("device/"+id.String(), fmt.Appendf(nil,
		`{"id":"%s","label":"phone","grants":{"*":"reader"},"pairedAt":"2030-01-01T00:00:00Z","secretHash":"%s"}`,
		id, base64.StdEncoding.EncodeToString(hash[:])))
	if err == nil {
		err = store.Close()
	}
	if err != nil {
		t.Fatal(err)
	}
	s := openSiteOn(t, path, pairing.DrawKey())
	old := &client{site: s}
	secret := fmt.Sprintf(`{"device":"%s","secret":"told once"}`, id)
	r := old.ask("POST", "/v1/token", secret).want(200)
	if old.token, _ = r.at("token").Text(); r.at("tokenType") != `"Bearer"` {
		t.Errorf("got %s", r.body)
	}
	if got := old.ask("GET", "/v1/me", "").want(200).at("keyed"); got != "false" {
		t.Errorf("got keyed %s, want false", got)
	}
	bearer := *old
	old.signs, old.token = s.phone().signs, ""
	old.take(old.ask("POST", "/v1/token", secret).want(200))
	if r := old.ask("GET", "/v1/me", "").want(200); r.at("keyed") != "true" || old.device != id {
		t.Errorf("got %s, want the same device, and keyed", r.body)
	}
	bearer.ask("GET", "/v1/productions", "").refused("bad-token", `error="invalid_token"`)
	(&client{site: s}).ask("POST", "/v1/token", secret).refused("bad-secret", "")
}

func TestLeaving(t *testing.T) {
	g := setStage(t)
	phone := g.keyed(pairing.Editor)
	for _, path := range []string{"/v1/me", "/v1/me?unsent=3", "/v1/me?unsent=3&lose=false"} {
		if p := phone.ask("DELETE", path, "").want(409).problem(); p.Type != problemPrefix+"unsent" {
			t.Errorf("%s: got %s", path, p.Type)
		}
	}
	phone.ask("DELETE", "/v1/me?unsent=0", "").want(204)
	phone.ask("GET", "/v1/me", "").refused("revoked", "")
	if p := g.ask("DELETE", "/v1/me?unsent=0", "").want(409).problem(); p.Type != problemPrefix+"last-owner" {
		t.Errorf("the last owner: got %s", p.Type)
	}
	lost := g.keyed(pairing.Reader)
	lost.ask("DELETE", "/v1/me?unsent=3&lose=true", "").want(204)
}

func TestAClaimIsAnsweredByAnOwner(t *testing.T) {
	g := setStage(t)
	was, phone := drawID(), g.phone()
	claim := `,"claims":{"device":"` + was.String() + `","label":"phone of the gaffer"}}`
	r := phone.take(phone.ask("POST", "/v1/pairing", `{"code":"`+g.scanned(pairing.Editor)+`"`+claim).want(201))
	if id, _ := r.at("claims").ID(); id != was || phone.device == was {
		t.Fatalf("got %s, want a claim of %s that waits", r.body, was)
	}
	shown := ""
	for item := range g.ask("GET", "/v1/devices", "").want(200).at("devices").Items() {
		if text, ok := item.Member("claims").Member("label").Text(); ok {
			shown = text
		}
	}
	if shown != "phone of the gaffer" {
		t.Errorf("the owner is shown %q, want whose it says it is", shown)
	}
	phone.ask("POST", "/v1/devices/"+phone.device.String()+"/claim", `{"agreed":true}`).want(403)
	g.ask("POST", "/v1/devices/"+g.device.String()+"/claim", `{"agreed":true}`).want(404)
	g.ask("POST", "/v1/devices/"+phone.device.String()+"/claim", `{"agreed":true}`).want(200)
	if id, _ := phone.ask("GET", "/v1/me", "").want(200).at("device").ID(); id != was {
		t.Errorf("got %s, want %s", id, was)
	}
	thief := g.phone()
	if p := thief.ask("POST", "/v1/pairing", `{"code":"`+g.scanned(pairing.Editor)+`"`+claim).want(409).problem(); p.Type != problemPrefix+"exists" {
		t.Errorf("got %s", p.Type)
	}
}

func TestAScriptOfAnOwner(t *testing.T) {
	g := setStage(t)
	local := g.keyed(pairing.Owner)
	made := local.ask("POST", "/v1/scripts", g.fill(`{"role":"reader","label":"dailies","hours":48,"production":"$production"}`)).want(201)
	token, _ := made.at("token").Text()
	script := &client{site: g.site, token: token}
	script.ask("GET", g.base, "").want(200)
	script.ask("GET", "/v1/devices", "").want(403)
	script.ask("POST", g.base+"/records/note", g.fill(`{"about":"$take","text":"x"}`)).want(403)
	local.ask("POST", "/v1/scripts", `{"role":"reader","label":"dailies","hours":48}`).want(403)
	local.ask("POST", "/v1/scripts", g.fill(`{"role":"owner","label":"x","hours":48,"production":"$production"}`)).want(400)
	local.ask("POST", "/v1/scripts", g.fill(`{"role":"reader","label":"x","hours":0,"production":"$production"}`)).want(400)
	if strings.Contains(g.log.String(), token) {
		t.Error("the log holds the token")
	}
	g.clock.move(48 * time.Hour)
	script.ask("GET", g.base, "").refused("expired", "")
}

func TestWhatWasDoneIsListed(t *testing.T) {
	g := setStage(t)
	phone := g.keyed(pairing.Guest)
	for range 2 {
		phone.ask("GET", g.base+"/color-log.csv", "").want(200)
	}
	g.ask("DELETE", "/v1/devices/"+phone.device.String(), "").want(204)
	var got []string
	for item := range g.ask("GET", "/v1/audit", "").want(200).at("entries").Items() {
		what, _ := item.Member("what").Text()
		by, _ := item.Member("by").Member("label").Text()
		about, _ := item.Member("about").Text()
		from, _ := item.Member("from").Text()
		got = append(got, what+" by "+by+" from "+from+" about "+about)
	}
	want := []string{"revoked by desk from 127.0.0.1 about phone", "exported by phone from 127.0.0.1 about color-log.csv of " + g.title(),
		"paired by phone from 127.0.0.1 about guest"}
	if fmt.Sprint(got) != fmt.Sprint(want) {
		t.Errorf("got\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
	page := g.ask("GET", "/v1/audit?limit=2", "").want(200)
	next, _ := page.at("next").Text()
	if n := g.ask("GET", "/v1/audit?limit=2&cursor="+next, "").want(200).count("entries"); n != 1 || page.header.Get("Link") == "" {
		t.Errorf("the second page has %d, want 1, and the first a link to it", n)
	}
	g.ask("GET", "/v1/audit?cursor=0", "").want(400)
}

func (g *stage) title() string {
	text, _ := g.ask("GET", g.base, "").want(200).at("title").Text()
	return text
}

// Attacks over HTTP. What a proof must hold is tried one by one in api/pairing/proof.
func TestAttacksChangeNothingAndLearnNothing(t *testing.T) {
	g := setStage(t)
	phone, thief := g.keyed(pairing.Owner), g.keyed(pairing.Guest)
	at := g.url + g.base
	used := phone.signs.Proof("GET", at, phone.token, g.auth.Nonce())
	phone.ask("GET", g.base, "", "DPoP", used).want(200)
	before, log := g.head(), len(g.log.String())
	stolen, title := phone.token, g.title()
	for name, c := range map[string]struct {
		authorization string
		proofs        []string
		kind          string
	}{
		"the stolen token alone":       {"DPoP " + stolen, nil, "bad-proof"},
		"the stolen token as bearer's": {"Bearer " + stolen, nil, "no-proof"},
		"with the thief's proof":       {"DPoP " + stolen, []string{thief.signs.Proof("GET", at, stolen, g.auth.Nonce())}, "bad-proof"},
		"with a proof that was used":   {"DPoP " + stolen, []string{used}, "bad-proof"},
		"with a proof for a change":    {"DPoP " + stolen, []string{phone.signs.Proof("DELETE", at, stolen, g.auth.Nonce())}, "bad-proof"},
		"with a proof for elsewhere":   {"DPoP " + stolen, []string{phone.signs.Proof("GET", g.url+"/v1/me", stolen, g.auth.Nonce())}, "bad-proof"},
		"with a proof for another server": {"DPoP " + stolen,
			[]string{phone.signs.Proof("GET", "https://set8.local:8443"+g.base, stolen, g.auth.Nonce())}, "bad-proof"},
		"with a proof of another token": {"DPoP " + stolen, []string{phone.signs.Proof("GET", at, thief.token, g.auth.Nonce())}, "bad-proof"},
		"with an old nonce":             {"DPoP " + stolen, []string{phone.signs.Proof("GET", at, stolen, "yesterday's")}, "nonce"},
		"with two proofs":               {"DPoP " + stolen, []string{used, phone.signs.Proof("GET", at, stolen, g.auth.Nonce())}, "bad-proof"},
		"with a proof of 20 kB":         {"DPoP " + stolen, []string{strings.Repeat("A", 20000)}, "bad-proof"},
	} {
		t.Run(name, func(t *testing.T) {
			request, err := http.NewRequest("GET", at, nil)
			if err != nil {
				t.Fatal(err)
			}
			request.Header.Set("Authorization", c.authorization)
			request.Header["Dpop"] = c.proofs
			r := (&client{site: g.site}).do(request)
			r.refused(c.kind, "DPoP ")
			if strings.Contains(string(r.body), title) || strings.Contains(string(r.body), phone.device.String()) {
				t.Errorf("the answer tells %s", r.body)
			}
		})
	}
	if g.head() != before {
		t.Error("the log of edits changed")
	}
	for _, secret := range []string{stolen, used} {
		if strings.Contains(g.log.String()[log:], secret) {
			t.Error("the log holds a token or a proof")
		}
	}
	phone.ask("GET", g.base, "").want(200)
}

func TestOneOfFiftyComesInByACode(t *testing.T) {
	g := setStage(t)
	secret := g.scanned(pairing.Editor)
	statuses := make(chan int, 50)
	var all sync.WaitGroup
	for range 50 {
		phone := g.phone()
		all.Go(func() { statuses <- phone.ask("POST", "/v1/pairing", `{"code":"`+secret+`"}`).status })
	}
	all.Wait()
	close(statuses)
	got := map[int]int{}
	for status := range statuses {
		got[status]++
	}
	if got[201] != 1 || got[201]+got[403]+got[429]+got[503] != 50 { // 503: more of one address than are served at once
		t.Errorf("got %v, want 201 once, and 403, 429 or 503 for the others", got)
	}
	if n := g.ask("GET", "/v1/devices", "").want(200).count("devices"); n != 3 {
		t.Errorf("%d devices are listed, want the server's own, the desk and one more", n)
	}
}

func TestDeepAndLongBodiesAreRefused(t *testing.T) {
	g := setStage(t)
	phone := g.keyed(pairing.Editor)
	before := g.head()
	deep := func(n int) string { return strings.Repeat(`{"a":`, n) + "1" + strings.Repeat("}", n) }
	if r := phone.ask("POST", g.base+"/records/note", deep(33)); r.status != 400 || !strings.Contains(string(r.body), "32") {
		t.Errorf("33 deep: got %d %s, want 400 that says 32", r.status, r.body)
	}
	edits := make([]string, 501)
	for i := range edits {
		edits[i] = g.edit("00c0ffee00c0ffee", i+1, "note", drawID().String(), `{"about":"$take","text":"x"}`)
	}
	if r := phone.ask("POST", g.base+"/exchange", `{"edits":[`+strings.Join(edits, ",")+`]}`); r.status != 400 || !strings.Contains(string(r.body), "500") {
		t.Errorf("501 edits: got %d %.300s, want 400 that says 500", r.status, r.body)
	}
	if g.head() != before {
		t.Error("the log changed")
	}
}
