package api

import (
	"bytes"
	"fmt"
	"net/http"
	"net/url"
	"os"
	"strings"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/getkin/kin-openapi/routers"

	"evenwhite/logbook"
)

// address fills path and query.
func (c *stranger) address(route *routers.Route) (string, map[string]string) {
	values, query := map[string]string{}, url.Values{}
	path := route.Path
	for _, p := range append(append(openapi3.Parameters(nil), route.PathItem.Parameters...), route.Operation.Parameters...) {
		switch p.Value.In {
		case openapi3.ParameterInPath:
			values[p.Value.Name] = c.inPath(route, p.Value.Name, values)
		case openapi3.ParameterInQuery:
			if p.Value.Required && !(c.broken && c.chance(20)) || c.chance(20) {
				query.Set(p.Value.Name, c.parameter(p.Value))
			}
		}
	}
	if c.broken && c.chance(10) {
		query.Set(pick(c.Rand, []string{"mood", "limit", "cursor", "%zz"}), pick(c.Rand, odd))
	}
	for name, value := range values {
		path = strings.ReplaceAll(path, "{"+name+"}", url.PathEscape(value))
	}
	if len(query) > 0 {
		path += "?" + query.Encode()
	}
	return path, values
}

func (c *stranger) inPath(route *routers.Route, name string, known map[string]string) string {
	if c.broken && c.chance(15) {
		return pick(c.Rand, []string{"x", "0", "..", "a b", strings.Repeat("9", 40), "%2f", "ü",
			drawID().String(), lineOfOne + ".18446744073709551616"})
	}
	switch name {
	case "production":
		return c.production.String()
	case "kind":
		return pick(c.Rand, []string{"clip", "clip", "take", "note", "light", "reading", "production"})
	case "record":
		kind := known["kind"]
		if _, rest, ok := strings.Cut(route.Path, "/records/"); ok && kind == "" {
			kind, _, _ = strings.Cut(rest, "/")
		}
		return c.id(kind)
	case "first", "second":
		return c.id("take")
	case "setUp":
		return c.id("setUp")
	case "dot":
		if strings.Contains(route.Path, "/undo/") && c.chance(50) {
			return lineOfOne + ".1"
		}
		return pick(c.Rand, c.dots)
	case "code":
		if len(c.codes) > 0 {
			return pick(c.Rand, c.codes)
		}
		return "BCDFGHJK"
	case "device":
		if len(c.spare) > 0 && c.chance(50) {
			return pick(c.Rand, c.spare)
		}
		return drawID().String()
	}
	return c.id(name)
}

// patch is where the card lies in the picture that is sent, and how that is coded.
var patch = map[string]string{
	"x": "60", "y": "34", "width": "40", "height": "24", "encoding": "bt1886", "primaries": "bt709", "range": "full",
}

// parameter draws one as it stands in a query or a header.
func (c *stranger) parameter(p *openapi3.Parameter) string {
	if fits := patch[p.Name]; fits != "" && !c.broken {
		return fits
	}
	text := c.value(p.Schema.Value, p.Name, 0)
	if unquoted, ok := logbook.Value(text).Text(); ok {
		return unquoted
	}
	return text
}

// content draws a body of one of the media types of an operation.
func (c *stranger) content(o *openapi3.Operation) (body, media string) {
	if o.RequestBody == nil {
		return "", ""
	}
	content := o.RequestBody.Value.Content
	media = pick(c.Rand, sortedKeys(content))
	schema := content[media].Schema.Value
	switch {
	case strings.HasSuffix(media, "json"):
		if body = c.likely(o.OperationID); body == "" {
			body = c.body(schema)
		}
	case strings.HasPrefix(media, "image/"):
		body = c.file("../testdata/production/card.png")
		media = "image/png"
	case media == "application/octet-stream":
		body = string(c.bundle())
	case media == rowsMedia:
		body = "[\"rows\",1]\n[\"line\",\"" + lineOfOne + "\"]\n[\"end\",0]\n"
	default:
		body = "nm,W\n"
		for w := 380; w <= 780; w += 5 {
			body += fmt.Sprintf("%d,%.3f\n", w, c.Float64())
		}
		media = "text/csv"
	}
	if c.broken && len(body) > 0 && c.chance(40) {
		at := c.IntN(len(body))
		body = body[:at] + string(rune(c.IntN(256))) + body[min(len(body), at+c.IntN(9)):]
	}
	if c.broken && c.chance(5) {
		media = pick(c.Rand, []string{"", "text/html", "application/json; charset=utf-16", "multipart/form-data"})
	}
	return body, media
}

func (c *stranger) file(name string) string {
	text, err := os.ReadFile(name)
	if err != nil {
		panic(err)
	}
	return string(text)
}

func (c *stranger) bundle() []byte {
	request, err := http.NewRequest(http.MethodGet, c.url+c.base+"/bundle", nil)
	if err != nil {
		panic(err)
	}
	c.show(request)
	response, err := c.http.Do(request)
	if err != nil {
		panic(err)
	}
	defer func() { _ = response.Body.Close() }()
	var all bytes.Buffer
	_, _ = all.ReadFrom(response.Body)
	return all.Bytes()
}

func (c *stranger) headers(r *http.Request, route *routers.Route, media string) {
	switch {
	case c.chance(90):
		c.show(r)
	case c.chance(60):
		pick(c.Rand, c.others).show(r)
	case c.chance(50):
		r.Header.Set("Authorization", pick(c.Rand, []string{"Bearer x", "Basic eDp4", "Bearer "}))
	}
	if media != "" {
		r.Header.Set("Content-Type", media)
	}
	at, _, _ := strings.Cut(r.URL.Path, "/restore")
	at, _, _ = strings.Cut(at, "/undo/")
	for _, p := range append(append(openapi3.Parameters(nil), route.PathItem.Parameters...), route.Operation.Parameters...) {
		switch {
		case p.Value.In != openapi3.ParameterInHeader:
		case p.Value.Name == "If-Match" && c.chance(85):
			r.Header.Set(p.Value.Name, c.tag(at))
		case c.chance(20):
			r.Header.Set(p.Value.Name, strings.Map(printable, c.parameter(p.Value)))
		}
	}
}

func printable(c rune) rune {
	if c < ' ' || c > '~' {
		return -1
	}
	return c
}

// tag is the present ETag of an address, nearly always.
func (c *stranger) tag(address string) string {
	if c.chance(10) && c.tags[address] != "" {
		return c.tags[address]
	}
	request, err := http.NewRequest(http.MethodHead, c.url+(&url.URL{Path: address}).EscapedPath(), nil)
	if err != nil {
		return "*"
	}
	c.show(request)
	response, err := c.http.Do(request)
	if err != nil {
		return "*"
	}
	_ = response.Body.Close()
	c.tags[address] = response.Header.Get("ETag")
	return c.tags[address]
}

// learn keeps what later requests may name.
func (c *stranger) learn(route *routers.Route, response *http.Response, body []byte) {
	if response.StatusCode != http.StatusCreated {
		return
	}
	value, err := logbook.ParseValue(string(body))
	if err != nil {
		return
	}
	id, _ := value.Member("id").Text()
	kind, _ := value.Member("kind").Text()
	switch route.Operation.OperationID {
	case "invite":
		code, _ := value.Member("code").Text()
		c.codes = append(c.codes, code)
	case "pair":
		device, _ := value.Member("device").Text()
		c.spare = append(c.spare, device)
	default:
		if id != "" && kind != "production" && len(c.known[kind]) < 40 {
			c.known[kind] = append(c.known[kind], id)
		}
	}
}

// likely are bodies that an operation takes, where those that are drawn seldom fit.
func (c *stranger) likely(operation string) string {
	if c.broken || c.chance(40) {
		return ""
	}
	switch operation {
	case "logEvent":
		return pick(c.Rand, []string{`{"event":"nextTake"}`, `{"event":"nextTake","wanted":true}`, `{"event":"falseStart","falseTakeNumber":"used"}`,
			`{"event":"chart","cameras":{"` + c.id("camera") + `":{"whiteMode":"kelvin","kelvin":4300}}}`})
	case "pair":
		if len(c.codes) > 0 {
			return `{"code":"` + c.codes[len(c.codes)-1] + `"}`
		}
	case "patchReading":
		return `{"position":"at the door"}`
	case "readSpectrum":
		return `{"wavelengths":[380,580,780],"values":[1,2,1],"unit":"nm"}`
	}
	return ""
}
