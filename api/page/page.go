package page

import (
	"bytes"
	"crypto/sha256"
	_ "embed"
	"encoding/base64"
	"html/template"
	"slices"
	"strings"

	"github.com/getkin/kin-openapi/openapi3"
)

//go:embed page.css
var style string

//go:embed page.html
var text string

var pages = template.Must(template.New("").Funcs(template.FuncMap{
	"style": func() template.CSS { return template.CSS(style) },
}).Parse(text))

// Policy is the Content-Security-Policy of all pages: their own style, and nothing else.
var Policy = func() string {
	sum := sha256.Sum256([]byte(style))
	return "default-src 'none'; style-src 'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) +
		"'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
}()

// A State is how the server is: what a person should see to, and why it takes no changes.
type State struct {
	Program  string
	Warnings []string
	Failed   string
}

// About writes the page of the server itself.
func About(s State) ([]byte, error) { return write("about", s) }

func write(name string, of any) ([]byte, error) {
	var out bytes.Buffer
	err := pages.ExecuteTemplate(&out, name, of)
	return out.Bytes(), err
}

// Contract writes the contract: its operations by their tags, then its schemas.
func Contract(d *openapi3.T) ([]byte, error) {
	c := contract{Title: d.Info.Title, Text: paragraphs(d.Info.Description)}
	for _, tag := range d.Tags {
		c.Tags = append(c.Tags, tagged{Name: tag.Name, About: tag.Description, Operations: operationsOf(d, tag.Name)})
	}
	for name, ref := range d.Components.Schemas {
		c.Schemas = append(c.Schemas, schemaOf(name, ref))
	}
	slices.SortFunc(c.Schemas, func(a, b schema) int { return strings.Compare(a.Name, b.Name) })
	return write("contract", c)
}

type contract struct {
	Title   string
	Text    []string
	Tags    []tagged
	Schemas []schema
}

type tagged struct {
	Name, About string
	Operations  []operation
}

type operation struct {
	ID, Method, Path, Summary, Role string
	About                           []string
	Parameters                      []member
	Body                            []part
	Answers                         []answer
}

type member struct {
	Name, In, Type, About string
	Required              bool
}

type part struct{ Media, Schema string }

type answer struct {
	Status, About string
	Parts         []part
}

type schema struct {
	Name, Type, About string
	Members           []member
}

// paragraphs takes apart what empty lines part, and leaves out the marks of Markdown.
func paragraphs(text string) []string {
	return strings.Split(strings.ReplaceAll(strings.TrimSpace(text), "*", ""), "\n\n")
}

func operationsOf(d *openapi3.T, tag string) (all []operation) {
	for _, path := range d.Paths.InMatchingOrder() {
		item := d.Paths.Find(path)
		for method, o := range item.Operations() {
			if slices.Contains(o.Tags, tag) {
				all = append(all, operationOf(path, method, item, o))
			}
		}
	}
	slices.SortFunc(all, func(a, b operation) int {
		return strings.Compare(a.Path+" "+a.Method, b.Path+" "+b.Method)
	})
	return all
}

func operationOf(path, method string, item *openapi3.PathItem, o *openapi3.Operation) operation {
	out := operation{ID: o.OperationID, Method: method, Path: path, Summary: o.Summary, About: paragraphs(o.Description), Role: "everybody"}
	if role, ok := o.Extensions["x-role"].(string); ok {
		out.Role = role
	}
	for _, p := range slices.Concat(item.Parameters, o.Parameters) {
		out.Parameters = append(out.Parameters, member{p.Value.Name, p.Value.In, typeOf(p.Value.Schema), p.Value.Description, p.Value.Required})
	}
	if o.RequestBody != nil {
		out.Body = partsOf(o.RequestBody.Value.Content)
	}
	for status, r := range o.Responses.Map() {
		if strings.HasPrefix(status, "2") {
			out.Answers = append(out.Answers, answer{status, *r.Value.Description, partsOf(r.Value.Content)})
		}
	}
	slices.SortFunc(out.Answers, func(a, b answer) int { return strings.Compare(a.Status, b.Status) })
	return out
}

func partsOf(content openapi3.Content) (all []part) {
	for media, m := range content {
		all = append(all, part{media, nameOf(m.Schema)})
	}
	slices.SortFunc(all, func(a, b part) int { return strings.Compare(a.Media, b.Media) })
	return all
}

// nameOf is the name of a schema that has one.
func nameOf(ref *openapi3.SchemaRef) string {
	if ref == nil {
		return ""
	}
	return strings.TrimPrefix(ref.Ref, "#/components/schemas/")
}

// typeOf is a schema in a word or two.
func typeOf(ref *openapi3.SchemaRef) string {
	if name := nameOf(ref); ref == nil || name != "" {
		return name
	}
	s := ref.Value
	switch {
	case len(s.AllOf) == 1:
		return typeOf(s.AllOf[0])
	case s.Type.Is("array"):
		return "list of " + typeOf(s.Items)
	case len(s.Enum) > 0:
		var names []string
		for _, v := range s.Enum {
			if name, ok := v.(string); ok {
				names = append(names, name)
			}
		}
		return strings.Join(names, " | ")
	}
	return strings.Join(append(s.Type.Slice(), s.Format), " ")
}

func schemaOf(name string, ref *openapi3.SchemaRef) schema {
	out := schema{Name: name, Type: typeOf(&openapi3.SchemaRef{Value: ref.Value}), About: ref.Value.Description}
	for field, f := range ref.Value.Properties {
		out.Members = append(out.Members, member{field, "", typeOf(f), f.Value.Description, slices.Contains(ref.Value.Required, field)})
	}
	slices.SortFunc(out.Members, func(a, b member) int { return strings.Compare(a.Name, b.Name) })
	return out
}
