package logbook

import (
	"slices"
	"sort"
	"strings"
)

// Errors are the faults that were found in one object, mostErrors at the most:
// nobody reads more, and an object full of them would fill the answer and hold up
// all others while it is looked at.
type Errors []*FieldError

const mostErrors = 100

func (e Errors) Error() string {
	texts := make([]string, len(e))
	for i := range e {
		texts[i] = e[i].Error()
	}
	return strings.Join(texts, "; ")
}

// Unwrap gives the single errors.
func (e Errors) Unwrap() []error {
	all := make([]error, len(e))
	for i := range e {
		all[i] = e[i]
	}
	return all
}

// ofService says what to do instead of setting a member that is no field for
// people to set; "" for all others.
func ofService(name string) string {
	switch name {
	case "id", "kind", "production":
		return "what it was when the record was made"
	case "madeBy", "madeAt", "changedAt", "conflicts", "twins":
		return "none: it follows from the edits"
	case DeletedField:
		return "none here: strike the record out or bring it back instead"
	case "same":
		return "none here: answer the twins instead"
	}
	return ""
}

// mapKeys are the maps whose keys are not free: ids of records, or roles.
var mapKeys = map[string]string{
	"cameras": "id", "takes": "id", "lightsAsSet": "id", "exceptions": "id", "mustLookLike": "id", "limits": "role",
}

// ChangesOf turns an object into the changes that make a record of a kind. The
// object's id is left to the caller; defaults are not written; null is as good as
// absent. The error is of type Errors and holds the faults: members that are
// unknown, fields that are missing, values that are not allowed.
func ChangesOf(kind Kind, object Value) ([]Change, error) {
	w, err := walkerOf(kind, object)
	if err != nil {
		return nil, err
	}
	var out []Change
	set := map[string]bool{}
	w.Service = func(name string, v Value) bool {
		return name == "id" || name == "kind" && v.Equal(TextValue(string(kind)))
	}
	w.Field = func(f *Field, path string, v Value) {
		if v == Null {
			return
		}
		if f.Type == Group || f.Type == Form {
			v = mergePatch("", v)
		}
		if w.Check(JudgeField(f, v, true), f, path) {
			out = append(out, Change{Field: path, Value: v})
		}
		set[f.Name] = true
	}
	w.Walk("", object)
	for i := range w.Spec.Fields {
		if f := &w.Spec.Fields[i]; f.Required && !set[f.Name] && len(w.errors) < mostErrors { // else it may stand in what was not looked at
			w.Refuse(f.Name, "", Allowed(f))
		}
	}
	return out, w.Result()
}

// PatchOf turns a merge patch (RFC 7396) into the changes of a record. Null
// clears. A group is decided as one: its patch is merged into what is shown and
// written whole; a form of another sort replaces it. What does not change makes
// no change, unless it settles a conflict: each change names all heads of its
// field. The error is of type Errors and holds the faults.
func PatchOf(v View, patch Value) ([]Change, error) {
	w, err := walkerOf(v.Kind, patch)
	if err != nil {
		return nil, err
	}
	var out []Change
	w.Service = func(name string, value Value) bool {
		for _, m := range serviceMembers(v) {
			if m.Name == name {
				return m.Value.Equal(value)
			}
		}
		return value == Null || name == DeletedField && value == "false"
	}
	w.Field = func(f *Field, path string, value Value) {
		if c, ok := w.patched(v, f, path, value); ok {
			out = append(out, c)
		}
	}
	w.cleared = func(path string) {
		for _, state := range v.Fields() {
			if f, ok := w.Spec.Field(state.Name); ok && strings.HasPrefix(state.Name, path+"/") {
				w.Field(f, state.Name, Null)
			}
		}
	}
	w.Walk("", patch)
	return out, w.Result()
}

// patched makes the change of one field, if it is one.
func (w *Walker) patched(v View, f *Field, path string, patch Value) (Change, bool) {
	state := v.Field(path)
	now := state.Shown.Value
	if now == "" {
		now = Null
	}
	next, judged := patch, patch
	if f.Type == Group || f.Type == Form {
		base := now
		if as := patch.Member("as"); as != "" && !as.Equal(now.Member("as")) {
			base = ""
		}
		next, judged = mergePatch(base, patch), mergePatch(knownTo(f, base), patch)
	}
	switch {
	case next.Equal(now) && !state.Conflict:
		return Change{}, false
	case f.Fact:
		w.Refuse(path, patch, "what it was when the record was made, for it is a fact: make a new one and strike this one out")
		return Change{}, false
	case next == Null && f.Required:
		w.Refuse(path, patch, Allowed(f)+", for it is required")
		return Change{}, false
	case next != Null && !w.Check(JudgeField(f, judged, true), f, path):
		return Change{}, false
	}
	return Replace(v, path, next), true
}

// knownTo leaves out the members of a group that only a newer version
// knows: they stay, but are not judged.
func knownTo(f *Field, v Value) Value {
	members := f.Members
	if f.Type == Form {
		text, _ := v.Member("as").Text()
		if at := MemberNamed(f.Forms, text); at >= 0 {
			members = f.Forms[at].Members
		}
	}
	var out []Member
	for name, value := range v.Members() {
		if name == "as" || MemberNamed(members, name) >= 0 {
			out = append(out, Member{name, value})
		}
	}
	return ObjectValue(out)
}

// mergePatch applies a merge patch to a value (RFC 7396, section 2).
func mergePatch(target, patch Value) Value {
	if patch == "" || patch[0] != '{' {
		return patch
	}
	merged := map[string]Value{}
	for name, value := range target.Members() {
		merged[name] = value
	}
	for name, value := range patch.Members() {
		if value == Null {
			delete(merged, name)
		} else {
			merged[name] = mergePatch(merged[name], value)
		}
	}
	var out []Member
	for name, value := range merged {
		out = append(out, Member{name, value})
	}
	return ObjectValue(out)
}

// Walker goes through an object and hands on each field by its name in an edit.
type Walker struct {
	Spec    *Spec
	errors  Errors
	Service func(name string, v Value) bool // whether a member of the service's own may stand there
	Field   func(f *Field, path string, v Value)
	cleared func(path string) // everything below a name; nil: nothing to clear
}

func walkerOf(kind Kind, object Value) (*Walker, error) {
	spec, ok := SpecOf(kind)
	if !ok {
		names := make([]string, len(Specs))
		for i := range Specs {
			names[i] = string(Specs[i].Kind)
		}
		return nil, Errors{{Kind: kind, Field: "kind", Value: TextValue(string(kind)), Allowed: "one of " + strings.Join(names, ", ")}}
	}
	if object == "" || object[0] != '{' {
		return nil, Errors{{Kind: kind, Field: "the object", Value: object, Allowed: "a JSON object of the fields of a " + string(kind)}}
	}
	return &Walker{Spec: spec}, nil
}

func (w *Walker) Result() error {
	if len(w.errors) == 0 {
		return nil
	}
	return w.errors
}

func (w *Walker) Refuse(path string, v Value, allowed string) {
	w.errors = append(w.errors, &FieldError{Kind: w.Spec.Kind, Field: path, Value: v, Allowed: allowed})
}

// Check notes an error under the field's name in an edit, and says whether there
// was none.
func (w *Walker) Check(err *FieldError, f *Field, path string) bool {
	if err == nil {
		return true
	}
	err.Kind = w.Spec.Kind
	w.errors = append(w.errors, Rename(err, f, path))
	return false
}

func (w *Walker) Walk(prefix string, object Value) {
	for name, v := range object.Members() {
		if len(w.errors) >= mostErrors {
			return
		}
		path := prefix + name
		if instead := ofService(name); prefix == "" && instead != "" {
			if !w.Service(name, v) {
				w.Refuse(path, v, instead)
			}
			continue
		}
		if plain := !strings.ContainsAny(name, "/*"); plain {
			if f, ok := w.Spec.Field(path); ok {
				if w.keyed(path, v) {
					w.Field(f, path, v)
				}
				continue
			}
			if w.hasBelow(path) {
				w.below(path, v)
				continue
			}
		}
		w.Refuse(path, v, "no field of this name, but "+w.namesAt(prefix))
	}
}

// below goes on into an object that stands for a map or for parts.
func (w *Walker) below(path string, v Value) {
	switch {
	case v == Null:
		if w.cleared != nil {
			w.cleared(path)
		}
	case v == "" || v[0] != '{':
		w.Refuse(path, v, "an object of "+w.namesAt(path+"/"))
	case w.keyed(path, v):
		w.Walk(path+"/", v)
	}
}

// keyed refuses the key of a map's entry that names nothing.
func (w *Walker) keyed(path string, v Value) bool {
	prefix, key, found := strings.Cut(path, "/")
	if key, _, _ = strings.Cut(key, "/"); !found {
		return true
	}
	switch mapKeys[prefix] {
	case "id":
		if !IsReference(key) {
			w.Refuse(path, v, "a key that is the id of a record, in lower-case digits")
			return false
		}
	case "role":
		if roles := strings.Fields(LimitRoles); !slices.Contains(roles, key) {
			w.Refuse(path, v, "a key that is one of "+strings.Join(roles, ", "))
			return false
		}
	}
	return true
}

// hasBelow reports whether fields stand below a name, with keys for stars.
func (w *Walker) hasBelow(path string) bool {
	return len(w.partsAt(path+"/")) > 0
}

// namesAt lists what may stand in the object at a prefix.
func (w *Walker) namesAt(prefix string) string {
	parts := w.partsAt(prefix)
	for i, part := range parts {
		if part == "*" {
			parts[i] = "keys of your own choice"
			if sort := mapKeys[strings.TrimSuffix(prefix, "/")]; sort != "" {
				parts[i] = "keys, each the " + sort + " that it is about"
			}
		}
	}
	return strings.Join(parts, ", ")
}

func (w *Walker) partsAt(prefix string) []string {
	at := strings.Split(prefix, "/")
	found := map[string]bool{}
	for i := range w.Spec.Fields {
		parts := strings.Split(w.Spec.Fields[i].Name, "/")
		if len(parts) < len(at) || ofService(parts[0]) != "" {
			continue
		}
		same := true
		for j := range at[:len(at)-1] {
			same = same && (parts[j] == at[j] || parts[j] == "*" && at[j] != "" && len(at[j]) <= 64)
		}
		if same {
			found[parts[len(at)-1]] = true
		}
	}
	out := make([]string, 0, len(found))
	for name := range found {
		out = append(out, name)
	}
	sort.Strings(out)
	return out
}
