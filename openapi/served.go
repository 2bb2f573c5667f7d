package openapi

import (
	"bytes"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"

	"go.yaml.in/yaml/v4"

	"evenwhite/logbook/kinds"
)

// Served is the contract as clients read it: without the marks that only our own
// generator needs, and with the operations on records written out for each kind. A
// client whose types are generated gets exact ones only where the path names the kind;
// the service handles all kinds alike, so that its own contract says it once. The marks
// are
//
//	x-each-kind: true       at a path with {kind}: written out for each kind
//	x-kind: KIND            at an operation whose records are all of one kind
//	x-kind-words: {KIND: …} at an operation: what to add to its description for one kind
//	x-kind-roles: {KIND: …} at an operation: the role that one kind needs instead
var Served = sync.OnceValues(func() ([]byte, error) {
	var document yaml.Node
	if err := yaml.Load(source, &document); err != nil {
		return nil, fmt.Errorf("the contract: %w", err)
	}
	root := document.Content[0]
	paths := member(root, "paths")
	paths.Content = eachKind(root, paths.Content)
	for _, item := range values(paths) {
		for _, operation := range values(item) {
			sayMostBytes(operation)
			if kind := member(operation, "x-kind"); kind != nil {
				retype(operation, kind.Value)
			}
		}
	}
	nameParameters(root)
	schemas := member(root, "components", "schemas")
	remove(schemas, func(name string) bool { return name == "RecordBody" || name == "RecordPatch" })
	walk(root, func(n *yaml.Node) {
		remove(n, func(name string) bool {
			return strings.HasPrefix(name, "x-go-") || strings.HasPrefix(name, "x-each-kind") || strings.HasPrefix(name, "x-kind")
		})
		if n.Value == toSchema+"RecordBody" {
			n.Value = toSchema + "Record"
		}
		unfold(n)
	})
	var out bytes.Buffer
	dumper, err := yaml.NewDumper(&out, yaml.WithIndent(2), yaml.WithLineWidth(-1))
	if err != nil {
		return nil, err
	}
	if err := dumper.Dump(&document); err != nil {
		return nil, err
	}
	return out.Bytes(), dumper.Close()
})

const toSchema = "#/components/schemas/"

// eachKind writes out the marked paths. A production is no record among others: it has
// paths of its own.
func eachKind(root *yaml.Node, paths []*yaml.Node) (out []*yaml.Node) {
	for i := 0; i < len(paths); i += 2 {
		path, item := paths[i], paths[i+1]
		if member(item, "x-each-kind") == nil {
			out = append(out, path, item)
			continue
		}
		for _, spec := range kinds.Specs {
			if spec.Kind == kinds.Production {
				continue
			}
			kind := string(spec.Kind)
			at, of := copied(path), copied(item)
			at.Value = strings.Replace(path.Value, "{kind}", kind, 1)
			parameters := member(of, "parameters")
			parameters.Content = slices.DeleteFunc(parameters.Content, func(n *yaml.Node) bool {
				return member(n, "$ref").Value == "#/components/parameters/kind"
			})
			for _, operation := range values(of) {
				if id := member(operation, "operationId"); id != nil {
					ofKind(root, operation, kind)
				}
			}
			out = append(out, at, of)
		}
	}
	return out
}

// ofKind makes an operation on records one on those of a kind.
func ofKind(root, operation *yaml.Node, kind string) {
	id := member(operation, "operationId")
	id.Value = strings.NewReplacer("Records", plural(title(kind)), "Record", title(kind)).Replace(id.Value)
	member(operation, "summary").Value += ": " + kind
	if words := member(operation, "x-kind-words", kind); words != nil {
		member(operation, "description").Value += " " + words.Value
	}
	if role := member(operation, "x-kind-roles", kind); role != nil {
		member(operation, "x-role").Value = role.Value
	}
	retype(operation, kind)
	for _, content := range contents(operation) {
		examples := member(content, "examples")
		if examples == nil {
			continue
		}
		for i := len(examples.Content) - 2; i >= 0; i -= 2 {
			if name := examples.Content[i].Value; name != kind && kindOf(member(root, "components", "examples", name)) != kind {
				examples.Content = slices.Delete(examples.Content, i, i+2)
			}
		}
		if len(examples.Content) == 0 {
			remove(content, func(name string) bool { return name == "examples" })
		}
	}
}

// kindOf is the kind of the record, or of the first of the records, that an example shows.
func kindOf(example *yaml.Node) string {
	value := member(example, "value")
	if list := member(value, "records"); list != nil {
		value = list.Content[0]
	}
	if kind := member(value, "kind"); kind != nil {
		return kind.Value
	}
	return ""
}

// retype puts the schemas of a kind where an operation speaks of records.
func retype(operation *yaml.Node, kind string) {
	name := title(kind)
	to := map[string]string{"RecordBody": name, "RecordPatch": "PatchOf" + name, "Records": name + "Page"}
	change := func(n *yaml.Node) {
		if schema, ok := strings.CutPrefix(n.Value, toSchema); ok && to[schema] != "" {
			n.Value = toSchema + to[schema]
		}
	}
	walk(member(operation, "responses"), change)
	to["RecordBody"] = "New" + name
	walk(member(operation, "requestBody"), change)
}

// nameParameters calls the shared parameters as our Go does: a parameter device beside a
// schema Device would be one type twice for a generator.
func nameParameters(root *yaml.Node) {
	const to = "#/components/parameters/"
	names := map[string]string{}
	parameters := member(root, "components", "parameters")
	for i := 0; i < len(parameters.Content); i += 2 {
		if name := member(parameters.Content[i+1], "x-go-name"); name != nil {
			names[to+parameters.Content[i].Value] = to + name.Value
			parameters.Content[i].Value = name.Value
		}
	}
	walk(root, func(n *yaml.Node) {
		if name := names[n.Value]; name != "" {
			n.Value = name
		}
	})
}

// sayMostBytes says at a body how long it may be.
func sayMostBytes(operation *yaml.Node) {
	body := member(operation, "requestBody")
	if body == nil {
		return
	}
	words := "At most 1 MiB, unpacked too."
	if most := member(operation, "x-most-bytes"); most != nil {
		bytes, err := strconv.Atoi(most.Value)
		if err != nil {
			panic(err) // our own contract
		}
		words = fmt.Sprintf("At most %d MiB, not packed.", bytes>>20)
	}
	body.Content = append([]*yaml.Node{text("description"), text(words)}, body.Content...)
}

func text(value string) *yaml.Node {
	return &yaml.Node{Kind: yaml.ScalarNode, Tag: "!!str", Value: value}
}

// contents are the bodies of an operation, by media type.
func contents(operation *yaml.Node) (all []*yaml.Node) {
	all = values(member(operation, "requestBody", "content"))
	for _, response := range values(member(operation, "responses")) {
		all = append(all, values(member(response, "content"))...)
	}
	return all
}

func title(name string) string { return strings.ToUpper(name[:1]) + name[1:] }

func plural(name string) string {
	if name == "Body" {
		return "Bodies"
	}
	return name + "s"
}

// unfold writes what is too long for a line of its own over several.
func unfold(n *yaml.Node) {
	if n.Style&yaml.FlowStyle != 0 && width(n) > 120 {
		n.Style &^= yaml.FlowStyle
	}
	if n.Kind != yaml.ScalarNode || n.Tag != "!!str" || n.Style&(yaml.LiteralStyle|yaml.FoldedStyle) != 0 {
		return
	}
	n.Style = 0 // the writer quotes what YAML 1.2 takes for something else
	if slices.Contains(truths, strings.ToLower(n.Value)) || sexagesimal.MatchString(n.Value) {
		n.Style = yaml.DoubleQuotedStyle
	}
}

// truths are the words that readers of YAML 1.1 take for true and false.
var truths = strings.Fields("y n yes no on off true false")

// sexagesimal is what they take for a number to the base of 60, as a timecode.
var sexagesimal = regexp.MustCompile(`^[1-9][0-9]*(:[0-5]?[0-9])+$`)

func width(n *yaml.Node) int {
	sum := len(n.Value) + 2
	for _, part := range n.Content {
		sum += width(part)
	}
	return sum
}

// member finds the value at names of mappings within mappings; nil where one is missing.
func member(n *yaml.Node, names ...string) *yaml.Node {
	for _, name := range names {
		found := (*yaml.Node)(nil)
		for i := 0; n != nil && n.Kind == yaml.MappingNode && i < len(n.Content); i += 2 {
			if n.Content[i].Value == name {
				found = n.Content[i+1]
			}
		}
		n = found
	}
	return n
}

// values are those of a mapping.
func values(n *yaml.Node) (all []*yaml.Node) {
	if n == nil || n.Kind != yaml.MappingNode {
		return nil
	}
	for i := 1; i < len(n.Content); i += 2 {
		all = append(all, n.Content[i])
	}
	return all
}

// remove takes members out of a mapping.
func remove(n *yaml.Node, which func(name string) bool) {
	for i := len(n.Content) - 2; n.Kind == yaml.MappingNode && i >= 0; i -= 2 {
		if which(n.Content[i].Value) {
			n.Content = slices.Delete(n.Content, i, i+2)
		}
	}
}

// walk calls with a node and then with all below it.
func walk(n *yaml.Node, call func(*yaml.Node)) {
	if n == nil {
		return
	}
	call(n)
	for _, part := range n.Content {
		walk(part, call)
	}
}

// copied is a node of its own, with all below it.
func copied(n *yaml.Node) *yaml.Node {
	c := *n
	c.Content = nil
	for _, part := range n.Content {
		c.Content = append(c.Content, copied(part))
	}
	return &c
}
