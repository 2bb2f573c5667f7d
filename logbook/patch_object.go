package logbook

import (
	"strings"
)

// ObjectOf writes a record as one JSON object: id, kind, production, who made it
// and when, deleted where it is struck out, its fields nested by their slashes,
// and what is not decided as a list of conflicts. Cleared fields are left out.
func ObjectOf(v View) Value {
	var root node
	for _, f := range v.Fields() {
		name, _, _ := strings.Cut(f.Name, "/")
		if f.Shown.Value != Null && ofService(name) == "" {
			root.put(f.Name, f.Shown.Value)
		}
	}
	for _, m := range serviceMembers(v) {
		root.put(m.Name, m.Value)
	}
	return root.value()
}

// serviceMembers are the members of a record's object that are no fields for
// people to set.
func serviceMembers(v View) []Member {
	edits := v.Edits()
	out := []Member{
		{"id", IDValue(v.ID)},
		{"kind", TextValue(string(v.Kind))},
		{"production", IDValue(v.Book().Production())},
		{"madeBy", TextValue(v.CreatedBy())},
		{"madeAt", TimeValue(v.CreatedAt())},
		{"changedAt", TimeValue(edits[len(edits)-1].Corrected())},
	}
	if v.Deleted() {
		out = append(out, Member{DeletedField, "true"})
	}
	if same := sameMembers(v); len(same) > 0 {
		out = append(out, Member{"same", ObjectValue(same)})
	}
	if ids := v.Members(); len(ids) > 1 {
		var twins []Value
		for _, id := range ids[1:] {
			twins = append(twins, IDValue(id))
		}
		out = append(out, Member{"twins", ListValue(twins)})
	}
	var conflicts []Value
	for _, c := range ConflictsOf(v) {
		conflicts = append(conflicts, c.value())
	}
	if len(conflicts) > 0 {
		out = append(out, Member{"conflicts", ListValue(conflicts)})
	}
	return out
}

func sameMembers(v View) (out []Member) {
	for _, key := range v.Keys("same") {
		out = append(out, Member{key, v.Value(SamePrefix + key)})
	}
	return out
}

// node is an object on its way: the fields below one name.
type node struct {
	own  Value
	kids map[string]*node
}

func (n *node) put(path string, v Value) {
	for more := true; more; {
		var name string
		name, path, more = strings.Cut(path, "/")
		if n.kids == nil {
			n.kids = map[string]*node{}
		}
		if n.kids[name] == nil {
			n.kids[name] = &node{}
		}
		n = n.kids[name]
	}
	n.own = v
}

// value: where a newer version has both a field and fields below it, the field's
// own value stands under the empty name.
func (n *node) value() Value {
	if n.kids == nil && n.own != "" {
		return n.own
	}
	var members []Member
	for name, kid := range n.kids {
		members = append(members, Member{name, kid.value()})
	}
	if n.own != "" {
		members = append(members, Member{"", n.own})
	}
	return ObjectValue(members)
}
