package openapi

import (
	"regexp"
	"slices"
	"strings"
	"testing"

	"go.yaml.in/yaml/v4"

	"evenwhite/logbook/kinds"
)

// servedTree is the served contract as it is parsed.
func servedTree(t *testing.T) *yaml.Node {
	t.Helper()
	text, err := Served()
	if err != nil {
		t.Fatal(err)
	}
	var document yaml.Node
	if err := yaml.Load(text, &document); err != nil {
		t.Fatal(err)
	}
	return document.Content[0]
}

func TestServedContractNamesNothingOfOurs(t *testing.T) {
	walk(servedTree(t), func(n *yaml.Node) {
		for _, ours := range []string{"x-go-", "x-kind", "x-each-kind", "evenwhite/", "RecordBody", "RecordPatch"} {
			if strings.Contains(n.Value, ours) {
				t.Errorf("line %d holds %s: %s", n.Line, ours, n.Value)
			}
		}
	})
}

func TestServedContractHasNoPartThatNobodyUses(t *testing.T) {
	root := servedTree(t)
	used := map[string]bool{}
	var follow func(n *yaml.Node)
	follow = func(n *yaml.Node) {
		walk(n, func(n *yaml.Node) {
			if at, ok := strings.CutPrefix(n.Value, "#/components/"); ok && !used[at] {
				used[at] = true
				follow(member(root, append([]string{"components"}, strings.Split(at, "/")...)...))
			}
		})
	}
	follow(member(root, "paths"))
	for _, sort := range []string{"schemas", "parameters", "examples", "headers", "responses"} {
		all := member(root, "components", sort)
		for i := 0; i < len(all.Content); i += 2 {
			if name := all.Content[i].Value; !used[sort+"/"+name] {
				t.Errorf("%s %s belongs to no operation", sort, name)
			}
		}
	}
	if len(used) < 300 {
		t.Errorf("%d parts are used, want hundreds", len(used))
	}
}

// Readers of YAML 1.1 are still the most: what they take for another type is quoted.
func TestServedContractReadsTheSameAsYAML11(t *testing.T) {
	time := regexp.MustCompile(`^[1-9][0-9]*(:[0-5]?[0-9])+$|^[0-9]{4}-[0-9]{1,2}-[0-9]{1,2}`)
	number := regexp.MustCompile(`^[-+]?([0-9][0-9_]*)?\.?[0-9]*([eE][-+]?[0-9]+)?$`)
	old := regexp.MustCompile(`^[-+]?(0|[1-9][0-9]*|[0-9]+\.[0-9]*([eE][-+][0-9]+)?)$`)
	quoted := yaml.SingleQuotedStyle | yaml.DoubleQuotedStyle | yaml.LiteralStyle | yaml.FoldedStyle
	walk(servedTree(t), func(n *yaml.Node) {
		if n.Kind != yaml.ScalarNode || n.Style&quoted != 0 {
			return
		}
		switch n.Tag {
		case "!!str":
			if slices.Contains(truths, strings.ToLower(n.Value)) || number.MatchString(n.Value) ||
				time.MatchString(n.Value) {
				t.Errorf("line %d: %s is a text, and is not quoted", n.Line, n.Value)
			}
		case "!!int", "!!float":
			if !old.MatchString(n.Value) {
				t.Errorf("line %d: %s is a number, and YAML 1.1 takes it for something else", n.Line, n.Value)
			}
		}
	})
}

func TestServedContractWritesEveryKindOut(t *testing.T) {
	document := served(t)
	ids := map[string]bool{}
	for path, item := range document.Paths.Map() {
		for method, o := range item.Operations() {
			if ids[o.OperationID] {
				t.Errorf("%s %s: the operationId %s stands twice", method, path, o.OperationID)
			}
			ids[o.OperationID] = true
		}
	}
	for _, spec := range kinds.Specs {
		if spec.Kind == kinds.Production {
			continue
		}
		kind := string(spec.Kind)
		path := "/v1/productions/{production}/records/" + kind
		list, one := document.Paths.Find(path), document.Paths.Find(path+"/{record}")
		if list == nil || one == nil {
			t.Errorf("%s has no paths", kind)
			continue
		}
		for got, want := range map[string]string{
			list.Get.Responses.Status(200).Value.Content.Get("application/json").Schema.Ref:    title(kind) + "Page",
			list.Post.RequestBody.Value.Content.Get("application/json").Schema.Ref:             "New" + title(kind),
			one.Get.Responses.Status(200).Value.Content.Get("application/json").Schema.Ref:     title(kind),
			one.Patch.RequestBody.Value.Content.Get("application/merge-patch+json").Schema.Ref: "PatchOf" + title(kind),
			"#/components/schemas/" + strings.TrimPrefix(one.Get.OperationID, "get"):           title(kind),
			"#/components/schemas/" + strings.TrimPrefix(list.Get.OperationID, "list"):         plural(title(kind)),
		} {
			if got != "#/components/schemas/"+want {
				t.Errorf("%s: got %s, want %s", kind, got, want)
			}
		}
	}
}
