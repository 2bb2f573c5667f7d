package wrap

import (
	"evenwhite/logbook"
	"evenwhite/logbook/deviation"
	"evenwhite/logbook/kinds"
)

// itemOf is the kind of item that a deviation makes, and the place that cures it.
var itemOf = map[string]struct{ kind, place string }{
	deviation.NoWhite:         {NoWhite, "now/white"},
	deviation.WhiteUnresolved: {NoWhite, "now/white"},
	deviation.WhiteOutlived:   {NoWhite, "now/white"},
	deviation.NoReading:       {NoReading, "lights/measure"},
	deviation.ReadingStale:    {OldReading, "lights/measure"},
	deviation.LightChanged:    {OldReading, "lights/measure"},
	deviation.NoChart:         {NoGreyCard, "now/card"},
}

// deviations: of what is off, what is missing or old, unless somebody accepted it.
func (c *check) deviations() {
	for _, d := range deviation.Of(c.book, deviation.Scope{Day: c.day.ID}, c.now) {
		is, ok := itemOf[d.Kind]
		if !ok || d.Accepted != nil {
			continue
		}
		setUp, _ := c.book.RecordOf(kinds.SetUp, d.SetUp)
		item := WrapItem{Words: d.Words, ToDo: d.ToDo, Count: d.Count, Records: d.Subjects,
			Address: c.to(is.place, d.SetUp, "light", c.oneOf(kinds.Light, d.Subjects), "camera", c.oneOf(kinds.Camera, d.Subjects))}
		if item.ToDo == "" {
			item.ToDo = "read it again"
		}
		c.add(is.kind, setUp, item)
	}
}

// oneOf is the one of some records that is of a kind; zero where there are several or none.
func (c *check) oneOf(kind logbook.Kind, ids []logbook.ID) (found logbook.ID) {
	for _, id := range ids {
		if v, ok := c.book.RecordOf(kind, id); ok {
			if !found.IsZero() {
				return logbook.ID{}
			}
			found = v.ID
		}
	}
	return found
}
