package wrap

import (
	"slices"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
)

// questions: notes to the set or to a person that are open and that nobody answered. A note to post
// goes out with the colour log and waits for nobody here.
func (c *check) questions() {
	c.asked(logbook.View{}, c.day)
	for _, kind := range []logbook.Kind{kinds.Production, kinds.Camera, kinds.Body} {
		for _, v := range c.book.Records(kind) {
			c.asked(logbook.View{}, v)
		}
	}
	scenes := logbook.IDSet{}
	for _, setUp := range c.setUps {
		c.asked(setUp, setUp)
		if scene, ok := c.book.RecordOf(kinds.Scene, setUp.Ref("scene")); ok && !scenes[scene.ID] {
			scenes.Add(scene.ID)
			c.asked(logbook.View{}, scene)
		}
		for _, kind := range ofSetUp {
			for _, v := range c.book.Referring(kind, "setUp", setUp.ID) {
				c.asked(setUp, v)
			}
		}
	}
}

func (c *check) asked(setUp, about logbook.View) {
	for _, note := range c.book.Referring(kinds.Note, "about", about.ID) {
		to, _ := note.Value("to").Member("as").Text()
		if to != "set" && to != "person" || note.Text("state") == "done" || !note.Ref("answers").IsZero() || c.answered(note) {
			continue
		}
		whom := "the set"
		if to == "person" {
			whom, _ = note.Value("to").Member("name").Text()
		}
		c.add(QuestionOpen, setUp, WrapItem{Words: note.CreatedBy() + " asks " + whom + " about " + nameOf(about) + " since " +
			c.when(note.CreatedAt()) + ": " + note.Text("text"), ToDo: "answer it, or say that it is done",
			Address: c.to("handover/note", logbook.ID{}, "answers", note.ID), Records: []logbook.ID{note.ID}})
	}
}

func (c *check) answered(note logbook.View) bool {
	return slices.ContainsFunc(c.book.Referring(kinds.Note, "answers", note.ID), func(v logbook.View) bool { return !v.Deleted() })
}
