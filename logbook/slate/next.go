package slate

import (
	"encoding/json"
	"slices"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
)

// Next is what the next take of a set-up would be logged as, before anybody presses it.
type Next struct {
	SetUp  logbook.ID      `json:"setUp"`
	Number json.RawMessage `json:"number"`
	Clips  []NextClip      `json:"clips"`
}

// A NextClip is what a camera's clip of it would be.
type NextClip struct {
	Camera logbook.ID `json:"camera"`
	Letter string     `json:"letter"`
	Body   logbook.ID `json:"body,omitzero"`
	Name   string     `json:"name,omitempty"`
	Card   string     `json:"card,omitempty"`
	Fields []Source   `json:"fields"`
}

// A Source says of a setting of a clip how it is known: carriedOver, readOff or fromFile. At
// is when it was last read off.
type Source struct {
	Field string          `json:"field"`
	Value json.RawMessage `json:"value"`
	From  string          `json:"from"`
	At    *time.Time      `json:"at,omitempty"`
}

// NextTake is what pressing "next take" would log now. The error is a *logbook.FieldError.
func NextTake(b *logbook.Book, setUp logbook.ID, now logbook.Millis) (Next, error) {
	drawn := byte(0)
	drafts, err := Drafts(b, Event{Name: "nextTake", SetUp: setUp}, func() logbook.ID { drawn++; return logbook.ID{15: drawn} }, now)
	n := Next{SetUp: b.Resolve(setUp), Clips: []NextClip{}}
	for i := range drafts {
		d := &drafts[i]
		if d.Kind == kinds.Take {
			n.Number = json.RawMessage(valueIn(d.Set, "number"))
		}
		if d.Kind != kinds.Clip {
			continue
		}
		c := NextClip{Fields: []Source{}}
		c.Camera, _ = valueIn(d.Set, "camera").ID()
		c.Body, _ = valueIn(d.Set, "body").ID()
		c.Name, _ = valueIn(d.Set, "name").Member("text").Text()
		c.Card, _ = valueIn(d.Set, "card").Text()
		if camera, ok := b.RecordOf(kinds.Camera, c.Camera); ok {
			c.Letter = camera.Text("letter")
		}
		at, are := instantIn(valueIn(d.Set, "readOffAt")), "carriedOver"
		if v, ok := valueIn(d.Set, "settingsAre").Text(); ok {
			are = v
		}
		for _, name := range append(slices.Clone(whiteSettings), carried...) {
			v := valueIn(d.Set, name)
			if v == "" {
				continue
			}
			s := Source{Field: name, Value: json.RawMessage(v), From: "carriedOver"}
			if slices.Contains(whiteSettings, name) {
				s.At, s.From = at, are
			}
			c.Fields = append(c.Fields, s)
		}
		n.Clips = append(n.Clips, c)
	}
	return n, err
}

func instantIn(v logbook.Value) *time.Time {
	at, ok := millisOf(v)
	if !ok {
		return nil
	}
	t := at.Time()
	return &t
}

// Sources says of each setting of a clip how it is known. How the white is set, the clip says
// itself; another setting is carried over where the camera's clip before had the same and
// nobody wrote it since the clip was made.
func Sources(b *logbook.Book, clip logbook.View) []Source {
	all := []Source{}
	said := Source{From: clip.Text("settingsAre"), At: instantIn(clip.Value("readOffAt"))}
	if said.From == "" {
		said.From = "carriedOver"
	}
	camera := clip.Ref("camera")
	before, _ := lastShot(b, &camera, nil, momentOf(b, clip)-1)
	for _, name := range append(slices.Clone(whiteSettings), carried...) {
		f := clip.Field(name)
		if v := f.Shown.Value; v == "" || v == logbook.Null {
			continue
		}
		s := said
		if slices.Contains(carried, name) {
			s = Source{From: "readOff"}
			if made := clip.Created(); f.Shown.Dot == made.Dot && before.Known() && before.Value(name).Equal(f.Shown.Value) {
				s.From = "carriedOver"
			} else {
				at := f.Shown.Edit().Corrected().Time()
				s.At = &at
			}
		}
		s.Field, s.Value = name, json.RawMessage(f.Shown.Value)
		all = append(all, s)
	}
	return all
}
