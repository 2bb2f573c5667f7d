package days_test

import (
	"encoding/json"
	"fmt"

	"evenwhite/logbook"
	"evenwhite/logbook/glance"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/setup"
)

// oracleFor asks with the limits of the set-up.
func oracleFor(b *logbook.Book, setUp logbook.ID) *oracle {
	return oracleOf(b, setUp, func(light logbook.View) float64 {
		return setup.LimitsOf(b, viewOf(b, kinds.SetUp, setUp), light.Text("role")).Mired
	})
}

// takesIn are the takes of a clip.
func takesIn(b *logbook.Book, clip logbook.View) (all []logbook.View) {
	for _, key := range clip.Keys("takes") {
		if id, err := logbook.ParseID(key); err == nil {
			if take, ok := b.RecordOf(kinds.Take, id); ok && !take.Deleted() {
				all = append(all, take)
			}
		}
	}
	return all
}

var ways = []string{"before", "after", "between", "not known"}

// asStatedTwice: at every clip the program lets the same reading speak of every light as the
// oracle does.
var asStatedTwice = law{name: "stated twice", must: ways, holds: func(d *played) error {
	b := d.all()
	for _, p := range d.places {
		view := viewOf(b, kinds.SetUp, p.setUp)
		o, summary := oracleFor(b, p.setUp), glance.Summarize(b, view)
		courses := map[logbook.ID]*course{}
		for _, clip := range b.Referring(kinds.Clip, "setUp", p.setUp) {
			at := o.clipAt(clip, takesIn(b, clip))
			for _, l := range summary.Clip(clip).Lights {
				if courses[l.Light] == nil {
					courses[l.Light] = o.courseOf(viewOf(b, kinds.Light, l.Light), false)
				}
				want := courses[l.Light].at(at)
				if want.how == "" {
					d.happened["not known"]++
				}
				d.happened[want.how]++
				if err := sameAnswer(l, want); err != nil {
					return fmt.Errorf("%s at a clip at %s: %w", l.Name, at.Time().Format("02 15:04:05"), err)
				}
			}
		}
	}
	return nil
}}

func sameAnswer(l glance.LightNow, want answer) error {
	text, err := json.Marshal(l)
	var got struct{ How string }
	if err == nil {
		err = json.Unmarshal(text, &got)
	}
	switch {
	case err != nil:
		return err
	case want.how == "" && l.Color == nil:
		return nil
	case want.how == "":
		return fmt.Errorf("it is not known, and the program says %s", text)
	case want.how == "between" && got.How == "between":
		return nil
	case want.how == "between":
		return fmt.Errorf("it lies between %s and %s, and the program says %s", want.first.id, want.then.id, text)
	}
	reading := want.first
	if want.how == "after" {
		reading = want.then
	}
	if l.Reading != reading.id || got.How != "" && got.How != want.how {
		return fmt.Errorf("it is the reading %s of %s, %s it, and the program says %s",
			reading.id, reading.at.Time().Format("15:04:05"), want.how, text)
	}
	return nil
}
