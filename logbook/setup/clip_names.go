package setup

import (
	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
)

// clipName is what a clip of a day is found by: names repeat across cameras and cards.
type clipName struct {
	camera     logbook.ID
	card, text string
}

func nameOf(clip logbook.View) (n clipName, ok bool) {
	n.camera, n.card = clip.Ref("camera"), clip.Text("card")
	n.text, _ = clip.Value("name").Member("text").Text()
	return n, !n.camera.IsZero() && n.card != "" && n.text != "" && clip.Flag("rolled", true)
}

// daysAtHand is of how many days is kept what is taken of all their clips: set-ups are read a day after
// another, and the names of a long job are a second book.
const daysAtHand = 4

// namesOf is the clips of a day by name, looked up once.
func (r *Reader) namesOf(day logbook.ID) (names logbook.Rested[map[clipName][]logbook.View]) {
	if day.IsZero() {
		return names
	}
	if _, ok := r.named[day]; !ok && len(r.named) >= daysAtHand {
		clear(r.named)
	}
	return logbook.RestingApart(r.book, r.named, day, func() map[clipName][]logbook.View {
		names := map[clipName][]logbook.View{}
		for _, setUp := range r.book.Referring(kinds.SetUp, "day", day) {
			for _, clip := range r.book.Referring(kinds.Clip, "setUp", setUp.ID) {
				if n, ok := nameOf(clip); ok {
					names[n] = append(names[n], clip)
				}
			}
		}
		return names
	})
}

// NamedAlike lists the other clips of the day that have a clip's name, on the same camera and
// card; none where its card is not known.
func (s *SetUp) NamedAlike(clip logbook.View) (others []logbook.View) {
	n, ok := nameOf(clip)
	if !ok {
		return nil
	}
	for _, v := range s.reader.alike(s.day, n) {
		if v.ID != clip.ID {
			others = append(others, v)
		}
	}
	return others
}
