package slate

import (
	"cmp"
	"strings"

	"evenwhite/logbook"
	"evenwhite/logbook/amend"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/timecode"
)

// Counted refuses drafts of clips whose timecodes cannot be at their rate: frame 59 at 25, a number that
// is dropped, an end before its start. It is asked of what is typed into a service: an edit that
// a device pushed is taken as it is. The error is of type amend.Errors.
func Counted(b *logbook.Book, drafts []logbook.Draft) ([]logbook.Draft, error) {
	for _, d := range drafts {
		if d.Kind != kinds.Clip {
			continue
		}
		if wrong := miscounted(b, d); wrong != nil {
			return nil, amend.Errors{wrong}
		}
	}
	return drafts, nil
}

// miscounted is the first timecode that a draft sets and that cannot be.
func miscounted(b *logbook.Book, d logbook.Draft) *logbook.FieldError {
	was, _ := b.RecordOf(kinds.Clip, d.Record)
	said := func(field string) logbook.Value {
		for _, c := range d.Set {
			if c.Field == field {
				return c.Value
			}
		}
		if was.Known() {
			return was.Value(field)
		}
		return ""
	}
	text := func(field string) string { t, _ := said(field).Text(); return t }
	production, _ := b.RecordOf(kinds.Production, b.Production())
	name, drop := text("timecode/rate"), said("timecode/drop") == "true"
	if production.Known() {
		name = cmp.Or(name, production.Text("frameRate"))
		if v := said("timecode/drop"); v == "" || v == logbook.Null {
			drop = production.Flag("dropFrame", false)
		}
	}
	wrong := func(field string, err error) *logbook.FieldError {
		return &logbook.FieldError{Kind: kinds.Clip, Field: field, Value: said(field), Allowed: "one that can be: " + err.Error()}
	}
	rate, err := timecode.RateOf(name, drop)
	for _, c := range d.Set {
		counts := c.Field == "timecode/rate" || c.Field == "timecode/drop"
		at, ok := c.Value.Text()
		if strings.HasPrefix(c.Field, "takes/") {
			at, ok = c.Value.Member("beginsAt").Text()
		}
		switch {
		case counts && err != nil:
			return wrong(c.Field, err)
		case err != nil, !counts && !ok, !counts && !strings.HasPrefix(c.Field, "timecode/") && !strings.HasPrefix(c.Field, "takes/"):
			continue // an older rate is at fault, or it is no timecode
		case !counts:
			if _, err := rate.Frames(at); err != nil {
				return wrong(c.Field, err)
			}
		}
		start, end := text("timecode/start"), text("timecode/end")
		if start != "" && end != "" && !strings.HasPrefix(c.Field, "takes/") {
			if _, _, err := rate.Span(start, end); err != nil {
				return wrong(c.Field, err)
			}
		}
	}
	return nil
}
