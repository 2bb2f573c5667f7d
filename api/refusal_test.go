package api

import (
	"fmt"
	"strings"
	"testing"
)

// A refusal is a wrong request and what its problem must say: the field, a part
// of the value, a part of what is allowed.
type refusal struct {
	name, method, path, body string
	status                   int
	field, value, allowed    string
	header                   []string
}

// refusalsOfRecords are bodies of new records, of events and of exchanges; the path is
// below the production.
func refusalsOfRecords() []refusal {
	const x = "/records/"
	many := strings.Repeat("x", 81)
	post := func(name, path, body, field, value, allowed string) refusal {
		return refusal{name: name, method: "POST", path: path, body: body, status: 400, field: field, value: value, allowed: allowed}
	}
	return []refusal{
		post("a member that nobody knows", x+"lamp", `{"name":"p","family":"other","watts":100}`, "watts", "100", "no field"),
		post("a required field that is missing", x+"lamp", `{"name":"p"}`, "family", "", "incandescent"),
		post("a number below its range", x+"clip", `{"setUp":"$setUp","camera":"$a","body":"$body","whiteMode":"kelvin","kelvin":-3}`, "kelvin", "-3", "1000"),
		post("a number above its range", x+"setUp", `{"day":"$day","name":"B","cameras":{"$a":{"plannedKelvin":25001}}}`, "cameras/$a/plannedKelvin", "25001", "25000"),
		post("a number written as text", x+"gel", `{"name":"g","gelKind":"warm","shiftMired":"81"}`, "shiftMired", `"81"`, "number"),
		post("a number beyond all computing", x+"gel", `{"name":"g","gelKind":"warm","shiftMired":1e999}`, "shiftMired", "1e999", "400"),
		post("a fraction where a whole number stands", x+"take", `{"setUp":"$setUp","number":1.5}`, "number", "1.5", "whole"),
		post("a whole number of zero", x+"take", `{"setUp":"$setUp","number":0}`, "number", "0", "1"),
		post("a whole number too great", x+"take", `{"setUp":"$setUp","number":1000}`, "number", "1000", "999"),
		post("a word that is no choice", x+"light", `{"setUp":"$setUp","name":"l","role":"hair"}`, "role", `"hair"`, "background"),
		post("a choice in other letters", x+"light", `{"setUp":"$setUp","name":"l","role":"Key"}`, "role", `"Key"`, "key"),
		post("a flag written as a number", x+"take", `{"setUp":"$setUp","number":2,"wanted":1}`, "wanted", "1", "true"),
		post("a date that is none", x+"day", `{"number":4,"date":"2031-02-30"}`, "date", "2031-02-30", "date"),
		post("a time without its zone", x+"take", `{"setUp":"$setUp","number":2,"startedAt":"2031-03-04T06:20:00"}`, "startedAt", "06:20:00", "RFC 3339"),
		post("a reference that is no id", x+"take", `{"setUp":"12A","number":2}`, "setUp", `"12A"`, "the id of a setUp"),
		post("a reference to nothing", x+"take", `{"setUp":"00000000-0000-0000-0000-000000000000","number":2}`, "setUp", "00000000", "the id of a setUp"),
		post("a text that is too long", x+"lamp", `{"name":"`+many+`","family":"other"}`, "name", "xxx", "80"),
		post("a text that is empty", x+"lamp", `{"name":"","family":"other"}`, "name", `""`, "80"),
		post("a form that is none", x+"reading", `{"measured":{"as":"kelvin","cctKelvin":5600},"takenAt":"2031-03-04T06:20:00Z","of":{"as":"everything"}}`, "measured/as", "kelvin", "cctDuv"),
		post("a form that does not say which", x+"reading", `{"measured":{"cctKelvin":5600},"takenAt":"2031-03-04T06:20:00Z","of":{"as":"everything"}}`, "measured/as", "", "cctDuv"),
		post("a measured value without its pair", x+"reading", `{"measured":{"as":"xy","x":0.3},"takenAt":"2031-03-04T06:20:00Z","of":{"as":"everything"}}`, "measured/y", "", "0.0001"),
		post("a share of a colour that is more than all", x+"reading", `{"measured":{"as":"xy","x":1.2,"y":0.3},"takenAt":"2031-03-04T06:20:00Z","of":{"as":"everything"}}`, "measured/x", "1.2", "0.9999"),
		post("a CC without its meaning", x+"reading", `{"measured":{"as":"cctCc","cctKelvin":3200,"density":10,"color":"green"},"takenAt":"2031-03-04T06:20:00Z","of":{"as":"everything"}}`, "measured/means", "", "filterNeeded"),
		post("a member that the group does not have", x+"camera", `{"letter":"C","body":{"body":"$body","lens":"35"}}`, "body/lens", `"35"`, "body"),
		post("an item out of range", x+"body", `{"label":"x","whiteModes":["kelvin"],"kelvinValues":[3200,999],"recordingModes":{"m":{"name":"m","white":"free"}},"timecode":"none"}`, "kelvinValues/1", "999", "1000"),
		post("a list that is too long", x+"light", `{"setUp":"$setUp","name":"l","role":"key","rigged":{"gels":["$gel","$gel","$gel"]}}`, "rigged/gels", "$gel", "2"),
		post("a dial whose ends are swapped", x+"lamp", `{"name":"p","family":"whiteLed","greenMagentaDial":{"min":10,"max":-10,"step":1,"plusIs":"green"}}`, "greenMagentaDial/max", "-10", "min, which is 10"),
		post("a key that is no id", x+"setUp", `{"day":"$day","name":"B","cameras":{"A":{"inUse":true}}}`, "cameras/A", "inUse", "id"),
		post("limits of a role that is none", x+"setUp", `{"day":"$day","name":"B","limits":{"hair":{"mired":5}}}`, "limits/hair", "5", "key"),
		post("a time zone that is none", x+"day", `{"number":4,"date":"2031-03-05","timeZone":"Berlin time"}`, "timeZone", "Berlin", "zone"),
		post("a timecode that is none", x+"clip", `{"setUp":"$setUp","camera":"$a","body":"$body","whiteMode":"auto","timecode":{"start":"25:00:00:00"}}`, "timecode/start", "25:00", "timecode"),
		post("an id of another version", x+"note", `{"id":"4dba6b70-4f3e-4a26-a7ad-6c1a0a0f1d2f","about":"$take","text":"x"}`, "id", "4dba6b70", "version 7"),
		post("an id that is none", x+"note", `{"id":7,"about":"$take","text":"x"}`, "id", "7", "UUID"),
		post("a kind that the address contradicts", x+"note", `{"kind":"take","about":"$take","text":"x"}`, "kind", "take", "made"),
		post("a record that is struck out from the start", x+"note", `{"deleted":true,"about":"$take","text":"x"}`, "deleted", "true", "strike"),
		post("an author that is typed", x+"note", `{"madeBy":"me","about":"$take","text":"x"}`, "madeBy", "me", "follows"),
		post("a kind that is none", x+"tent", `{}`, "kind", "tent", "production"),
		post("a production among the records", x+"production", newProduction, "kind", "production", "/v1/productions"),
		post("a body that is a list", x+"note", `[1]`, "body", "[1]", "object"),
		post("an event that is none", "/set-ups/$setUp/events", `{"event":"lunch"}`, "event", "lunch", "nextTake"),
		post("an event that says too much", "/set-ups/$setUp/events", `{"event":"newBattery","camera":"$a","card":"7"}`, "card", "7", "camera"),
		post("an event that says too little", "/set-ups/$setUp/events", `{"event":"reroll"}`, "camera", "", "the id of a camera"),
		post("an event of a camera that is not here", "/set-ups/$setUp/events", `{"event":"nextTake","cameras":{"$gel":{"kelvin":5600}}}`, "cameras/$gel", "", "camera"),
		post("an event with a wrong kelvin", "/set-ups/$setUp/events", `{"event":"nextTake","cameras":{"$a":{"kelvin":100}}}`, "cameras/$a/kelvin", "100", "1000"),
		post("an exchange with a member that nobody knows", "/exchange", `{"pull":true}`, "pull", "true", "no member"),
		post("a run that is none", "/exchange", `{"run":"xyz"}`, "run", "xyz", "0-9a-f"),
		post("a span that runs backwards", "/exchange", `{"have":{"00c0ffee00c0ffee":[[5,2]]}}`, "have/00c0ffee00c0ffee", "[5 2]", "rising"),
		post("a span of a line that is none", "/exchange", `{"have":{"line":[[1,2]]}}`, "have", "line", "hexadecimal"),
		post("a limit of nothing", "/exchange", `{"limitBytes":0}`, "limitBytes", "0", "1"),
		post("more edits than one call takes", "/exchange", `{"edits":[`+strings.Repeat(`{},`, 500)+`{}]}`, "edits", "", "500"),
		post("an edit without a line", "/exchange", `{"edits":[{"production":"$production","kind":"take","record":"$take","device":"$take","n":1,"at":"2031-03-04T06:20:00Z","set":{"wanted":true}}]}`, "edits/0/line", "", "line"),
		post("an edit of number 0", "/exchange", `{"edits":[{"production":"$production","kind":"take","record":"$take","device":"$take","line":"00c0ffee00c0ffee","n":0,"at":"2031-03-04T06:20:00Z","set":{"wanted":true}}]}`, "edits/0/n", "0", "1"),
	}
}

// refusalsOfManner are requests that are wrong in their manner.
func refusalsOfManner() []refusal {
	const take, x = "/records/take/$take", "/records/take"
	return []refusal{
		{name: "a page of nothing", method: "GET", path: x + "?limit=0", status: 400, field: "limit", value: "0", allowed: "1"},
		{name: "a page that is too long", method: "GET", path: x + "?limit=501", status: 400, field: "limit", value: "501", allowed: "500"},
		{name: "a page of some", method: "GET", path: x + "?limit=some", status: 400, field: "limit", value: "some", allowed: "type integer"},
		{name: "a cursor of somebody else", method: "GET", path: x + "?cursor=abc", status: 400, field: "cursor", value: "abc", allowed: "gave"},
		{name: "a parameter that nobody knows", method: "GET", path: x + "?setup=1", status: 400, field: "setup", value: "1", allowed: "setUp"},
		{name: "a filter that comes twice", method: "GET", path: x + "?setUp=$setUp&setUp=$gel", status: 400, field: "setUp", value: "$gel", allowed: "one value"},
		{name: "a filter that ends in a semicolon", method: "GET", path: x + "?setUp=$gel;day=$day", status: 400, field: "query", value: ";", allowed: "joined by &"},
		{name: "a filter that is not percent-encoded", method: "GET", path: x + "?setUp=%zz", status: 400, field: "query", value: "%zz", allowed: "percent-encoded"},
		{name: "a day that is no id", method: "GET", path: x + "?day=3", status: 400, field: "day", value: "3", allowed: "UUID"},
		{name: "deleted as a word", method: "GET", path: x + "?deleted=maybe", status: 400, field: "deleted", value: "maybe", allowed: "type boolean"},
		{name: "a record that is no id", method: "GET", path: x + "/7", status: 400, field: "record", value: "7", allowed: "UUID"},
		{name: "a match of no camera", method: "GET", path: "/set-ups/$setUp/match", status: 400, field: "camera", allowed: "required"},
		{name: "an answer that is none", method: "PUT", path: "/twins/$take/$clip", body: `{"answer":"three"}`, status: 400, field: "answer", value: "three", allowed: "one"},
		{name: "text that is no JSON", method: "POST", path: x, body: `{"number":NaN}`, status: 400, field: "body", value: "NaN", allowed: "JSON"},
		{name: "a name that stands twice", method: "POST", path: x, body: `{"number":1,"number":2}`, status: 400, field: "body", value: "number", allowed: "twice"},
		{name: "text that is not UTF-8", method: "POST", path: x, body: "{\"suffix\":\"\xff\"}", status: 400, field: "body", value: "suffix", allowed: "UTF-8"},
		{name: "text that is nested without end", method: "POST", path: x, body: strings.Repeat("[", 40) + strings.Repeat("]", 40), status: 400, field: "body", value: "[[", allowed: "32"},
		{name: "a body that ends too early", method: "POST", path: x, body: `{"number":`, status: 400, field: "body", value: "number", allowed: "early"},
		{name: "a body that is too large", method: "POST", path: x, body: `{"suffix":"` + strings.Repeat("x", mostBody) + `"}`, status: 413},
		{name: "a body of another type", method: "POST", path: x, body: "number=1", header: []string{"Content-Type", "application/x-www-form-urlencoded"}, status: 415},
		{name: "a body of no type", method: "POST", path: x, body: `{}`, header: []string{"Content-Type", ""}, status: 415},
		{name: "a patch that is no merge patch", method: "PATCH", path: take, body: `{}`, header: []string{"Content-Type", "application/json", "If-Match", "$now"}, status: 415},
		{name: "a change of a state that nobody saw", method: "PATCH", path: take, body: `{"number":2}`, status: 428},
		{name: "a change of a state that has passed", method: "PATCH", path: take, body: `{"number":2}`, header: []string{"If-Match", `"00"`}, status: 412},
		{name: "a strike of a state that has passed", method: "DELETE", path: take, header: []string{"If-Match", `"00"`}, status: 412},
		{name: "a required field that is cleared", method: "PATCH", path: take, body: `{"number":null}`, header: []string{"If-Match", "$now"}, status: 400, field: "number", value: "null", allowed: "required"},
		{name: "a fact that is changed", method: "PATCH", path: "/records/reading/$reading", body: `{"takenAt":"2031-03-04T06:21:00Z"}`, header: []string{"If-Match", "$now"}, status: 400, field: "takenAt", value: "06:21", allowed: "fact"},
		{name: "a patch of what follows from the edits", method: "PATCH", path: take, body: `{"madeBy":"me"}`, header: []string{"If-Match", "$now"}, status: 400, field: "madeBy", value: "me", allowed: "follows"},
		{name: "a patch with a member that nobody knows", method: "PATCH", path: take, body: `{"mood":"good"}`, header: []string{"If-Match", "$now"}, status: 400, field: "mood", value: "good", allowed: "wanted"},
		{name: "a patch that is no object", method: "PATCH", path: take, body: `"x"`, header: []string{"If-Match", "$now"}, status: 400, field: "body", value: "x", allowed: "object"},
		{name: "a camera by its letter", method: "GET", path: "/set-ups/$setUp/match?camera=B", status: 400, field: "camera", value: "B", allowed: "an id (a UUID) as lists of records tell it, no name or letter"},
		{name: "a set-up by its name", method: "GET", path: "/set-ups/44A/now", status: 400, field: "setUp", value: "44A", allowed: "no name or letter"},
		{name: "a kind that there is not", method: "GET", path: "/records/lump", status: 400, field: "kind", value: "lump", allowed: "one of production, day, scene, setUp, lamp, light, gel, body"},
		{name: "an event of a set-up that is not here", method: "POST", path: "/set-ups/$gel/events", body: `{"event":"nextTake"}`, status: 404},
		{name: "an edit of another production", method: "POST", path: "/exchange", body: `{"edits":[` + strings.Replace(editOfTake, "$production", "$gel", 1) + `]}`, status: 400},
		{name: "an edit at a time with a zone", method: "POST", path: "/exchange", body: `{"edits":[` + strings.Replace(editOfTake, "06:20:00Z", "07:20:00+01:00", 1) + `]}`, status: 400},
		{name: "an edit over a field that it does not set", method: "POST", path: "/exchange", body: `{"edits":[` + strings.Replace(editOfTake, `"set":`, `"over":{"number":["00c0ffee00c0ffee.1"]},"set":`, 1) + `]}`, status: 400},
		{name: "a cursor that this service never gave", method: "POST", path: "/exchange", body: `{"cursor":"xyz"}`, status: 400},
	}
}

const editOfTake = `{"production":"$production","kind":"take","record":"$take","device":"$take","line":"00c0ffee00c0ffee","n":1,"at":"2031-03-04T06:20:00Z","set":{"wanted":true}}`

func TestWrongRequestsAreRefusedInWordsAndChangeNothing(t *testing.T) {
	g := setStage(t)
	for _, c := range append(refusalsOfRecords(), refusalsOfManner()...) {
		t.Run(c.name, func(t *testing.T) {
			path := g.base + g.fill(c.path)
			for i, value := range c.header {
				if value == "$now" {
					c.header[i] = g.ask("GET", path, "").want(200).tag()
				}
			}
			before := g.head()
			r := g.ask(c.method, path, g.fill(c.body), c.header...)
			p := r.problem()
			if r.status != c.status || p.Detail == "" {
				t.Errorf("got %d %+v, want %d with a detail", r.status, p, c.status)
			}
			if g.head() != before {
				t.Error("the log changed")
			}
			if c.field != "" && !says(p, g.fill(c.field), g.fill(c.value), c.allowed) {
				t.Errorf("got %+v, want the field %s, the value %s and that allowed is %s", p.Errors, c.field, c.value, c.allowed)
			}
		})
	}
	t.Run("every fault of a request is named, not only the first", func(t *testing.T) {
		p := g.ask("POST", g.base+"/records/clip", `{"kelvin":1,"tint":"x","lamp":2}`).want(400).problem()
		for _, field := range []string{"kelvin", "tint", "lamp", "setUp", "camera", "body", "whiteMode"} {
			if !says(p, field, "", "") {
				t.Errorf("%s is not named: %+v", field, p.Errors)
			}
		}
	})
}

func TestWrongRequestsAtTheDoor(t *testing.T) {
	g := setStage(t)
	stranger := &client{site: g.site}
	for _, c := range []refusal{
		{name: "a role that is none", path: "/v1/invitations", body: `{"role":"boss","label":"x"}`, status: 400, field: "role", value: "boss", allowed: "owner"},
		{name: "a label that is missing", path: "/v1/invitations", body: `{"role":"reader"}`, status: 400, field: "label", allowed: "label"},
		{name: "a production that is not here", path: "/v1/invitations", body: `{"role":"reader","label":"x","production":"018f6d2a-0000-7000-8000-000000000001"}`, status: 404},
		{name: "a code that is none", path: "/v1/pairing", body: `{"code":"BCDFGHJK"}`, status: 403},
		{name: "a code that is missing", path: "/v1/pairing", body: `{}`, status: 400, field: "code", allowed: "code"},
		{name: "a device without its secret", path: "/v1/token", body: `{"device":"018f6d2a-0000-7000-8000-000000000001"}`, status: 400, field: "device and secret", allowed: "both"},
		{name: "a device with another secret", path: "/v1/token", body: fmt.Sprintf(`{"device":"%s","secret":"guess"}`, g.device), status: 401},
		{name: "neither a secret nor a token", path: "/v1/token", body: `{}`, status: 401},
		{name: "a production without a title", path: "/v1/productions", body: `{"timeZone":"UTC","frameRate":"25","gelFamily":"typed"}`, status: 400, field: "title", allowed: "200"},
		{name: "a production that exists", path: "/v1/productions", body: strings.Replace(newProduction, "{", `{"id":"`+g.production.String()+`",`, 1), status: 409},
		{name: "a frame rate that is none", path: "/v1/productions", body: strings.Replace(newProduction, `"25"`, `"26"`, 1), status: 400, field: "frameRate", value: "26", allowed: "23.976"},
	} {
		t.Run(c.name, func(t *testing.T) {
			asker := g.client
			switch c.path {
			case "/v1/pairing":
				asker = g.phone()
			case "/v1/token":
				asker = stranger
			}
			r := asker.ask("POST", c.path, c.body)
			p := r.problem()
			if r.status != c.status || p.Detail == "" {
				t.Errorf("got %d %+v, want %d with a detail", r.status, p, c.status)
			}
			if c.field != "" && !says(p, c.field, c.value, c.allowed) {
				t.Errorf("got %+v, want the field %s, the value %s and that allowed is %s", p.Errors, c.field, c.value, c.allowed)
			}
		})
	}
	if ids, err := g.store.Productions(); err != nil || len(ids) != 1 {
		t.Errorf("there are %d productions (%v), want the one", len(ids), err)
	}
}

// says reports whether a problem names a field with such a value and such a
// allowance.
func says(p Problem, field, value, allowed string) bool {
	for _, e := range p.Errors {
		if e.Field == field && strings.Contains(e.Value, value) && strings.Contains(e.Allowed, allowed) && e.Allowed != "" {
			return true
		}
	}
	return false
}
