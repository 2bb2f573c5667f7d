package deviation

import (
	"fmt"
	"strings"
	"unicode"

	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
)

// KeyKinds are the maps whose keys are records.
var KeyKinds = map[string]logbook.Kind{
	"cameras": kinds.Camera, "exceptions": kinds.Camera, "takes": kinds.Take, "lightsAsSet": kinds.Light, "mustLookLike": kinds.Scene,
}

// setUpKinds are the kinds of records that belong to a set-up.
var setUpKinds = []logbook.Kind{kinds.Light, kinds.Reading, kinds.White, kinds.Take, kinds.Clip, kinds.Sample}

// references finds what leads nowhere from a set-up and from what belongs to it.
// Deleting never cascades, so that a record may be left behind.
func (s *Finder) references() (all []sighting) {
	all = s.leadsNowhere(s.View())
	for _, kind := range setUpKinds {
		for _, v := range s.Book().Referring(kind, "setUp", s.View().ID) {
			all = append(all, s.leadsNowhere(v)...)
		}
	}
	return all
}

// walkedAtOnce is how many records are looked through in one call.
const walkedAtOnce = 2000

// elsewhere lists the records that belong to no set-up that is here, kind by kind in the
// order in which they were made.
func elsewhere(from logbook.Lender) (all []logbook.View) {
	for i := range kinds.Specs {
		if kind := kinds.Specs[i].Kind; kind != kinds.SetUp {
			all = append(all, logbook.Sift(from, kind, walkedAtOnce, func(b *logbook.Book, v logbook.View) bool {
				setUp, ok := b.RecordOf(kinds.SetUp, v.Ref("setUp"))
				return !ok || setUp.Deleted()
			})...)
		}
	}
	return all
}

func (s *Finder) leadsNowhere(v logbook.View) (all []sighting) {
	spec, ok := kinds.Of(v.Kind)
	if !ok || lighting.Withdrawn(v) {
		return nil
	}
	for name, value := range v.Values() {
		if value == logbook.Null || value == "false" || name == "supersedes" || strings.HasPrefix(name, logbook.SamePrefix) {
			continue
		}
		if prefix, rest, found := strings.Cut(name, "/"); found {
			key, _, _ := strings.Cut(rest, "/")
			if kind, ok := KeyKinds[prefix]; ok {
				all = append(all, s.nowhere(v, name, logbook.TextValue(key), []logbook.Kind{kind})...)
			}
		}
		if f, ok := spec.Field(name); ok {
			walkReferences(f, value, func(id logbook.Value, to []logbook.Kind) {
				all = append(all, s.nowhere(v, name, id, to)...)
			})
		}
	}
	return all
}

// walkReferences visits the references inside a value.
func walkReferences(f *kinds.Field, v logbook.Value, visit func(id logbook.Value, to []logbook.Kind)) {
	switch f.Type {
	case kinds.Reference:
		visit(v, f.To)
	case kinds.Group:
		for i := range f.Members {
			if m := v.Member(f.Members[i].Name); m != "" && m != logbook.Null {
				walkReferences(&f.Members[i], m, visit)
			}
		}
	case kinds.Form:
		as, _ := v.Member("as").Text()
		for i := range f.Forms {
			if f.Forms[i].Name == as {
				walkReferences(&f.Forms[i], v, visit)
			}
		}
	case kinds.List:
		for item := range v.Items() {
			walkReferences(f.Item, item, visit)
		}
	}
}

// nowhere reports a reference unless it leads to a record of a kind allowed that
// is not deleted. References to one lost record are one cause.
func (s *Finder) nowhere(from logbook.View, field string, value logbook.Value, to []logbook.Kind) []sighting {
	id, ok := value.ID()
	if !ok {
		return nil
	}
	target, here := s.Book().Record(id)
	if len(to) > 0 {
		here = false
		for _, kind := range to {
			if v, ok := s.Book().RecordOf(kind, id); ok {
				target, here = v, true
			}
		}
	}
	if here && !target.Deleted() {
		return nil
	}
	what, why := "record", "is not in the log"
	if len(to) == 1 {
		what = string(to[0])
	}
	if here {
		why = "is deleted"
	}
	f := sighting{cause: causeOf(ReferenceLeadsNowhere, s.View().ID, id), subjects: []logbook.ID{from.ID}, one: from.ID}
	f.Kind = ReferenceLeadsNowhere
	f.Words = fmt.Sprintf("%s of a %s leads to a %s that %s", field[:endOfName(field)], from.Kind, what, why)
	f.Headline = about(headlineLength, "", fieldWords(field[:endOfName(field)])+" of a "+fieldWords(string(from.Kind)), " "+why)
	if f.ToDo = "name another, or wait for the phone that has it"; here {
		f.ToDo = "name another, or undo the deletion"
	}
	f.ComparedWith = &figure.Compared{Words: "a " + what + " that " + why, Record: id}
	return []sighting{f}
}

func endOfName(field string) int {
	if i := strings.IndexByte(field, '/'); i >= 0 {
		return i
	}
	return len(field)
}

// fieldWords writes the name of a field or kind as people do: "reference light", "set-up".
func fieldWords(name string) string {
	switch name {
	case "setUp":
		return "set-up"
	case "of":
		return "light"
	case "about":
		return "subject"
	}
	words := ""
	for _, r := range name {
		if unicode.IsUpper(r) {
			words += " "
		}
		words += string(unicode.ToLower(r))
	}
	return words
}
