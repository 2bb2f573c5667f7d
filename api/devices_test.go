package api

import (
	"bytes"
	"fmt"
	"maps"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"evenwhite/api/pairing"
	"evenwhite/logbook"
)

// invited pairs a device as people do: one asks for a code, the other types it.
func (g *stage) invited(role pairing.Role, label string) (*client, *reply) {
	g.Helper()
	code, _ := g.ask("POST", "/v1/invitations", g.fill(`{"role":"`+string(role)+`","label":"`+label+`","production":"$production"}`)).want(201).at("code").Text()
	g.clock.move(time.Minute) // so that the limits on pairing are not met
	typed := strings.ToLower(code[:4] + "-" + code[4:])
	c := g.phone()
	return c, c.take(c.ask("POST", "/v1/pairing", `{"code":"`+typed+`"}`).want(201))
}

func TestDevicesOfADay(t *testing.T) {
	g := setStage(t)
	focus, admission := g.invited(pairing.Editor, "2nd AC")
	gaffer, _ := g.invited(pairing.Editor, "gaffer")
	script, _ := g.invited(pairing.Reader, "script")
	guest, _ := g.invited(pairing.Guest, "post")
	clip := g.record("clip", "clip")

	t.Run("each may what its role says, and is named in what it wrote", func(t *testing.T) {
		for name, c := range map[string]*client{"2nd AC": focus, "gaffer": gaffer} {
			made := c.ask("POST", g.base+"/records/note", g.fill(`{"about":"$take","text":"from the floor"}`)).want(201)
			if by, _ := made.at("madeBy").Text(); by != name {
				t.Errorf("got %s, want %s", by, name)
			}
		}
		script.ask("GET", clip, "").want(200)
		script.ask("POST", g.base+"/records/note", g.fill(`{"about":"$take","text":"x"}`)).want(403)
		guest.ask("GET", clip, "").want(403)
		guest.ask("GET", g.base+"/color-log.csv", "").want(200)
		guest.ask("GET", g.base+"/color-log.json", "").want(200)
	})
	t.Run("a token is renewed under itself, and by a proof alone", func(t *testing.T) {
		next := focus.ask("POST", "/v1/token", `{}`).want(200)
		if next.at("device") != admission.at("device") {
			t.Errorf("got %s", next.body)
		}
		again := &client{site: g.site, signs: focus.signs}
		again.take(again.ask("POST", "/v1/token", `{}`).want(200))
		again.ask("GET", clip, "").want(200)
	})
	t.Run("a code alone lets nobody in", func(t *testing.T) {
		code, _ := g.ask("POST", "/v1/invitations", `{"role":"owner","label":"x"}`).want(201).at("code").Text()
		nobody := &client{site: g.site}
		nobody.ask("POST", "/v1/pairing", `{"code":"`+code+`"}`).refused("no-proof", `error="invalid_dpop_proof"`)
		nobody.ask("POST", "/v1/pairing", `{"code":"`+code+`","secret":"x"}`).want(400)
		if n := g.ask("GET", "/v1/invitations", "").want(200).count("invitations"); n != 1 {
			t.Errorf("%d invitations are open, want the one", n)
		}
		g.ask("DELETE", "/v1/invitations/"+code, "").want(204)
	})
	t.Run("a code is good once", func(t *testing.T) {
		code, _ := g.ask("POST", "/v1/invitations", `{"role":"guest","label":"x"}`).want(201).at("code").Text()
		g.phone().ask("POST", "/v1/pairing", `{"code":"`+code+`"}`).want(201)
		g.phone().ask("POST", "/v1/pairing", `{"code":"`+code+`"}`).want(403)
	})
	t.Run("the link and the picture to scan are told once", func(t *testing.T) {
		made := g.ask("POST", "/v1/invitations", `{"role":"guest","label":"x"}`).want(201)
		code, _ := made.at("code").Text()
		link, _ := made.at("link").Text()
		if picture, _ := made.at("drawing").Text(); picture != "<svg>"+link+"</svg>" {
			t.Errorf("the picture of %s is %q", link, picture)
		}
		_, secret, is := strings.Cut(link, "#")
		if !is || len(secret) < 22 { // 128 bits
			t.Fatalf("the link %s has no secret", link)
		}
		list := g.ask("GET", "/v1/invitations", "").want(200)
		if list.count("invitations") != 1 {
			t.Errorf("the list says %s", list.body)
		}
		for _, once := range []string{"link", secret, "drawing", "svg"} {
			if bytes.Contains(list.body, []byte(once)) {
				t.Errorf("the list tells again %q: %s", once, list.body)
			}
		}
		g.ask("DELETE", "/v1/invitations/"+code, "").want(204)
	})
	t.Run("a code that was withdrawn lets nobody in", func(t *testing.T) {
		code, _ := g.ask("POST", "/v1/invitations", `{"role":"guest","label":"x"}`).want(201).at("code").Text()
		if n := g.ask("GET", "/v1/invitations", "").want(200).count("invitations"); n != 1 {
			t.Errorf("%d invitations are open, want 1", n)
		}
		g.ask("DELETE", "/v1/invitations/"+code, "").want(204)
		g.ask("DELETE", "/v1/invitations/"+code, "").want(404)
		g.phone().ask("POST", "/v1/pairing", `{"code":"`+code+`"}`).want(403)
	})
	t.Run("a revoked device is refused from its next request on, and what it wrote stays", func(t *testing.T) {
		focus.ask("GET", clip, "").want(200)
		g.ask("DELETE", "/v1/devices/"+focus.device.String(), "").want(204)
		before := g.head()
		for _, r := range []*reply{
			focus.ask("GET", clip, ""),
			focus.ask("POST", g.base+"/exchange", `{}`),
			focus.ask("POST", g.base+"/records/note", g.fill(`{"about":"$take","text":"x"}`)),
			focus.ask("POST", "/v1/token", `{}`),
			(&client{site: g.site, signs: focus.signs}).ask("POST", "/v1/token", `{}`),
		} {
			if p := r.problem(); r.status != 401 || p.Type != problemPrefix+"revoked" {
				t.Errorf("got %d %s, want 401 revoked", r.status, p.Type)
			}
		}
		if g.head() != before {
			t.Error("the log changed")
		}
		gaffer.ask("GET", clip, "").want(200)
		if n := g.ask("GET", g.base+"/records/note", "").want(200).count("records"); n != 3 {
			t.Errorf("there are %d notes, want 3", n)
		}
		g.isListedAsRevoked(t, focus.device)
		g.ask("DELETE", "/v1/devices/"+drawID().String(), "").want(404)
		g.ask("DELETE", "/v1/devices/"+g.auth.Own().String(), "").want(409)
	})
}

func (g *stage) isListedAsRevoked(t *testing.T, device logbook.ID) {
	t.Helper()
	for item := range g.ask("GET", "/v1/devices", "").want(200).at("devices").Items() {
		if item.Member("own") == "true" && item.Member("pairedAt") != "" {
			t.Errorf("nobody paired the server's own device: got %s", item)
		}
		if id, _ := item.Member("device").ID(); (item.Member("revokedAt") != "") != (id == device) {
			t.Errorf("got %s, want only %s revoked", item, device)
		}
	}
}

func TestADeviceWithTheLongestLabelCanWrite(t *testing.T) {
	g := setStage(t)
	for _, label := range []string{strings.Repeat("ä", 64), strings.Repeat("🎬", 64)} {
		if _, err := g.auth.Invite("the test", pairing.Editor, label, g.production); err != nil {
			continue // refused at once, not at the first take
		}
		phone := g.admit(pairing.Editor, label, g.production)
		phone.ask("POST", g.base+"/records/note", g.fill(`{"about":"$take","text":"by a long name"}`)).want(201)
	}
	if _, err := g.auth.Invite("the test", pairing.Editor, strings.Repeat("ä", 64), g.production); err != nil {
		t.Errorf("64 letters: %v", err)
	}
}

func TestAnOwnerOfOneProductionLearnsNoCodesOfTheServer(t *testing.T) {
	g := setStage(t)
	local := g.admit(pairing.Owner, "desk of one production", g.production)
	invitation, err := g.auth.Invite("the test", pairing.Owner, "the next desk", logbook.ID{})
	if err != nil {
		t.Fatal(err)
	}
	open := local.ask("DELETE", "/v1/invitations/"+invitation.Code, "").want(404).problem()
	none := local.ask("DELETE", "/v1/invitations/BBBBBBBB", "").want(404).problem()
	if open.Type != none.Type || open.Detail != none.Detail {
		t.Errorf("got %+v for a code that is open and %+v for one that is none, want no difference", open, none)
	}
	if len(g.auth.Invitations()) != 1 {
		t.Error("the invitation was withdrawn")
	}
}

func TestAnOwnerOfOneProductionListsAndRevokesItsDevices(t *testing.T) {
	g := setStage(t)
	other, err := logbook.ParseID(g.ask("POST", "/v1/productions", newProduction).want(201).id())
	if err != nil {
		t.Fatal(err)
	}
	local := g.admit(pairing.Owner, "desk of one production", g.production)
	phone := g.admit(pairing.Editor, "phone", g.production)
	stranger := g.admit(pairing.Editor, "phone of the other", other)
	both := g.admit(pairing.Reader, "tablet", other)
	both.join(pairing.Editor, "again", g.production)
	listed := func() map[string]string {
		g.Helper()
		out := map[string]string{}
		for item := range local.ask("GET", "/v1/devices", "").want(200).at("devices").Items() {
			label, _ := item.Member("label").Text()
			out[label] = string(item.Member("roles"))
		}
		return out
	}
	here, one := `{"`+g.production.String()+`":"editor"}`, `{"*":"owner"}`
	want := map[string]string{"this server": one, "desk": one, "phone": here, "tablet": here,
		"desk of one production": `{"` + g.production.String() + `":"owner"}`}
	if got := listed(); !maps.Equal(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
	local.ask("DELETE", "/v1/devices/"+stranger.device.String(), "").want(404)
	local.ask("DELETE", "/v1/devices/"+g.device.String(), "").want(403)
	stranger.ask("GET", "/v1/productions/"+other.String(), "").want(200)

	local.ask("DELETE", "/v1/devices/"+phone.device.String(), "").want(204)
	if p := phone.ask("GET", g.base, ""); p.status != 401 || p.problem().Type != problemPrefix+"revoked" {
		t.Errorf("a device that had its role here alone: got %d, want 401 revoked", p.status)
	}
	local.ask("DELETE", "/v1/devices/"+both.device.String(), "").want(204)
	both.ask("GET", g.base, "").want(403)
	both.ask("GET", "/v1/productions/"+other.String(), "").want(200)
	if _, still := listed()["tablet"]; still {
		t.Error("a device that has no role here any more is listed")
	}
	phone.ask("GET", "/v1/devices", "").want(401)
	both.ask("GET", "/v1/devices", "").want(403)
}

func TestTheLastOwnerIsNotRevokedByAccident(t *testing.T) {
	g := setStage(t)
	second := g.admit(pairing.Owner, "laptop", logbook.ID{})
	g.admit(pairing.Owner, "desk of one production", g.production) // is none of the server
	second.ask("DELETE", "/v1/devices/"+g.device.String(), "").want(204)
	r := second.ask("DELETE", "/v1/devices/"+second.device.String(), "").want(409)
	if p := r.problem(); p.Type != problemPrefix+"last-owner" || !strings.Contains(p.Detail, "lastOwner=true") {
		t.Errorf("got %+v", p)
	}
	second.ask("GET", "/v1/devices", "").want(200)
	second.ask("DELETE", "/v1/devices/"+second.device.String()+"?lastOwner=true", "").want(204)
	second.ask("GET", "/v1/devices", "").want(401)
}

func TestPairingLimitsCannotBeDodgedByAHeader(t *testing.T) {
	s := openSite(t)
	service, err := New(Config{Names: calledSo, Site: Site{Origin: s.url}, Store: s.store, Auth: s.auth, Now: s.clock.now, Log: s.logger,
		Program: "evenwhite test"})
	if err != nil {
		t.Fatal(err)
	}
	try := func(i int) int {
		req := httptest.NewRequest(http.MethodPost, "/v1/pairing", strings.NewReader(`{"code":"BCDFGHJK"}`))
		req.Header.Set("Content-Type", "application/json")
		s.phone().show(req)
		for _, name := range []string{"X-Forwarded-For", "X-Real-IP", "Forwarded"} {
			req.Header.Set(name, fmt.Sprintf("198.51.100.%d", i))
		}
		rec := httptest.NewRecorder()
		service.ServeHTTP(rec, req)
		return rec.Code
	}
	const allowed = 10 // a minute
	for i := range allowed {
		if got := try(i); got != http.StatusForbidden {
			t.Fatalf("try %d: got %d, want 403", i, got)
		}
	}
	if got := try(allowed); got != http.StatusTooManyRequests {
		t.Errorf("one try more: got %d, want 429", got)
	}
}
