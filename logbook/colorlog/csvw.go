package colorlog

import (
	"encoding/json"
	"io"
	"strings"

	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
	"evenwhite/logbook/setup"
)

// CSVName is the name of the CSV file that its description speaks of.
const CSVName = "color-log.csv"

type csvwColumn struct {
	Name     string `json:"name"`
	Titles   string `json:"titles"`
	About    string `json:"dc:description"`
	Datatype any    `json:"datatype"`
}

// WriteCSVW writes what describes the columns of the CSV form: metadata for tabular data (W3C CSV on
// the Web), with the limits that the rows were judged by, and how right the log was.
func WriteCSVW(w io.Writer, head Head, limits []SharedLimits) error {
	list := make([]csvwColumn, len(columns))
	for i, c := range columns {
		list[i] = csvwColumn{Name: c.id(), Titles: c.Name, About: c.About, Datatype: c.Kind.datatype()}
	}
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	return enc.Encode(map[string]any{
		"@context": []any{"http://www.w3.org/ns/csvw", map[string]string{"@language": "en"}},
		"url":      CSVName,
		"dc:title": head.Production.Title, "dc:description": head.Signs, "dc:creator": head.Program,
		"dialect":     map[string]any{"encoding": "utf-8", "header": true, "lineTerminators": []string{"\r\n"}},
		"tableSchema": map[string]any{"columns": list},
		"notes":       []any{map[string]any{"state": head.State, "limits": limits, "howRight": head.HowRight}},
	})
}

// id is a name of a column that programs take: small letters, digits and _.
func (c Column) id() string {
	parts := strings.FieldsFunc(strings.ToLower(c.Name), func(r rune) bool { return (r < 'a' || r > 'z') && (r < '0' || r > '9') })
	return strings.Join(parts, "_")
}

// datatype is that of CSV on the Web.
func (k Kind) datatype() any {
	switch k {
	case Number:
		return "number"
	case Whole:
		return "integer"
	case YesOrNo:
		return map[string]string{"base": "boolean", "format": "yes|no"}
	case Date:
		return "date"
	case Moment:
		return "datetime"
	}
	return "string"
}

// SharedLimits are the limits of set-ups that have the same.
type SharedLimits struct {
	SetUps []string        `json:"setUps"` // each as "day 1, 12 A"
	Limits []figure.Limits `json:"limits"` // by role
}

// LimitsOf lists the limits by which the set-ups of a scope are judged, those that have the same
// together. Errors wrap ErrScope.
func LimitsOf(b *logbook.Book, scope Scope) (all []SharedLimits, err error) {
	setUps, err := SetUps(b, scope)
	if err != nil {
		return nil, err
	}
	places := map[string]int{}
	for _, view := range setUps {
		var limits []figure.Limits
		key := ""
		for _, role := range strings.Fields(kinds.LimitRoles) {
			l := setup.LimitsOf(b, view, role)
			limits = append(limits, l)
			key += strings.Join([]string{plain(&l.Mired), plain(&l.DuvGreen), plain(&l.DuvMagenta), plain(&l.Steps), l.From}, " ") + ";"
		}
		at, ok := places[key]
		if !ok {
			at = len(all)
			places[key] = at
			all = append(all, SharedLimits{Limits: limits})
		}
		all[at].SetUps = append(all[at].SetUps, NameOf(b, view))
	}
	return all, nil
}

// NameOf says which set-up it is: "day 1, 12 A".
func NameOf(b *logbook.Book, view logbook.View) string {
	name := lighting.SetUpName(b, view)
	if day, ok := b.RecordOf(kinds.Day, view.Ref("day")); ok {
		name = "day " + numberOf(day.Value("number")).String() + ", " + name
	}
	return name
}
