package days_test

import (
	"fmt"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/glance"
	"evenwhite/logbook/picture"
	"evenwhite/logbook/setup"
)

const muchLater = 400 * 24 * 60 * minute

// ownTimeOnly: what is said about a clip is the same whenever it is asked.
var ownTimeOnly = law{name: "no time but its own", holds: func(d *played) error {
	soon, late := d.tellNow(), d.tellLate()
	for key, a := range soon {
		c := late[key]
		if x, y := textOf(a.row), textOf(c.row); x != y {
			return fmt.Errorf("the row of %s: %s", a.name(), firstDifference(x, y))
		}
		if a.correction != c.correction {
			return fmt.Errorf("the correction of %s: %s", a.name(), firstDifference(a.correction, c.correction))
		}
	}
	return nil
}}

// findingsKeepTime: and so are the findings that list it, as they are read.
var findingsKeepTime = law{name: "findings keep their time", holds: func(d *played) error {
	late := d.tellLate()
	for key, a := range d.tellNow() {
		if x, y := a.words(), late[key].words(); x != y {
			return fmt.Errorf("the findings on %s: %s", a.name(), firstDifference(x, y))
		}
	}
	return nil
}}

// wrappedStays: so are the pictures of a set-up that is wrapped.
var wrappedStays = law{name: "what is wrapped stays", must: []string{"a set-up is wrapped"}, holds: func(d *played) error {
	b := d.all()
	after := d.clock + 13*60*minute // nobody enters anything for so long
	for _, p := range d.places {
		if len(p.clips) == 0 {
			continue // nothing was shot: it waits for its first clip
		}
		d.happened["a set-up is wrapped"]++
		if x, y := pictures(b, p.setUp, after), pictures(b, p.setUp, after+muchLater); x != y {
			return fmt.Errorf("the pictures of a set-up that is wrapped: %s", firstDifference(x, y))
		}
	}
	return nil
}}

// pictures are the drawings of a set-up, and the summary that they are drawn from.
func pictures(b *logbook.Book, setUp logbook.ID, now logbook.Millis) string {
	plane, err := glance.Plane(b, setUp, now)
	swatches, err2 := glance.Swatches(b, setUp, now)
	drift, err3 := setup.Drifts(b, setUp, logbook.ID{}, now)
	return fmt.Sprintf("%s\n%s\n%s\n%v %v %v",
		picture.Plane(plane), picture.Swatches(swatches), picture.Drift(drift, time.UTC), err, err2, err3)
}
