package amend

import (
	"fmt"
	"slices"
	"strings"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
)

// The answers to a twin.
const (
	TwinOne = "one"
	TwinTwo = "two"
)

// naturalDefaults are what fields of natural keys read as where they are absent.
var naturalDefaults = map[string]string{"takeKind": "take", "unit": "main"}

// naturalKeys are what a person knows a record by: none where too little of it is
// written, several for a clip that holds several takes.
func naturalKeys(b *logbook.Book, spec *kinds.Spec, v logbook.View) []string {
	if spec.Kind == kinds.Clip {
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

func naturalPart(v logbook.View, f *kinds.Field) string {
	if f.Type == kinds.Reference {
		if id := v.Ref(f.Name); !id.IsZero() {
			return id.String()
		}
		return ""
	}
	value := v.Value(f.Name)
	if number, ok := value.Number(); ok {
		return fmt.Sprint(logbook.ParseNumber(number))
	}
	text, _ := value.Text()
	if text = alike(strings.ToLower(strings.TrimSpace(text))); text == "" {
		text = naturalDefaults[f.Name]
	}
	return text
}

// clipKeys: clips of one take by one camera are one clip, unless it rolled again.
func clipKeys(b *logbook.Book, clip logbook.View) []string {
	var keys []string
	for _, key := range clip.Keys("takes") {
		take, err := logbook.ParseID(key)
		if camera := clip.Ref("camera"); err == nil && !camera.IsZero() {
			text := fmt.Sprint(b.Resolve(take), camera, partOf(clip))
			if !slices.Contains(keys, text) {
				keys = append(keys, text)
			}
		}
	}
	return keys
}

// partOf is the part that a clip is, as a key: 1 where it does not say.
func partOf(clip logbook.View) logbook.Number {
	if number, ok := clip.Value("part").Number(); ok {
		return logbook.ParseNumber(number)
	}
	return logbook.ParseNumber("1")
}

// answerOf is what was answered about two records, each seen apart.
func answerOf(m, n logbook.View) string {
	if n.ID.Less(m.ID) {
		m, n = n, m
	}
	return m.Text(logbook.SamePrefix + n.ID.String())
}

// Answer makes the drafts that answer whether two records are one or two. The
// answer stands in the record with the smaller id. "One" about two takes also
// joins their clips, camera by camera, and "two" parts them again. The error is a
// *FieldError.
func Answer(b *logbook.Book, first, second logbook.ID, answer string) ([]logbook.Draft, error) {
	v, err := twinOf(b, "first", first, answer)
	if err != nil {
		return nil, err
	}
	w, ok := b.RecordOf(v.Kind, second)
	if !ok || w.Deleted() || second == first {
		return nil, &logbook.FieldError{Kind: "twin", Field: "second", Value: logbook.IDValue(second),
			Allowed: "another " + string(v.Kind) + " that is in the log and not struck out"}
	}
	m, _ := b.Alone(v.Kind, first)
	n, _ := b.Alone(v.Kind, second)
	drafts := []logbook.Draft{answering(m, n, answer)}
	if v.Kind != kinds.Take {
		return drafts, nil
	}
	for _, pair := range clipPairs(b, first, second) {
		if now := answerOf(pair[0], pair[1]); now != answer && (answer == TwinOne || now == TwinOne) {
			drafts = append(drafts, answering(pair[0], pair[1], answer))
		}
	}
	return drafts, nil
}

// twinOf is a record about which something can be answered.
func twinOf(b *logbook.Book, field string, id logbook.ID, answer string) (v logbook.View, err error) {
	if answer != TwinOne && answer != TwinTwo {
		return v, &logbook.FieldError{Kind: "twin", Field: "answer", Value: logbook.TextValue(answer), Allowed: "one of one, two"}
	}
	v, ok := b.Record(id)
	if !ok || v.Deleted() {
		return v, &logbook.FieldError{Kind: "twin", Field: field,
			Value: logbook.IDValue(id), Allowed: "a record that is in the log and not struck out"}
	}
	if spec, known := kinds.Of(v.Kind); !known || len(spec.Natural) == 0 && v.Kind != kinds.Clip {
		return v, &logbook.FieldError{Kind: "twin", Field: field, Value: logbook.IDValue(id),
			Allowed: "a record of a kind that can be logged twice, not a " + string(v.Kind)}
	}
	return v, nil
}

// among reports whether a record seen apart is one of several.
func among(views []logbook.View, v logbook.View) bool {
	return slices.ContainsFunc(views, func(w logbook.View) bool { return w.ID == v.ID })
}

func answering(m, n logbook.View, answer string) logbook.Draft {
	if n.ID.Less(m.ID) {
		m, n = n, m
	}
	return logbook.Draft{Kind: m.Kind, Record: m.ID,
		Set: []logbook.Change{logbook.Replace(m, logbook.SamePrefix+n.ID.String(), logbook.TextValue(answer))}}
}

// clipPairs finds the clips of two takes that a camera may have made once: of each
// take one, by the same camera, of the same part.
func clipPairs(b *logbook.Book, first, second logbook.ID) [][2]logbook.View {
	clipOf := func(take logbook.ID, v logbook.View) bool { return v.Value("takes/"+take.String()) != "" }
	var all []logbook.View
	for _, take := range []logbook.ID{first, second} {
		for _, clip := range b.Referring(kinds.Clip, "takes", take) {
			for _, v := range clip.Parts() {
				if !among(all, v) && !v.Deleted() {
					all = append(all, v)
				}
			}
		}
	}
	same := func(v, w logbook.View) bool { return v.Ref("camera") == w.Ref("camera") && partOf(v) == partOf(w) }
	var pairs [][2]logbook.View
	for _, v := range all {
		for _, w := range all {
			if v.ID != w.ID && clipOf(first, v) && !clipOf(second, v) && clipOf(second, w) && !clipOf(first, w) && same(v, w) {
				pairs = append(pairs, [2]logbook.View{v, w})
			}
		}
	}
	return pairs
}
