package api

import (
	"context"
	"errors"
	"net/http"
	"sort"
	"strings"
	"testing"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/labstack/echo/v4"

	"evenwhite/api/pairing"
	"evenwhite/logbook"
	"evenwhite/openapi"
)

const owner, editor, reader, guest, serverOwner = pairing.Owner, pairing.Editor, pairing.Reader, pairing.Guest, pairing.ServerOwner

// leastRoles says who may call what; "" is everybody. An operation that is
// missing here fails the tests.
var leastRoles = map[string]pairing.Role{
	"getRowsForm": "", "getHealth": "", "getReadiness": "", "getVersion": "", "getContract": "", "getServer": "",
	"getMe": guest, "patchMe": guest, "leave": guest, "makeScript": owner, "listAudit": serverOwner, "answerClaim": serverOwner,
	"getAbout": "", "getContractPage": "",
	"listLinks": owner, "makeLink": owner, "revokeLink": owner, "getShared": "",
	"listBackups": serverOwner, "makeBackup": serverOwner, "listServers": serverOwner,
	"getMetrics": serverOwner, "getColorLogSchema": "", "pair": "", "renewToken": "",
	"invite": owner, "listInvitations": owner, "withdrawInvitation": owner, "listDevices": owner, "revokeDevice": owner,
	"listProductions": guest, "createProduction": serverOwner, "getProduction": reader, "patchProduction": owner, "deleteProduction": owner,
	"listRecords": reader, "createRecord": editor, "getRecord": reader, "patchRecord": editor,
	"deleteRecord": editor, "restoreRecord": editor, "undoEdit": editor, "getHistory": reader,
	"readSpectrum": reader, "readStill": reader, "checkStill": reader, "getReadingColor": reader,
	"getPlan": reader, "getSampleColor": reader, "getCorrections": reader,
	"getLampLearnt": reader, "getGelLearnt": reader, "getMeterLearnt": reader,
	"getPlane": reader, "getDrift": reader, "getSwatches": reader,
	"getPlanePicture": reader, "getDriftPicture": reader, "getSwatchesPicture": reader,
	"getRebuild": reader, "getRebuildPage": reader, "getApart": reader, "getApartPage": reader, "getContinuity": reader,
	"getContinuityPage": reader, "getRigging": reader, "getRiggingPage": reader, "getWrap": reader,
	"getNow": reader, "getMatch": reader, "logEvent": editor, "listDeviations": reader,
	"listConflicts": reader, "listTwins": reader, "answerTwin": editor, "answerTwins": editor, "exchange": reader,
	"listAside": owner, "answerAside": owner, "listQuarantine": reader, "correctEdit": editor, "discardEdit": editor,
	"getBundle": reader, "takeBundle": editor, "getEvents": reader, "getMissing": reader,
	"removeProduction": serverOwner, "readmitProduction": serverOwner,
	"getColorLogCSV": guest, "getColorLogColumns": guest, "getColorLogJSON": guest, "getColorLogXLSX": guest,
	"joinFootage": reader, "adoptFootage": editor, "undoAct": editor,
	"getColorLogArchive": guest, "getColorLogPage": guest, "findClips": guest, "getHowRight": guest,
	"getColorLogPackedJSON": guest, "compareColorLogs": reader,
}

type operation struct {
	id, method, path string
	*openapi3.Operation
}

// operationsOf walks the contract.
func operationsOf(t *testing.T) []operation {
	t.Helper()
	document, err := openapi.Load()
	if err != nil {
		t.Fatal(err)
	}
	var all []operation
	for path, item := range document.Paths.Map() {
		for method, o := range item.Operations() {
			all = append(all, operation{o.OperationID, method, path, o})
		}
	}
	sort.Slice(all, func(i, j int) bool { return all[i].id < all[j].id })
	return all
}

// address fills the path with ids that lead nowhere, apart from the production.
func (o operation) address(production logbook.ID) string {
	nowhere := drawID().String()
	return strings.NewReplacer("{production}", production.String(), "{kind}", "take", "{record}", nowhere, "{setUp}", nowhere,
		"{device}", nowhere, "{scene}", nowhere, "{link}", nowhere,
		"{first}", nowhere, "{second}", nowhere, "{code}", "BCDFGHJK", "{dot}", "00c0ffee00c0ffee.9").Replace(o.path)
}

func (o operation) try(c *client, production logbook.ID) *reply {
	c.Helper()
	if o.id == "getEvents" {
		return c.listen(o.address(production), "").hangUp()
	}
	body := ""
	if o.RequestBody != nil {
		body = `{}`
	}
	return c.ask(o.method, o.address(production), body)
}

func TestRouterAndContractHoldTheSameOperations(t *testing.T) {
	s := openSite(t)
	handler, err := New(Config{Names: calledSo, Site: Site{Origin: s.url}, Store: s.store, Auth: s.auth, Now: s.clock.now})
	if err != nil {
		t.Fatal(err)
	}
	routed := map[string]bool{}
	for _, r := range handler.(*echo.Echo).Routes() {
		if r.Method == http.MethodHead {
			continue // HTTP has it beside every GET
		}
		routed[r.Method+" "+echoParameter.ReplaceAllString(r.Path, "{$1}")] = true
	}
	for _, o := range operationsOf(t) {
		if !routed[o.method+" "+o.path] {
			t.Errorf("the router lacks %s %s", o.method, o.path)
		}
		delete(routed, o.method+" "+o.path)
	}
	for r := range routed {
		t.Errorf("the contract lacks %s", r)
	}
}

func TestRouterThatDiffersIsNotStarted(t *testing.T) {
	s := openSite(t)
	r, err := newContractRouter(echo.New(), &service{Config: Config{Auth: s.auth}})
	if err != nil {
		t.Fatal(err)
	}
	r.GET("/healthz", nil)
	r.POST("/v1/unheard-of", nil)
	err = r.whole()
	if err == nil || !strings.Contains(err.Error(), "POST /v1/unheard-of") || !strings.Contains(err.Error(), "GET /readyz") ||
		strings.Contains(err.Error(), "GET /healthz") {
		t.Errorf("got %v, want both the operation too many and those missing", err)
	}
}

func TestNobodyGetsInWithoutAToken(t *testing.T) {
	g := setStage(t)
	before := g.head()
	for _, o := range operationsOf(t) {
		if open := o.Security != nil && len(*o.Security) == 0; open {
			continue
		}
		for name, authorization := range map[string]string{
			"no token": "", "a token of nobody": "Bearer e30.e30.e30", "another scheme": "Basic ZGVzazpkZXNr",
		} {
			stranger := &client{site: g.site}
			// Also with a body that is wrong in every way: who calls is asked first.
			r := stranger.ask(o.method, o.address(g.production), "{", "Content-Type", "text/plain", "Authorization", authorization)
			if r.status != http.StatusUnauthorized || r.header.Get("WWW-Authenticate") == "" {
				t.Errorf("%s with %s: got %d, want 401 and WWW-Authenticate", o.id, name, r.status)
			}
		}
	}
	if g.head() != before {
		t.Error("the log changed")
	}
}

func TestRoles(t *testing.T) {
	g := setStage(t)
	before := g.head()
	roles := []pairing.Role{pairing.Guest, pairing.Reader, pairing.Post, pairing.Editor, pairing.Owner}
	everywhere, here, elsewhere := map[pairing.Role]*client{}, map[pairing.Role]*client{}, map[pairing.Role]*client{}
	other, err := logbook.ParseID(g.ask("POST", "/v1/productions", newProduction).want(201).id())
	if err != nil {
		t.Fatal(err)
	}
	for _, role := range roles {
		everywhere[role] = g.admit(role, "server "+string(role), logbook.ID{})
		here[role] = g.admit(role, "here "+string(role), g.production)
		elsewhere[role] = g.admit(role, "elsewhere "+string(role), other)
	}
	operations := operationsOf(t)
	if len(operations) != len(leastRoles) {
		t.Errorf("the table has %d rows, the contract %d operations", len(leastRoles), len(operations))
	}
	for _, o := range operations {
		least, ok := leastRoles[o.id]
		if !ok {
			t.Errorf("%s has no row", o.id)
			continue
		}
		if stated, _ := o.Extensions["x-role"].(string); pairing.Role(stated) != least {
			t.Errorf("%s: the contract says %q, the table %q", o.id, stated, least)
		}
		if least == "" {
			continue
		}
		of := strings.Contains(o.path, "{production}")
		for _, role := range roles {
			ofServer := least == pairing.ServerOwner
			allowed := role.Includes(least) || ofServer && role == pairing.Owner
			for _, c := range []struct {
				where   string
				client  *client
				allowed bool
			}{
				{"everywhere", everywhere[role], allowed},
				{"in this production", here[role], allowed && !ofServer},
				{"in another production", elsewhere[role], allowed && !ofServer && !of},
			} {
				r := o.try(c.client, g.production)
				if got := r.status != http.StatusForbidden; got != c.allowed || r.status == http.StatusUnauthorized {
					t.Errorf("%s by a %s %s: got %d, want it allowed: %v", o.id, role, c.where, r.status, c.allowed)
				}
			}
		}
	}
	if g.head() != before {
		t.Error("the log changed")
	}
	t.Run("a reader pulls, and brings nothing", func(t *testing.T) {
		edit := g.edit("00c0ffee00c0ffee", 1, "take", drawID().String(), `{"setUp":"$setUp","number":7}`)
		here[pairing.Reader].ask("POST", g.base+"/exchange", `{"edits":[`+edit+`]}`).want(403)
		if g.head() != before {
			t.Error("the log changed")
		}
	})
	t.Run("an owner of one production invites to that one alone", func(t *testing.T) {
		mine := here[pairing.Owner].ask("POST", "/v1/invitations",
			`{"role":"editor","label":"2nd AC","production":"`+g.production.String()+`"}`).want(201)
		here[pairing.Owner].ask("POST", "/v1/invitations", `{"role":"editor","label":"2nd AC","production":"`+other.String()+`"}`).want(403)
		here[pairing.Owner].ask("POST", "/v1/invitations", `{"role":"editor","label":"2nd AC"}`).want(403)
		here[pairing.Owner].ask("POST", "/v1/productions", newProduction).want(403)
		code, _ := mine.at("code").Text()
		elsewhere[pairing.Owner].ask("DELETE", "/v1/invitations/"+code, "").want(404)
		here[pairing.Owner].ask("DELETE", "/v1/invitations/"+code, "").want(204)
	})
}

func TestStrayRequestsAreProblems(t *testing.T) {
	g := setStage(t)
	for _, c := range []struct {
		name, method, path string
		status             int
		kind               string
	}{
		{"an address that is none", "GET", "/v2", 404, "no-resource"},
		{"an address below one", "GET", "/healthz/more", 404, "no-resource"},
		{"a method that the address does not take", "PUT", "/v1/productions", 405, "method"},
		{"another one", "DELETE", g.base + "/conflicts", 405, "method"},
		{"a production that is not here", "GET", "/v1/productions/" + drawID().String(), 404, "no-production"},
		{"a record that is not here", "GET", g.base + "/records/take/" + drawID().String(), 404, "no-record"},
		{"a record of another kind", "GET", g.base + "/records/clip/" + g.ids["take"], 404, "no-record"},
		{"a day that is not here", "GET", g.base + "/color-log.csv?day=" + drawID().String(), 404, "no-scope"},
		{"records of a day that is not here", "GET", g.base + "/records/take?day=" + drawID().String(), 404, "no-record"},
		{"records of a set-up that is not here", "GET", g.base + "/records/take?setUp=" + drawID().String(), 404, "no-record"},
		{"records of a set-up that is a day", "GET", g.base + "/records/take?setUp=" + g.ids["day"], 404, "no-record"},
		{"a camera matched to itself", "GET", g.base + "/set-ups/" + g.ids["setUp"] + "/match?camera=" + g.ids["a"] + "&to=" + g.ids["a"], 422, "same-camera"},
		{"deviations of no set-up", "GET", g.base + "/deviations?setUp=" + drawID().String(), 404, "no-record"},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := g.ask(c.method, c.path, "")
			if p := r.problem(); r.status != c.status || p.Type != problemPrefix+c.kind || p.Status != c.status || p.Title == "" {
				t.Errorf("got %d %+v, want %d %s", r.status, p, c.status, c.kind)
			}
			if c.status == 405 && r.header.Get("Allow") == "" {
				t.Error("the answer does not say which methods are allowed")
			}
		})
	}
}

func TestTheContextOfARequestHoldsItsCaller(t *testing.T) {
	here := drawID()
	c := pairing.Caller{Grants: pairing.Grants{here.String(): pairing.Editor}}
	if got := callerOf(withCaller(context.Background(), c)); got.Grants[here.String()] != pairing.Editor {
		t.Errorf("the context lost the caller: got %+v", got)
	}
	if err := callerOf(context.Background()).May(pairing.Guest, here); !errors.Is(err, pairing.ErrRole) {
		t.Errorf("got %v of no caller, want %v", err, pairing.ErrRole)
	}
}
