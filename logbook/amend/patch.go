package amend

import (
	"slices"
	"sort"
	"strings"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
)

// Errors are the faults that were found in one object, mostErrors at the most:
// nobody reads more, and an object full of them would fill the answer and hold up
// all others while it is looked at.
type Errors []*logbook.FieldError

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
	case logbook.DeletedField:
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

// Changes turns an object into the changes that make a record of a kind. The
// object's id is left to the caller; defaults are not written; null is as good as
// absent. The error is of type Errors and holds the faults: members that are
// unknown, fields that are missing, values that are not allowed.
func Changes(kind logbook.Kind, object logbook.Value) ([]logbook.Change, error) {
	w, err := walkerOf(kind, object)
	if err != nil {
		return nil, err
	}
	var out []logbook.Change
	set := map[string]bool{}
	w.Service = func(name string, v logbook.Value) bool {
		return name == "id" || name == "kind" && v.Equal(logbook.TextValue(string(kind)))
	}
	w.Field = func(f *kinds.Field, path string, v logbook.Value) {
		if v == logbook.Null {
			return
		}
		if f.Type == kinds.Group || f.Type == kinds.Form {
			v = mergePatch("", v)
		}
		if w.Check(kinds.JudgeField(f, v, true), f, path) {
			out = append(out, logbook.Change{Field: path, Value: v})
		}
		set[f.Name] = true
	}
	w.Walk("", object)
	for i := range w.Spec.Fields {
		if f := &w.Spec.Fields[i]; f.Required && !set[f.Name] && len(w.errors) < mostErrors { // else it may stand in what was not looked at
			w.Refuse(f.Name, "", kinds.Allowed(f))
		}
	}
	return out, w.Result()
}

// Patch turns a merge patch (RFC 7396) into the changes of a record. Null
// clears. A group is decided as one: its patch is merged into what is shown and
// written whole; a form of another sort replaces it. What does not change makes
// no change, unless it settles a conflict: each change names all heads of its
// field. The error is of type Errors and holds the faults.
func Patch(v logbook.View, patch logbook.Value) ([]logbook.Change, error) {
	w, err := walkerOf(v.Kind, patch)
	if err != nil {
		return nil, err
	}
	var out []logbook.Change
	w.Service = func(name string, value logbook.Value) bool {
		for _, m := range serviceMembers(v) {
			if m.Name == name {
				return m.Value.Equal(value)
			}
		}
		return value == logbook.Null || name == logbook.DeletedField && value == "false"
	}
	w.Field = func(f *kinds.Field, path string, value logbook.Value) {
		if c, ok := w.patched(v, f, path, value); ok {
			out = append(out, c)
		}
	}
	w.cleared = func(path string) {
		for _, state := range v.Fields() {
			if f, ok := w.Spec.Field(state.Name); ok && strings.HasPrefix(state.Name, path+"/") {
				w.Field(f, state.Name, logbook.Null)
			}
		}
	}
	w.Walk("", patch)
	return out, w.Result()
}

// patched makes the change of one field, if it is one.
func (w *Walker) patched(v logbook.View, f *kinds.Field, path string, patch logbook.Value) (logbook.Change, bool) {
	state := v.Field(path)
	now := state.Shown.Value
	if now == "" {
		now = logbook.Null
	}
	next, judged := patch, patch
	if f.Type == kinds.Group || f.Type == kinds.Form {
		base := now
		if as := patch.Member("as"); as != "" && !as.Equal(now.Member("as")) {
			base = ""
		}
		next, judged = mergePatch(base, patch), mergePatch(knownTo(f, base), patch)
	}
	switch {
	case next.Equal(now) && !state.Conflict:
		return logbook.Change{}, false
	case f.Fact:
		w.Refuse(path, patch, "what it was when the record was made, for it is a fact: make a new one and strike this one out")
		return logbook.Change{}, false
	case next == logbook.Null && f.Required:
		w.Refuse(path, patch, kinds.Allowed(f)+", for it is required")
		return logbook.Change{}, false
	case next != logbook.Null && !w.Check(kinds.JudgeField(f, judged, true), f, path):
		return logbook.Change{}, false
	}
	return logbook.Replace(v, path, next), true
}

// knownTo leaves out the members of a group that only a newer version
// knows: they stay, but are not judged.
func knownTo(f *kinds.Field, v logbook.Value) logbook.Value {
	members := f.Members
	if f.Type == kinds.Form {
		text, _ := v.Member("as").Text()
		if at := kinds.MemberNamed(f.Forms, text); at >= 0 {
			members = f.Forms[at].Members
		}
	}
	var out []logbook.Member
	for name, value := range v.Members() {
		if name == "as" || kinds.MemberNamed(members, name) >= 0 {
			out = append(out, logbook.Member{Name: name, Value: value})
		}
	}
	return logbook.ObjectValue(out)
}

// mergePatch applies a merge patch to a value (RFC 7396, section 2).
func mergePatch(target, patch logbook.Value) logbook.Value {
	if patch == "" || patch[0] != '{' {
		return patch
	}
	merged := map[string]logbook.Value{}
	for name, value := range target.Members() {
		merged[name] = value
	}
	for name, value := range patch.Members() {
		if value == logbook.Null {
			delete(merged, name)
		} else {
			merged[name] = mergePatch(merged[name], value)
		}
	}
	var out []logbook.Member
	for name, value := range merged {
		out = append(out, logbook.Member{Name: name, Value: value})
	}
	return logbook.ObjectValue(out)
}

// Walker goes through an object and hands on each field by its name in an edit.
type Walker struct {
	Spec    *kinds.Spec
	errors  Errors
	Service func(name string, v logbook.Value) bool // whether a member of the service's own may stand there
	Field   func(f *kinds.Field, path string, v logbook.Value)
	cleared func(path string) // everything below a name; nil: nothing to clear
}

func walkerOf(kind logbook.Kind, object logbook.Value) (*Walker, error) {
	spec, ok := kinds.Of(kind)
	if !ok {
		names := make([]string, len(kinds.Specs))
		for i := range kinds.Specs {
			names[i] = string(kinds.Specs[i].Kind)
		}
		return nil, Errors{{Kind: kind, Field: "kind", Value: logbook.TextValue(string(kind)), Allowed: "one of " + strings.Join(names, ", ")}}
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

func (w *Walker) Refuse(path string, v logbook.Value, allowed string) {
	w.errors = append(w.errors, &logbook.FieldError{Kind: w.Spec.Kind, Field: path, Value: v, Allowed: allowed})
}

// Check notes an error under the field's name in an edit, and says whether there
// was none.
func (w *Walker) Check(err *logbook.FieldError, f *kinds.Field, path string) bool {
	if err == nil {
		return true
	}
	err.Kind = w.Spec.Kind
	w.errors = append(w.errors, kinds.Rename(err, f, path))
	return false
}

func (w *Walker) Walk(prefix string, object logbook.Value) {
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
func (w *Walker) below(path string, v logbook.Value) {
	switch {
	case v == logbook.Null:
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
func (w *Walker) keyed(path string, v logbook.Value) bool {
	prefix, key, found := strings.Cut(path, "/")
	if key, _, _ = strings.Cut(key, "/"); !found {
		return true
	}
	switch mapKeys[prefix] {
	case "id":
		if !kinds.IsReference(key) {
			w.Refuse(path, v, "a key that is the id of a record, in lower-case digits")
			return false
		}
	case "role":
		if roles := strings.Fields(kinds.LimitRoles); !slices.Contains(roles, key) {
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
			if key := mapKeys[strings.TrimSuffix(prefix, "/")]; key != "" {
				parts[i] = "keys, each the " + key + " that it is about"
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
