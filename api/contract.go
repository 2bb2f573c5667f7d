package api

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"mime"
	"net/http"
	"net/url"
	"os"
	"regexp"
	"sort"
	"strings"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/getkin/kin-openapi/openapi3filter"
	"github.com/getkin/kin-openapi/routers"
	"github.com/labstack/echo/v4"

	"evenwhite/api/pairing"
	"evenwhite/api/quota"
	"evenwhite/logbook"
	"evenwhite/openapi"
)

const (
	// mostBody bounds the body of a request.
	mostBody = 1 << 20
	// mostDrained bounds what is read of a longer one, and thrown away.
	mostDrained = 64 << 20
)

func init() {
	openapi3filter.RegisterBodyDecoder(mergePatch, openapi3filter.JSONBodyDecoder)
	openapi3filter.RegisterBodyDecoder("application/xml", openapi3filter.FileBodyDecoder)
	openapi3filter.RegisterBodyDecoder("text/csv", openapi3filter.FileBodyDecoder)
	openapi3filter.RegisterBodyDecoder(rowsMedia, openapi3filter.FileBodyDecoder)
}

const mergePatch = "application/merge-patch+json"

// contractRouter puts the gate of its operation before every handler. A route
// that the contract does not know, and an operation that gets no route, fail New.
type contractRouter struct {
	*echo.Echo
	service  *service
	document *openapi3.T
	missing  map[string]bool // operations without a route yet
	unknown  []string
}

func newContractRouter(e *echo.Echo, s *service) (*contractRouter, error) {
	document, err := openapi.Load()
	if err != nil {
		return nil, fmt.Errorf("the contract: %w", err)
	}
	r := &contractRouter{Echo: e, service: s, document: document, missing: map[string]bool{}}
	for path, item := range document.Paths.Map() {
		for method := range item.Operations() {
			r.missing[method+" "+path] = true
		}
	}
	return r, nil
}

// whole reports what of router and contract does not meet.
func (r *contractRouter) whole() error {
	for operation := range r.missing {
		r.unknown = append(r.unknown, operation)
	}
	if len(r.unknown) == 0 {
		return nil
	}
	sort.Strings(r.unknown)
	return fmt.Errorf("router and contract differ in %s", strings.Join(r.unknown, ", "))
}

var echoParameter = regexp.MustCompile(`:([A-Za-z]+)`)

func (r *contractRouter) add(method, path string, h echo.HandlerFunc) *echo.Route {
	inContract := echoParameter.ReplaceAllString(path, "{$1}")
	item := r.document.Paths.Find(inContract)
	if item == nil || item.GetOperation(method) == nil {
		r.unknown = append(r.unknown, method+" "+inContract)
		return r.Add(method, path, h)
	}
	delete(r.missing, method+" "+inContract)
	g := &gate{service: r.service, route: &routers.Route{
		Spec: r.document, Server: &openapi3.Server{}, Path: inContract, PathItem: item, Method: method, Operation: item.GetOperation(method),
	}}
	h = packed(method, item.GetOperation(method))(g.before(h))
	if method == http.MethodGet && !streams(item.Get) {
		r.Add(http.MethodHead, path, h) // net/http lets no body out
	}
	return r.Add(method, path, h)
}

// streams reports whether an operation's answer has no end of its own.
func streams(o *openapi3.Operation) bool {
	answer := o.Responses.Status(http.StatusOK)
	return answer != nil && answer.Value.Content["text/event-stream"] != nil
}

// The methods of openapi.EchoRouter that the contract uses.

func (r *contractRouter) GET(path string, h echo.HandlerFunc, _ ...echo.MiddlewareFunc) *echo.Route {
	return r.add(http.MethodGet, path, h)
}

func (r *contractRouter) POST(path string, h echo.HandlerFunc, _ ...echo.MiddlewareFunc) *echo.Route {
	return r.add(http.MethodPost, path, h)
}

func (r *contractRouter) PUT(path string, h echo.HandlerFunc, _ ...echo.MiddlewareFunc) *echo.Route {
	return r.add(http.MethodPut, path, h)
}

func (r *contractRouter) PATCH(path string, h echo.HandlerFunc, _ ...echo.MiddlewareFunc) *echo.Route {
	return r.add(http.MethodPatch, path, h)
}

func (r *contractRouter) DELETE(path string, h echo.HandlerFunc, _ ...echo.MiddlewareFunc) *echo.Route {
	return r.add(http.MethodDelete, path, h)
}

// A gate stands before one operation: it asks first who calls, then whether the
// role allows it, and only then looks at the request.
type gate struct {
	service *service
	route   *routers.Route
}

func (g *gate) before(h echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		g.service.offerNonce(c)
		if err := g.admit(c); err != nil {
			return err
		}
		if !streams(g.route.Operation) { // which are counted apart
			who := asker(c)
			if !g.service.requests.Take(who, 1) {
				return quota.ErrBusy
			}
			defer g.service.requests.Give(who, 1)
		}
		done, err := g.readBody(c)
		defer done()
		if err != nil {
			return err
		}
		if err := g.validate(c); err != nil {
			return err
		}
		if err := g.admitted(c); err != nil {
			return err
		}
		return g.told(c, fieldsWrong(h(c)))
	}
}

// told says that the production of the path was removed where that is why it is not here,
// also while the request was under way.
func (g *gate) told(c echo.Context, err error) error {
	if err == nil {
		return nil
	}
	id, bad := logbook.ParseID(c.Param("production"))
	if bad != nil {
		return err
	}
	return g.service.Logs.told(id, err)
}

// admitted looks again whether the caller stands: a body may take long to come,
// and nothing is taken from a device that was revoked in the meantime.
func (g *gate) admitted(c echo.Context) error {
	caller := callerOf(c.Request().Context())
	if caller.Device.IsZero() {
		return nil // an operation that is open to everybody
	}
	if caller.Device == g.service.Auth.Own() {
		_, err := g.caller(c)
		return err
	}
	_, err := g.service.Auth.Standing(caller.Device)
	return err
}

// admit finds the caller of an operation that is not open to everybody.
func (g *gate) admit(c echo.Context) error {
	if open := g.route.Operation.Security; open != nil && len(*open) == 0 {
		return nil
	}
	caller, err := g.caller(c)
	if err != nil {
		return err
	}
	role, _ := g.route.Operation.Extensions["x-role"].(string)
	if kinds, ok := g.route.Operation.Extensions["x-kind-roles"].(map[string]any); ok && kinds[c.Param("kind")] != nil {
		role, _ = kinds[c.Param("kind")].(string)
	}
	if err := g.allow(c, caller, pairing.Role(role)); err != nil {
		return err
	}
	c.SetRequest(c.Request().WithContext(withCaller(c.Request().Context(), caller)))
	return nil
}

// caller finds who asks: somebody whom the server itself lets in, or else a device.
func (g *gate) caller(c echo.Context) (pairing.Caller, error) {
	if g.service.Seat != nil {
		if name, role := g.service.Seat(c.Request()); role != "" {
			return pairing.Caller{Device: g.service.Auth.Own(), Name: name, Grants: pairing.Grants{pairing.Everywhere: role}}, nil
		}
	}
	return g.service.Auth.Authenticate(g.service.credentials(c))
}

// allow compares the caller's role in the production of the path, or of any
// production where the path names none, with that of the operation.
func (g *gate) allow(c echo.Context, caller pairing.Caller, least pairing.Role) error {
	if least == pairing.ServerOwner {
		return caller.May(least, logbook.ID{})
	}
	if text := c.Param("production"); text != "" {
		id, err := logbook.ParseID(text)
		if err != nil {
			return wrong("production", text, "a UUID")
		}
		err = caller.May(least, id)
		if err != nil && caller.Grants[pairing.New].Includes(least) && g.service.isNew(id) {
			return nil // it may bring it
		}
		return err
	}
	for _, role := range caller.Grants {
		if role.Includes(least) {
			return nil
		}
	}
	return caller.May(least, logbook.ID{})
}

// readBody reads the body within bounds. It looks at what is to be JSON before anything
// else does, and refuses names that stand twice, text that is not UTF-8, and deep nesting.
func (g *gate) readBody(c echo.Context) (done func(), err error) {
	done = func() {}
	request := c.Request()
	if g.route.Operation.RequestBody == nil {
		request.Body = http.NoBody
		request.ContentLength = 0
		return done, nil
	}
	media, _, err := mime.ParseMediaType(request.Header.Get(echo.HeaderContentType))
	content := g.route.Operation.RequestBody.Value.Content
	if _, ok := content[media]; err != nil || !ok {
		if g.route.Method == http.MethodPatch {
			c.Response().Header().Set("Accept-Patch", mergePatch)
		}
		return done, fmt.Errorf("%w: it is %q; allowed: %s", ErrMediaType,
			shorten(request.Header.Get(echo.HeaderContentType)), strings.Join(mediaTypes(content), ", "))
	}
	most, streamed := g.route.Operation.Extensions["x-most-bytes"].(float64)
	packed, err := coded(c, streamed)
	if err != nil {
		return done, err
	}
	if streamed {
		request.Body = http.MaxBytesReader(c.Response(), request.Body, int64(most)) // the handler reads it as it arrives
		return done, nil
	}
	body, done, err := g.service.bodies.Read(asker(c), http.MaxBytesReader(c.Response(), request.Body, mostBody))
	var tooLarge *http.MaxBytesError
	switch {
	case errors.As(err, &tooLarge):
		// Who is still sending reads no answer: the connection would end under their hands.
		_, _ = io.CopyN(io.Discard, request.Body, mostDrained)
		return done, fmt.Errorf("%w: at most %d MiB are taken here", ErrTooLarge, tooLarge.Limit>>20)
	case errors.Is(err, quota.ErrBusy):
		return done, err
	case err != nil:
		return done, cutOff(err)
	}
	if packed {
		if body, err = unpacked(body, mostBody); err != nil {
			return done, err
		}
	}
	if strings.HasSuffix(media, "json") {
		if _, err := logbook.ParseValue(string(body)); err != nil {
			return done, &Wrong{"the body is not JSON as it is taken here", []FieldProblem{{"body", shorten(string(body)), "JSON: " + err.Error()}}}
		}
	}
	request.Body = io.NopCloser(bytes.NewReader(body))
	request.ContentLength = int64(len(body))
	c.Set(bodyKey, body)
	return done, nil
}

// cutOff is why a body ended early.
func cutOff(err error) error {
	if errors.Is(err, os.ErrDeadlineExceeded) {
		return ErrSlow
	}
	return &Wrong{Detail: "the body could not be read to its end"}
}

// coded reports whether a body is packed with gzip. One that the handler reads as it
// arrives must not be.
func coded(c echo.Context, streamed bool) (bool, error) {
	coding := strings.ToLower(c.Request().Header.Get(echo.HeaderContentEncoding))
	switch {
	case coding == "" || coding == "identity":
		return false, nil
	case coding == "gzip" && !streamed:
		return true, nil
	}
	allowed := "gzip, identity"
	if streamed {
		allowed = "identity"
	}
	c.Response().Header().Set(echo.HeaderAcceptEncoding, allowed)
	return false, fmt.Errorf("%w: it is %q; allowed: %s", ErrCoding, shorten(coding), allowed)
}

const bodyKey = "body"

// bodyOf is the body of a request that passed its gate.
func bodyOf(c echo.Context) []byte {
	b, _ := c.Get(bodyKey).([]byte)
	return b
}

func mediaTypes(content openapi3.Content) []string {
	var all []string
	for media := range content {
		all = append(all, media)
	}
	sort.Strings(all)
	return all
}

// validate holds the request to the contract.
func (g *gate) validate(c echo.Context) error {
	parameters := map[string]string{}
	for _, name := range c.ParamNames() {
		parameters[name] = c.Param(name)
	}
	if err := g.knownQuery(c); err != nil {
		return err
	}
	request := c.Request()
	_, passed := g.route.Operation.Extensions["x-most-bytes"]
	passed = passed || bringsRows(request) // of which the contract says only that they are text
	if passed {                            // validation reads any body whole, also one that it is to leave out
		request = request.WithContext(request.Context())
		request.Body = http.NoBody
	}
	err := openapi3filter.ValidateRequest(request.Context(), &openapi3filter.RequestValidationInput{
		Request: request, PathParams: parameters, Route: g.route,
		Options: &openapi3filter.Options{
			AuthenticationFunc: func(context.Context, *openapi3filter.AuthenticationInput) error { return nil },
			ExcludeRequestBody: passed,
		},
	})
	return wrongRequest(err)
}

// knownQuery refuses parameters that the operation does not have, that come
// twice, or that cannot be read and would be passed over: without its filter a
// list shows everything.
func (g *gate) knownQuery(c echo.Context) error {
	if c.Request().URL.RawQuery == "" {
		return nil
	}
	known := map[string]bool{}
	var names []string
	for _, p := range append(append(openapi3.Parameters(nil), g.route.PathItem.Parameters...), g.route.Operation.Parameters...) {
		if p.Value.In == openapi3.ParameterInQuery {
			known[p.Value.Name] = true
			names = append(names, p.Value.Name)
		}
	}
	query, err := url.ParseQuery(c.Request().URL.RawQuery)
	if err != nil {
		return wrong("query", c.Request().URL.RawQuery, "name=value pairs joined by &, percent-encoded: "+shorten(err.Error()))
	}
	for name, values := range query {
		if known[name] && len(values) > 1 {
			return wrong(name, strings.Join(values, ","), "one value")
		}
		if !known[name] {
			return wrong(shorten(name), strings.Join(values, ","),
				"no parameter of that name; there are: "+strings.Join(append(names, "none other"), ", "))
		}
	}
	return nil
}
