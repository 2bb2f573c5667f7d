package logbook

import (
	"fmt"
	"sort"
	"strings"
)

// A Twin is a pair of records that may be the same thing logged twice: a person
// says whether they are one or two. First has the smaller id.
type Twin struct {
	Kind          Kind
	First, Second ID
	SetUp         ID  // zero where the records belong to none
	Run           int // pairs of one run may be answered together; from 1
}

// The answers to a twin.
const (
	TwinOne = "one"
	TwinTwo = "two"
)

// Twins lists the pairs with equal natural keys that have no live answer, by kind
// in the order of the table, then by ids. Struck-out records drop out.
func Twins(b *Book) []Twin {
	var out []Twin
	for i := range Specs {
		alike := map[string][]View{}
		for _, v := range b.Records(Specs[i].Kind) {
			for _, key := range naturalKeys(b, &Specs[i], v) {
				alike[key] = append(alike[key], v)
			}
		}
		seen := map[[2]ID]bool{}
		from := len(out)
		for _, views := range alike {
			for j, v := range views {
				for _, w := range views[j+1:] {
					first, second := v, w
					if second.ID.Less(first.ID) {
						first, second = w, v
					}
					pair := [2]ID{first.ID, second.ID}
					if first.ID != second.ID && !seen[pair] && !answered(first, second) {
						out = append(out, Twin{Kind: Specs[i].Kind, First: first.ID, Second: second.ID, SetUp: setUpOf(first)})
					}
					seen[pair] = true
				}
			}
		}
		found := out[from:]
		sort.Slice(found, func(i, j int) bool {
			if found[i].First != found[j].First {
				return found[i].First.Less(found[j].First)
			}
			return found[i].Second.Less(found[j].Second)
		})
	}
	setRuns(b, out)
	return out
}

// naturalDefaults are what fields of natural keys read as where they are absent.
var naturalDefaults = map[string]string{"takeKind": "take", "unit": "main"}

// naturalKeys are what tells a record apart for a person: none where it cannot be
// told, several for a clip that holds several takes.
func naturalKeys(b *Book, spec *Spec, v View) []string {
	if spec.Kind == KindClip {
		return clipKeys(b, v)
	}
	if len(spec.Natural) == 0 || v.Text("state") == "numberUsedAgain" {
		return nil
	}
	parts := make([]string, len(spec.Natural))
	for i, name := range spec.Natural {
		f, _ := spec.Field(name)
		parts[i] = naturalPart(v, f)
		if parts[i] == "" && f.Required {
			return nil
		}
	}
	return []string{strings.Join(parts, "\x00")}
}

func naturalPart(v View, f *Field) string {
	if f.Type == Reference {
		if id := v.Ref(f.Name); !id.IsZero() {
			return id.String()
		}
		return ""
	}
	value := v.Value(f.Name)
	if number, ok := value.Number(); ok {
		return fmt.Sprint(parseDecimal(number))
	}
	text, _ := value.Text()
	if text = strings.ToLower(strings.TrimSpace(text)); text == "" {
		text = naturalDefaults[f.Name]
	}
	return text
}

// clipKeys: clips of one take by one camera are one clip, unless it rolled again.
func clipKeys(b *Book, clip View) []string {
	var keys []string
	for _, key := range clip.Keys("takes") {
		take, err := ParseID(key)
		if camera := clip.Ref("camera"); err == nil && !camera.IsZero() {
			text := fmt.Sprint(b.Resolve(take), camera, partOf(clip))
			if !contained(keys, text) {
				keys = append(keys, text)
			}
		}
	}
	return keys
}

// partOf is the part that a clip is, as a key: 1 where it does not say.
func partOf(clip View) decimal {
	if number, ok := clip.Value("part").Number(); ok {
		return parseDecimal(number)
	}
	return parseDecimal("1")
}

// answered reports whether any two members of the views were answered to be two.
func answered(first, second View) bool {
	for _, m := range first.members {
		for _, n := range second.members {
			if answerOf(m, n) == TwinTwo {
				return true
			}
		}
	}
	return false
}

func answerOf(m, n *record) string {
	if n.id.Less(m.id) {
		m, n = n, m
	}
	text, _ := shown(m.heads(SamePrefix + n.id.String())).Value.Text()
	return text
}

// AnswerTwin makes the drafts that answer whether two records are one or two. The
// answer stands in the record with the smaller id. "One" about two takes also
// joins their clips, camera by camera, and "two" parts them again. The error is a
// *FieldError.
func AnswerTwin(b *Book, first, second ID, answer string) ([]Draft, error) {
	if answer != TwinOne && answer != TwinTwo {
		return nil, &FieldError{Kind: "twin", Field: "answer", Value: TextValue(answer), Allowed: "one of one, two"}
	}
	v, ok := b.Record(first)
	if !ok || v.Deleted() {
		return nil, &FieldError{Kind: "twin", Field: "first", Value: IDValue(first), Allowed: "a record that is in the log and not struck out"}
	}
	w, ok := b.RecordOf(v.Kind, second)
	if !ok || w.Deleted() || second == first {
		return nil, &FieldError{Kind: "twin", Field: "second", Value: IDValue(second), Allowed: "another " + string(v.Kind) + " that is in the log and not struck out"}
	}
	if spec, known := SpecOf(v.Kind); !known || len(spec.Natural) == 0 && v.Kind != KindClip {
		return nil, &FieldError{Kind: "twin", Field: "first", Value: IDValue(first), Allowed: "a record of a kind that can be logged twice, not a " + string(v.Kind)}
	}
	m, n := b.find(first, v.Kind), b.find(second, v.Kind)
	drafts := []Draft{answering(m, n, answer)}
	if v.Kind != KindTake {
		return drafts, nil
	}
	for _, pair := range clipPairs(b, m.id, n.id) {
		if now := answerOf(pair[0], pair[1]); now != answer && (answer == TwinOne || now == TwinOne) {
			drafts = append(drafts, answering(pair[0], pair[1], answer))
		}
	}
	return drafts, nil
}

// saidOne reports whether answers lead from one record to another, struck out or not.
func (b *Book) saidOne(from, to *record) bool {
	reached := []*record{from}
	for i := 0; i < len(reached); i++ {
		if reached[i] == to {
			return true
		}
		for _, r := range b.byKind[from.kind] {
			if !contains(reached, r) && answerOf(reached[i], r) == TwinOne {
				reached = append(reached, r)
			}
		}
	}
	return false
}

func answering(m, n *record, answer string) Draft {
	if n.id.Less(m.id) {
		m, n = n, m
	}
	c := Change{Field: SamePrefix + n.id.String(), Value: TextValue(answer)}
	for _, h := range m.heads(c.Field) {
		c.Over = append(c.Over, h.edit.Dot)
	}
	return Draft{m.kind, m.id, []Change{c}}
}

// clipPairs finds the clips of two takes that a camera may have made once: of each
// take one, by the same camera, of the same part.
func clipPairs(b *Book, first, second ID) [][2]*record {
	clipOf := func(take ID, r *record) bool {
		value := shown(r.heads("takes/" + take.String())).Value
		return value != "" && value != Null
	}
	var all []*record
	for _, take := range []ID{first, second} {
		for _, clip := range b.Referring(KindClip, "takes", take) {
			for _, r := range clip.members {
				if !contains(all, r) && !r.deleted() {
					all = append(all, r)
				}
			}
		}
	}
	alone := func(r *record) View { return View{ID: r.id, Kind: r.kind, book: b, members: r.alone} }
	same := func(r, s *record) bool {
		v, w := alone(r), alone(s)
		return v.Ref("camera") == w.Ref("camera") && partOf(v) == partOf(w)
	}
	var pairs [][2]*record
	for _, r := range all {
		for _, s := range all {
			if r != s && clipOf(first, r) && !clipOf(second, r) && clipOf(second, s) && !clipOf(first, s) && same(r, s) {
				pairs = append(pairs, [2]*record{r, s})
			}
		}
	}
	return pairs
}
