package api

import (
	"context"
	"flag"
	"fmt"
	"io"
	"math/rand/v2"
	"net/http"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/getkin/kin-openapi/openapi3filter"
	"github.com/getkin/kin-openapi/routers"

	"evenwhite/api/pairing"
	"evenwhite/logbook/logtest"
	"evenwhite/openapi"
)

var (
	fuzzRequests = flag.Int("contract.requests", logtest.AtLength(2000, 300), "how many requests the served contract is drawn into")
	fuzzSeed     = flag.Uint64("contract.seed", 1, "the seed of the first round of them")
)

// roundLength is how many requests one server gets: a log that grows would make the last
// of many slow, and show nothing more.
const roundLength = 1000

// mostHeap bounds what is held after a round, its server gone.
const mostHeap = 192 << 20

// TestNoRequestOfTheContractGetsAnUndeclaredAnswer draws requests for every operation that is
// served, with ids that exist: each is answered with a status, a media type and a body of
// the contract, and none by a fault.
func TestNoRequestOfTheContractGetsAnUndeclaredAnswer(t *testing.T) {
	text, err := openapi.Served()
	if err != nil {
		t.Fatal(err)
	}
	document, err := openapi3.NewLoader().LoadFromData(text)
	if err != nil {
		t.Fatal(err)
	}
	document.Servers = nil
	h := &hail{T: t, document: document, statuses: map[string]map[int]int{}}
	for _, path := range document.Paths.InMatchingOrder() {
		item := document.Paths.Value(path)
		for _, method := range sortedKeys(item.Operations()) {
			h.operations = append(h.operations, &routers.Route{Spec: document, Server: &openapi3.Server{},
				Path: path, PathItem: item, Method: method, Operation: item.GetOperation(method)})
		}
	}
	for sent, seed := 0, *fuzzSeed; sent < *fuzzRequests && !t.Failed(); seed++ {
		n := min(roundLength, *fuzzRequests-sent)
		if !t.Run(fmt.Sprintf("seed %d", seed), func(t *testing.T) { h.round(t, seed, sent, n) }) {
			t.Logf("again: go test ./api -run TestNoRequestOfTheContract -contract.requests %d -contract.seed %d", n, seed)
		}
		sent += n
		var memory runtime.MemStats
		runtime.GC()
		if runtime.ReadMemStats(&memory); memory.HeapAlloc > mostHeap {
			t.Errorf("after seed %d %d MB are held, want at most %d", seed, memory.HeapAlloc>>20, mostHeap>>20)
		}
	}
	for _, route := range h.operations {
		id, good := route.Operation.OperationID, 0
		for status, n := range h.statuses[id] {
			if status < 400 {
				good += n
			}
		}
		t.Logf("%s: %v", id, h.statuses[id])
		enough := 20_000
		if seldom[id] {
			enough = 500_000
		}
		if why := beyondChance[id]; (good == 0) != (why != "") && *fuzzRequests >= enough {
			t.Errorf("%s was answered well %d times: %v; beyond chance is it for %q", id, good, h.statuses[id], why)
		}
	}
}

// beyondChance are the operations that no drawn request can do, and why; tests of their own do.
var beyondChance = map[string]string{
	"getShared":         "the secret of a link is told once",
	"listBackups":       "this server keeps none",
	"makeBackup":        "this server keeps none",
	"removeProduction":  "it takes the digests of what was downloaded",
	"readmitProduction": "no production was removed",
	"answerClaim":       "nobody claims to have been here before",
	"joinFootage":       "a drawn text is no listing of files",
	"adoptFootage":      "it takes a listing, and what was seen of it",
	"compareColorLogs":  "it takes the names of two states that are held",
}

// seldom are the operations that one request in ten or fewer does: of some hundred requests none may be a good one.
var seldom = map[string]bool{"leave": true, "undoEdit": true, "answerTwin": true, "answerTwins": true, "getApart": true,
	"getApartPage": true, "revokeLink": true, "pair": true, "correctEdit": true}

// A hail is requests for all operations, and what became of them.
type hail struct {
	*testing.T
	document   *openapi3.T
	operations []*routers.Route
	statuses   map[string]map[int]int
}

// A stranger has what one round knows of its server.
type stranger struct {
	*stage
	*drawer
	hail   *hail
	others []*client         // a reader and a guest
	tags   map[string]string // by address
	spare  []string          // devices that may be revoked
}

func (h *hail) round(t *testing.T, seed uint64, first, n int) {
	g := setStage(t)
	g.http.Transport.(*witness).next, g.http.Transport = nil, g.http.Transport.(*witness).next
	c := &stranger{stage: g, hail: h, tags: map[string]string{}, drawer: &drawer{
		Rand: rand.New(rand.NewPCG(seed, 0)), known: map[string][]string{"production": {g.production.String()}}, lines: []string{lineOfOne},
	}}
	for kind, names := range g.cast {
		for _, name := range names {
			c.known[kind] = append(c.known[kind], g.ids[name])
		}
	}
	for _, role := range []pairing.Role{pairing.Reader, pairing.Guest} {
		c.others = append(c.others, g.admit(role, string(role), g.production))
	}
	c.spare = []string{g.admit(pairing.Editor, "spare", g.production).device.String()}
	seen := `{"kelvin":["` + g.dotOf("clip", "clip") + `"]}`
	for i := range 8 { // edits that are refused, and one that can be undone
		c.dots = append(c.dots, fmt.Sprintf("%s.%d", lineOfOne, i+1))
		g.push(g.client, g.edit(lineOfOne, i+1, "clip", "$clip", fmt.Sprintf(`{"kelvin":%d}`, 4000-i*1000), seen))
	}
	c.rig()
	for i := range n {
		route := h.operations[(first+i)%len(h.operations)]
		c.clock.move(time.Second)
		c.send(t, route)
		if t.Failed() {
			return
		}
	}
}

// rig adds what some questions need: a second camera whose clip and recording are known.
func (c *stranger) rig() {
	c.Helper()
	body := c.record("body", "other")
	c.ask("PATCH", body, `{"recordingModes":{"film":{"encoding":"bt1886","primaries":"bt709"}}}`, "If-Match", c.tag(body)).want(200)
	clip := c.fill(`{"setUp":"$setUp","camera":"$b","body":"$other","whiteMode":"kelvin","kelvin":5600,"recordingMode":"film"}`)
	c.known["clip"] = slices.Insert(c.known["clip"], 0, c.ask("POST", c.base+"/records/clip", clip).want(201).id())
}

// send draws one request and looks at its answer.
func (c *stranger) send(t *testing.T, route *routers.Route) {
	t.Helper()
	c.broken = c.chance(30)
	address, inPath := c.address(route)
	body, media := c.content(route.Operation)
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	defer cancel()
	request, err := http.NewRequestWithContext(ctx, route.Method, c.url+address, strings.NewReader(body))
	if err != nil {
		t.Fatalf("%s %s: %v", route.Method, address, err)
	}
	c.headers(request, route, media)
	response, err := c.http.Do(request)
	if err != nil {
		t.Fatalf("%s %s %s: %v", route.Method, address, shorten(body), err)
	}
	defer func() { _ = response.Body.Close() }()
	var got []byte
	if streams(route.Operation) && response.StatusCode == http.StatusOK {
		cancel()
	} else if got, err = io.ReadAll(response.Body); err != nil {
		t.Fatal(err)
	}
	id := route.Operation.OperationID
	if c.hail.statuses[id] == nil {
		c.hail.statuses[id] = map[int]int{}
	}
	c.hail.statuses[id][response.StatusCode]++
	if err := answerFault(request, response, route, inPath, got); err != nil {
		t.Errorf("%s %s\n%v\n%s\nanswered %d %s\n%v", route.Method, address, request.Header,
			begin(body), response.StatusCode, begin(string(got)), err)
	}
	c.learn(route, response, got)
}

func begin(s string) string { return s[:min(len(s), 3000)] }

// answerFault says what of an answer is not in the contract.
func answerFault(r *http.Request, response *http.Response, route *routers.Route, inPath map[string]string, body []byte) error {
	if response.StatusCode >= http.StatusInternalServerError {
		return fmt.Errorf("a fault of the server")
	}
	if route.Operation.Responses.Status(response.StatusCode) == nil {
		return fmt.Errorf("%s does not name this status", route.Operation.OperationID)
	}
	if streams(route.Operation) && response.StatusCode == http.StatusOK {
		return nil
	}
	input := &openapi3filter.ResponseValidationInput{
		RequestValidationInput: &openapi3filter.RequestValidationInput{Request: r, PathParams: inPath, Route: route},
		Status:                 response.StatusCode, Header: response.Header,
		Options: &openapi3filter.Options{IncludeResponseStatus: true},
	}
	input.SetBodyBytes(body)
	return openapi3filter.ValidateResponse(context.Background(), input)
}
