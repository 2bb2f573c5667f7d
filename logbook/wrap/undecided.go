package wrap

import (
	"fmt"
	"strings"

	"evenwhite/logbook"
	"evenwhite/logbook/amend"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
	"evenwhite/logbook/setup"
)

// undecided: fields with several values, whites and readings entered apart, and twins, of the day
// and of what belongs to no day.
func (c *check) undecided() {
	struck := logbook.IDSet{}
	for _, f := range amend.Conflicts(c.book) {
		v, _ := c.book.RecordOf(f.Kind, f.Record)
		if !c.concerns(v) || f.Deletion && struck[v.ID] {
			continue
		}
		if f.Deletion {
			struck.Add(v.ID) // whether it stands is one question, whatever was changed in it
		}
		c.fieldOpen(v, f)
	}
	for _, a := range setup.ApartOn(c.book, c.day.ID, c.now) {
		setUp, _ := c.book.RecordOf(kinds.SetUp, a.SetUp)
		item := WrapItem{Words: a.Words, ToDo: "choose one under Settle", Address: c.to("settle", a.SetUp, "part", "choose")}
		for _, choice := range a.Choices {
			item.Records = append(item.Records, choice.Record)
		}
		c.add(ChosenApart, setUp, item)
	}
	for _, g := range amend.Twins(c.book) {
		v, _ := c.book.RecordOf(g.Kind, g.Records[0])
		if !c.concerns(v) {
			continue
		}
		setUp, _ := c.book.RecordOf(kinds.SetUp, g.SetUp)
		c.add(OneOrTwo, setUp, WrapItem{
			Words: fmt.Sprintf("%s stands in %s: the same thing logged twice?", nameOf(v), figure.Counted(len(g.Records), "record")),
			ToDo:  "say one or two under Settle", Address: c.to("settle", g.SetUp, "part", "choose"), Records: g.Records})
	}
}

func (c *check) fieldOpen(v logbook.View, f amend.Conflict) {
	setUp, _ := c.book.RecordOf(kinds.SetUp, f.SetUp)
	item := WrapItem{Address: c.to("settle", f.SetUp, "part", "choose"), Records: []logbook.ID{v.ID}}
	if f.Deletion {
		item.Words, item.ToDo = nameOf(v)+" was struck out by one and changed by another", "say under Settle whether it stays"
	} else {
		names := make([]string, len(f.Heads))
		for i, h := range f.Heads {
			names[i] = lighting.ValueWords(c.book, h.Value) + " (" + h.By() + ", " + c.when(h.Corrected()) + ")"
		}
		item.Words = fmt.Sprintf("%s %s is not decided: %s", nameOf(v), f.Field, strings.Join(names, " or "))
		item.ToDo = "choose one under Settle"
	}
	c.add(Undecided, setUp, item)
}

// concerns reports whether a record belongs to the day, or to none: then it is open on each.
func (c *check) concerns(v logbook.View) bool {
	day, ok := setup.DayOf(c.book, v)
	return !ok || day.ID == c.day.ID
}

// nameOf is what a record is called in a sentence.
func nameOf(v logbook.View) string {
	kind := string(v.Kind)
	switch v.Kind {
	case kinds.SetUp:
		return "set-up " + lighting.SetUpName(v.Book(), v)
	case kinds.Take:
		return lighting.TakeName(v)
	case kinds.Clip:
		if name, ok := v.Value("name").Member("text").Text(); ok {
			return "clip " + name
		}
	case kinds.Day:
		number, _ := v.Value("number").Number()
		return "day " + number
	}
	for _, field := range [...]string{"name", "label", "letter", "title"} {
		if text := v.Text(field); text != "" {
			return kind + " " + text
		}
	}
	return kind
}
