package api

import (
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"evenwhite/api/pairing"
)

// seated serves the site's store to somebody whom the server itself lets in.
func (g *stage) seated(role func() pairing.Role) func(method, path, body, media string) *reply {
	handler, err := New(Config{Names: calledSo, Store: g.store, Logs: g.logs, Auth: g.auth, Now: g.clock.now, Log: g.logger,
		Program: "evenwhite test", Seat: func(*http.Request) (string, pairing.Role) { return "this machine", role() }})
	if err != nil {
		g.Fatal(err)
	}
	return func(method, path, body, media string) *reply {
		r := httptest.NewRequest(method, path, strings.NewReader(body))
		r.Header.Set("Content-Type", media)
		w := httptest.NewRecorder()
		handler.ServeHTTP(w, r)
		return answered(g.T, w.Result(), w.Body.Bytes())
	}
}

func TestWhoSitsAtTheMachineMayWhatItsRoleMay(t *testing.T) {
	g := setStage(t)
	role := pairing.Owner
	ask := g.seated(func() pairing.Role { return role })
	const json = "application/json"
	ask("GET", "/v1/devices", "", "").want(200)
	ask("POST", "/v1/invitations", `{"role":"editor","label":"B camera"}`, json).want(201)
	made := ask("POST", g.base+"/records/note", g.fill(`{"about":"$take","text":"from the desk"}`), json).want(201)
	if by, _ := made.at("madeBy").Text(); by != "this machine" {
		t.Errorf("the note is by %q: %s", by, made.body)
	}
	bundle := ask("GET", g.base+"/bundle", "", "").want(200)
	ask("POST", g.base+"/bundle", string(bundle.body), bundle.header.Get("Content-Type")).want(200)

	role = pairing.Reader
	ask("GET", g.base+"/deviations", "", "").want(200)
	ask("GET", "/v1/devices", "", "").want(403)
	ask("POST", g.base+"/records/note", g.fill(`{"about":"$take","text":"no"}`), json).want(403)
	role = ""
	ask("GET", g.base+"/deviations", "", "").want(401)
}

func TestASeatThatIsLostWhileTheBodyComesWritesNothing(t *testing.T) {
	g := setStage(t)
	asked := 0
	ask := g.seated(func() pairing.Role {
		if asked++; asked > 1 {
			return ""
		}
		return pairing.Owner
	})
	before := g.head()
	ask("POST", "/v1/productions/"+g.production.String()+"/records/note", g.fill(`{"about":"$take","text":"late"}`), "application/json").want(401)
	if g.head() != before {
		t.Error("the log changed")
	}
}
