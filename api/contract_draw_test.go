package api

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"

	"github.com/getkin/kin-openapi/openapi3"
)

// A drawer draws values for the schemas of the contract: most that fit, at their bounds
// and within, and some that do not.
type drawer struct {
	*rand.Rand
	known  map[string][]string // ids by kind; "" of anything else that has one
	dots   []string
	lines  []string
	codes  []string // of invitations
	broken bool     // the value at hand is to be wrong somewhere
}

func pick[T any](r *rand.Rand, all []T) T { return all[r.IntN(len(all))] }

func (d *drawer) chance(percent int) bool { return d.IntN(100) < percent }

// id draws one that exists nearly always, of a kind where there are some.
func (d *drawer) id(kind string) string {
	switch kind {
	case "to":
		kind = "camera"
	case "record": // in a list, of an answer about twins
		if d.chance(80) {
			kind = "take"
		}
	}
	switch {
	case len(d.known[kind]) > 0 && d.chance(40):
		return d.known[kind][d.IntN(min(2, len(d.known[kind])))] // of the set-up that all belongs to
	case len(d.known[kind]) > 0 && d.chance(95):
		return pick(d.Rand, d.known[kind])
	case d.chance(90):
		var all []string
		for _, k := range sortedKeys(d.known) {
			all = append(all, d.known[k]...)
		}
		return pick(d.Rand, all)
	}
	return drawID().String()
}

func sortedKeys[V any](m map[string]V) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}

// odd are values that no schema expects where they stand.
var odd = []string{`null`, `true`, `-1`, `0`, `1e999`, `1e-999`, `99999999999999999999999999`, `0.30000000000000000000000000001`, `""`, `"\u0000"`,
	`"ünïcode 🎬"`, `[]`, `{}`, `[[[[[[[[]]]]]]]]`, `{"as":"nothing"}`, `{"id":7}`, `"=1+1"`, `"../../etc"`}

// body draws a request body as it is sent.
func (d *drawer) body(s *openapi3.Schema) string {
	text := d.value(s, "", 0)
	if !d.broken {
		return text
	}
	at := 0
	if len(text) > 0 {
		at = d.IntN(len(text))
	}
	switch d.IntN(6) {
	case 0:
		return text[:at]
	case 1:
		return text[:at] + string(rune(d.IntN(256))) + text[at:]
	case 2:
		return strings.Repeat("[", 1+d.IntN(60)) + text
	case 3:
		return pick(d.Rand, odd)
	case 4:
		return strings.Replace(text, ":", `:"`+strings.Repeat("x", d.IntN(5000))+`",":`, 1)
	}
	return text
}

// value draws JSON for a schema; name is of the member that it stands in.
func (d *drawer) value(s *openapi3.Schema, name string, depth int) string {
	if d.broken && d.chance(8) || depth > 12 {
		return pick(d.Rand, odd)
	}
	switch {
	case len(s.OneOf) > 0:
		return d.value(pick(d.Rand, s.OneOf).Value, name, depth+1)
	case len(s.AnyOf) > 0:
		return d.value(pick(d.Rand, s.AnyOf).Value, name, depth+1)
	case len(s.AllOf) > 0:
		return d.value(s.AllOf[0].Value, name, depth+1)
	case s.Nullable && d.chance(15):
		return "null"
	case len(s.Enum) > 0:
		return encoded(pick(d.Rand, s.Enum))
	case s.Type.Is("string"):
		return encoded(d.text(s, name))
	case s.Type.Is("boolean"):
		return strconv.FormatBool(d.chance(50))
	case s.Type.Is("integer"), s.Type.Is("number"):
		return d.number(s)
	case s.Type.Is("array"):
		return d.list(s, name, depth)
	case s.Type.Is("object"):
		return d.object(s, name, depth)
	}
	return pick(d.Rand, odd)
}

func encoded(v any) string {
	text, err := json.Marshal(v)
	if err != nil {
		panic(err)
	}
	return string(text)
}

func (d *drawer) text(s *openapi3.Schema, name string) string {
	switch {
	case s.Format == "uuid":
		return d.id(name)
	case s.Format == "date-time":
		return fmt.Sprintf("2031-03-0%dT0%d:%02d:00Z", 1+d.IntN(9), d.IntN(10), d.IntN(60))
	case s.Format == "date":
		return fmt.Sprintf("2031-03-0%d", 1+d.IntN(9))
	case strings.Contains(s.Pattern, `\.`) || name == "discards":
		return pick(d.Rand, d.dots)
	case name == "code" && len(d.codes) > 0:
		return pick(d.Rand, d.codes)
	case s.Pattern != "":
		return pick(d.Rand, d.lines)
	case strings.EqualFold(name, "timeZone"):
		return pick(d.Rand, []string{"Europe/Berlin", "UTC", "Etc/GMT-1"})
	case name == "start", name == "end", name == "beginsAt", name == "timecode":
		return fmt.Sprintf("0%d:%02d:00:00", d.IntN(10), d.IntN(60))
	case s.MaxLength != nil && d.chance(5):
		return strings.Repeat("ä", int(*s.MaxLength)+d.IntN(2))
	case name == "shortName", name == "letter":
		return string(rune('A' + d.IntN(26)))
	}
	return pick(d.Rand, []string{"A", "window", "12", "main", "the second one", "ä \"b\"\n", "x"})
}

func (d *drawer) number(s *openapi3.Schema) string {
	least, most := -1000.0, 100000.0
	if s.Min != nil {
		least = *s.Min
	}
	if s.Max != nil {
		most = *s.Max
	}
	switch d.IntN(8) {
	case 0:
		return strconv.FormatFloat(least, 'f', -1, 64)
	case 1:
		return strconv.FormatFloat(most, 'f', -1, 64)
	}
	at := least + (most-least)*d.Float64()
	if s.Type.Is("integer") {
		return strconv.FormatInt(int64(at), 10)
	}
	return strconv.FormatFloat(at, 'f', d.IntN(6), 64)
}

func (d *drawer) list(s *openapi3.Schema, name string, depth int) string {
	n := d.IntN(4)
	if s.MinItems > 0 {
		n = int(s.MinItems)
	}
	if d.broken && d.chance(5) && s.MaxItems != nil {
		n = int(min(*s.MaxItems, 600)) + 1
	}
	items := make([]string, n)
	for i := range items {
		items[i] = d.value(s.Items.Value, strings.TrimSuffix(name, "s"), depth+1)
	}
	return "[" + strings.Join(items, ",") + "]"
}

func (d *drawer) object(s *openapi3.Schema, name string, depth int) string {
	if len(s.Properties) == 0 && s.AdditionalProperties.Schema == nil {
		return pick(d.Rand, []string{`{"kelvin":4300}`, `{"kelvin":4300.0}`, `{"kelvin":-3}`, `{"about":null}`, `{}`})
	}
	var members []string
	for _, member := range sortedKeys(s.Properties) {
		required := slices.Contains(s.Required, member)
		if required && !(d.broken && d.chance(10)) || !required && member != "id" && d.chance(25) {
			members = append(members, encoded(member)+":"+d.value(s.Properties[member].Value, member, depth+1))
		}
	}
	if more := s.AdditionalProperties.Schema; more != nil {
		for range d.IntN(3) {
			key := pick(d.Rand, []string{"main", "key", "fill", d.id("camera"), d.id("take"), pick(d.Rand, d.lines)})
			members = append(members, encoded(key)+":"+d.value(more.Value, name, depth+1))
		}
	}
	if d.broken && d.chance(10) {
		members = append(members, `"mood":"good"`)
	}
	return "{" + strings.Join(members, ",") + "}"
}
