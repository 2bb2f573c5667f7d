package wrap

import (
	"cmp"
	"fmt"
	"slices"

	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
)

// names: a name that was only counted on may not be the one on the card. One card of a camera is one
// item.
func (c *check) names() {
	type card struct {
		camera logbook.ID
		name   string
	}
	counted, order := map[card][]logbook.View{}, []card{}
	for _, setUp := range c.setUps {
		for _, clip := range c.book.Referring(kinds.Clip, "setUp", setUp.ID) {
			from, _ := clip.Value("name").Member("from").Text()
			if from == "readOff" || from == "fromListing" || !clip.Flag("rolled", true) {
				continue
			}
			key := card{clip.Ref("camera"), clip.Text("card")}
			if counted[key] == nil {
				order = append(order, key)
			}
			counted[key] = append(counted[key], clip)
		}
	}
	for _, key := range order {
		clips := counted[key]
		slices.SortStableFunc(clips, func(x, y logbook.View) int { return cmp.Compare(lighting.ClipTime(x), lighting.ClipTime(y)) })
		camera, _ := c.book.RecordOf(kinds.Camera, key.camera)
		letter := "?"
		if camera.Known() {
			letter = camera.Text("letter")
		}
		c.add(NameNotSure, logbook.View{}, c.namesOf(letter, key.name, clips))
	}
}

func (c *check) namesOf(letter, card string, clips []logbook.View) WrapItem {
	words := "camera " + letter
	if card != "" {
		words += ", card " + card
	}
	named := []string{}
	for _, clip := range clips {
		if name, ok := clip.Value("name").Member("text").Text(); ok {
			named = append(named, name)
		}
	}
	item := WrapItem{Count: len(clips)}
	switch {
	case len(named) == 0:
		item.Words = fmt.Sprintf("%s: %s without a name", words, figure.Counted(len(clips), "clip"))
	case len(named) == 1:
		item.Words = fmt.Sprintf("%s: %s, of which nobody read the name off; counted: %s", words, figure.Counted(len(clips), "clip"), named[0])
	default:
		item.Words = fmt.Sprintf("%s: %s, of which nobody read the name off; counted: %s to %s", words, figure.Counted(len(clips), "clip"),
			named[0], named[len(named)-1])
	}
	item.ToDo = "read the names off camera " + letter + " and enter them, or join a listing of its footage (evenwhite join)"
	last := clips[len(clips)-1]
	item.Address = c.to("takes", last.Ref("setUp"), "record", last.ID)
	if takes := last.Keys("takes"); len(takes) > 0 {
		item.Address = c.to("takes/take", last.Ref("setUp"), "kind", "take", "record", takes[0])
	}
	for _, clip := range clips {
		item.Records = append(item.Records, clip.ID)
	}
	return item
}
