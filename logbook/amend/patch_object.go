package amend

import (
	"strings"

	"evenwhite/logbook"
)

// Object writes a record as one JSON object: id, kind, production, who made it
// and when, deleted where it is struck out, its fields nested by their slashes,
// and what is not decided as a list of conflicts. Cleared fields are left out.
func Object(v logbook.View) logbook.Value {
	var root node
	for _, f := range v.Fields() {
		name, _, _ := strings.Cut(f.Name, "/")
		if f.Shown.Value != logbook.Null && ofService(name) == "" {
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
func serviceMembers(v logbook.View) []logbook.Member {
	out := []logbook.Member{
		{Name: "id", Value: logbook.IDValue(v.ID)},
		{Name: "kind", Value: logbook.TextValue(string(v.Kind))},
		{Name: "production", Value: logbook.IDValue(v.Book().Production())},
		{Name: "madeBy", Value: logbook.TextValue(v.CreatedBy())},
		{Name: "madeAt", Value: logbook.TimeValue(v.CreatedAt())},
		{Name: "changedAt", Value: logbook.TimeValue(v.ChangedAt())},
	}
	if v.Deleted() {
		out = append(out, logbook.Member{Name: logbook.DeletedField, Value: "true"})
	}
	if same := sameMembers(v); len(same) > 0 {
		out = append(out, logbook.Member{Name: "same", Value: logbook.ObjectValue(same)})
	}
	if ids := v.Members(); len(ids) > 1 {
		var twins []logbook.Value
		for _, id := range ids[1:] {
			twins = append(twins, logbook.IDValue(id))
		}
		out = append(out, logbook.Member{Name: "twins", Value: logbook.ListValue(twins)})
	}
	var conflicts []logbook.Value
	for _, c := range ConflictsOf(v) {
		conflicts = append(conflicts, c.value())
	}
	if len(conflicts) > 0 {
		out = append(out, logbook.Member{Name: "conflicts", Value: logbook.ListValue(conflicts)})
	}
	return out
}

func sameMembers(v logbook.View) (out []logbook.Member) {
	for _, key := range v.Keys("same") {
		out = append(out, logbook.Member{Name: key, Value: v.Value(logbook.SamePrefix + key)})
	}
	return out
}

// node is an object on its way: the fields below one name.
type node struct {
	own  logbook.Value
	kids map[string]*node
}

func (n *node) put(path string, v logbook.Value) {
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
func (n *node) value() logbook.Value {
	if n.kids == nil && n.own != "" {
		return n.own
	}
	var members []logbook.Member
	for name, kid := range n.kids {
		members = append(members, logbook.Member{Name: name, Value: kid.value()})
	}
	if n.own != "" {
		members = append(members, logbook.Member{Name: "", Value: n.own})
	}
	return logbook.ObjectValue(members)
}
