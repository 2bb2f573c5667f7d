package api

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"strings"
	"testing"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/getkin/kin-openapi/openapi3filter"
	"github.com/getkin/kin-openapi/routers"
	"github.com/getkin/kin-openapi/routers/legacy"

	"evenwhite/openapi"
)

// witness holds every answer to the contract: its status is one that the
// operation names, its body fits the schema, and records fit that of their kind.
type witness struct {
	*testing.T
	next     http.RoundTripper
	document *openapi3.T
	router   routers.Router
}

func newWitness(t *testing.T, next http.RoundTripper) *witness {
	document, err := openapi.Load()
	if err != nil {
		t.Fatal(err)
	}
	router, err := legacy.NewRouter(document)
	if err != nil {
		t.Fatal(err)
	}
	return &witness{t, next, document, router}
}

func (w *witness) RoundTrip(r *http.Request) (*http.Response, error) {
	response, err := w.next.RoundTrip(r)
	if err != nil {
		return nil, err
	}
	body, err := io.ReadAll(response.Body)
	if err != nil {
		return nil, err
	}
	if err := response.Body.Close(); err != nil {
		return nil, err
	}
	text := body
	if response.Header.Get("Content-Encoding") == "gzip" {
		if text, err = firstMember(body); err != nil {
			return nil, err
		}
	}
	if fault := w.fault(r, response, text); fault != nil {
		w.Errorf("%s %s answered %d against the contract: %v\n%s", r.Method, r.URL, response.StatusCode, fault, shorten(string(text)))
	}
	response.Body = io.NopCloser(bytes.NewReader(body))
	return response, nil
}

func (w *witness) fault(r *http.Request, response *http.Response, body []byte) error {
	route, parameters, err := w.router.FindRoute(r)
	if err != nil {
		return w.strayFault(response, body)
	}
	if route.Operation.Responses.Status(response.StatusCode) == nil && response.StatusCode < 500 { // faults of the server are the default
		return fmt.Errorf("%s does not name this status", route.Operation.OperationID)
	}
	input := &openapi3filter.ResponseValidationInput{
		RequestValidationInput: &openapi3filter.RequestValidationInput{Request: r, PathParams: parameters, Route: route},
		Status:                 response.StatusCode, Header: response.Header,
		Options: &openapi3filter.Options{IncludeResponseStatus: true},
	}
	input.SetBodyBytes(body)
	if err := openapi3filter.ValidateResponse(r.Context(), input); err != nil {
		return err
	}
	if response.Header.Get("Content-Type") != "application/json" || len(body) == 0 {
		return nil
	}
	var value any
	if err := json.Unmarshal(body, &value); err != nil {
		return err
	}
	return w.recordFault(value)
}

// strayFault looks at the answer to what is no operation: it is a problem too.
func (w *witness) strayFault(response *http.Response, body []byte) error {
	var value any
	if err := json.Unmarshal(body, &value); err != nil || response.Header.Get("Content-Type") != "application/problem+json" {
		return fmt.Errorf("no problem of RFC 9457, but %s", response.Header.Get("Content-Type"))
	}
	return w.document.Components.Schemas["Problem"].Value.VisitJSON(value)
}

// recordFault finds records anywhere in an answer and holds each to its kind.
func (w *witness) recordFault(value any) error {
	switch value := value.(type) {
	case []any:
		for _, item := range value {
			if err := w.recordFault(item); err != nil {
				return err
			}
		}
	case map[string]any:
		kind, _ := value["kind"].(string)
		record := w.document.Components.Schemas["Record"].Value
		if schema, ok := record.Discriminator.Mapping[kind]; ok && value["madeAt"] != nil {
			return w.document.Components.Schemas[strings.TrimPrefix(schema.Ref, "#/components/schemas/")].Value.VisitJSON(value)
		}
		for _, item := range value {
			if err := w.recordFault(item); err != nil {
				return err
			}
		}
	}
	return nil
}

func TestWitnessSeesFalseAnswers(t *testing.T) {
	w := newWitness(t, nil)
	for _, c := range []struct {
		name, path string
		answer     falseAnswer
	}{
		{"a member that is not in the schema", "/healthz", falseAnswer{200, "application/json", `{"status":"ok","more":1}`}},
		{"a member that is missing", "/version", falseAnswer{200, "application/json", `{"program":"x"}`}},
		{"a status that is not named", "/healthz", falseAnswer{207, "application/json", `{"status":"ok"}`}},
		{"an error that is no problem", "/v1/devices", falseAnswer{403, "application/json", `{"error":"no"}`}},
		{"a problem without a title", "/v1/devices", falseAnswer{403, "application/problem+json", `{"type":"x","status":403}`}},
		{"a stray answer that is no problem", "/v9", falseAnswer{404, "text/plain", "not found"}},
		{"a record that does not fit its kind", "/v1/productions/018f6d2a-0000-7000-8000-000000000001/records/take",
			falseAnswer{200, "application/json", `{"records":[{"id":"018f6d2a-0000-7000-8000-000000000001","kind":"take","production":"018f6d2a-0000-7000-8000-000000000001","madeAt":"2031-01-01T00:00:00Z","number":"7"}]}`}},
	} {
		t.Run(c.name, func(t *testing.T) {
			r, err := http.NewRequest("GET", "http://localhost"+c.path, nil)
			if err != nil {
				t.Fatal(err)
			}
			response, err := c.answer.RoundTrip(r)
			if err != nil {
				t.Fatal(err)
			}
			if w.fault(r, response, []byte(c.answer.body)) == nil {
				t.Error("it was not noticed")
			}
		})
	}
}

// falseAnswer is a transport that answers what the contract does not say.
type falseAnswer struct {
	status int
	media  string
	body   string
}

func (f falseAnswer) RoundTrip(r *http.Request) (*http.Response, error) {
	return &http.Response{StatusCode: f.status, Header: http.Header{"Content-Type": {f.media}},
		Body: io.NopCloser(strings.NewReader(f.body)), Request: r}, nil
}
