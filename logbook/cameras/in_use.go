package cameras

import (
	"sort"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
)

// RecordedWith is the mode and glass of a camera's newest clip in the set-up, else
// as the set-up has it.
func RecordedWith(b *logbook.Book, setUp, camera, body logbook.View, newest logbook.ID) (mode, glass string) {
	if v, ok := b.RecordOf(kinds.Clip, newest); ok {
		return ModeOf(v.Text("recordingMode"), body), GlassOf(v.Text("lens"), v.Text("filters"))
	}
	in, ok := fieldsOf(b, setUp, camera)
	if !ok {
		return ModeOf("", body), ""
	}
	return ModeOf(setUp.Text(in+"recordingMode"), body), GlassOf(setUp.Text(in+"lens"), setUp.Text(in+"filters"))
}

// fieldsOf is where a set-up keeps the fields of a camera: "cameras/<id>/". The id may be
// that of a record that is the same.
func fieldsOf(b *logbook.Book, setUp, camera logbook.View) (prefix string, ok bool) {
	for _, key := range setUp.Keys("cameras") {
		if id, err := logbook.ParseID(key); err == nil && b.Resolve(id) == camera.ID {
			return "cameras/" + key + "/", true
		}
	}
	return "", false
}

// InUse lists the cameras in use in a set-up by letter: those that it names,
// and those that have clips in it.
func InUse(b *logbook.Book, setUp logbook.View) []logbook.View {
	found := map[logbook.ID]logbook.View{}
	note := func(id logbook.ID) {
		if v, ok := b.RecordOf(kinds.Camera, id); ok && !v.Deleted() {
			found[v.ID] = v
		}
	}
	for _, clip := range b.Referring(kinds.Clip, "setUp", setUp.ID) {
		note(clip.Ref("camera"))
	}
	for _, key := range setUp.Keys("cameras") {
		id, err := logbook.ParseID(key)
		if err != nil {
			continue
		}
		if setUp.Flag("cameras/"+key+"/inUse", true) {
			note(id)
		} else {
			delete(found, b.Resolve(id))
		}
	}
	all := make([]logbook.View, 0, len(found))
	for _, v := range found {
		all = append(all, v)
	}
	SortByLetter(all)
	return all
}

// SortByLetter sorts cameras; those of one letter by id.
func SortByLetter(all []logbook.View) {
	sort.Slice(all, func(i, j int) bool {
		if a, c := all[i].Text("letter"), all[j].Text("letter"); a != c {
			return a < c
		}
		return all[i].ID.Less(all[j].ID)
	})
}

// Reference is the camera that the others are matched to; zero where there
// is none.
func Reference(b *logbook.Book, setUp logbook.View) logbook.ID {
	if id := setUp.Ref("referenceCamera"); !id.IsZero() {
		return id
	}
	return ReferenceAmong(InUse(b, setUp))
}

// ReferenceAmong is the first of the cameras in use, where the set-up names none.
func ReferenceAmong(cameras []logbook.View) logbook.ID {
	if len(cameras) > 0 {
		return cameras[0].ID
	}
	return logbook.ID{}
}

// BodyAt is the body that filled a camera at a time, by the history of swaps.
func BodyAt(b *logbook.Book, camera logbook.View, at logbook.Millis) (logbook.View, bool) {
	return b.RecordOf(kinds.Body, BodyIDAt(camera, at))
}

// BodyIDAt names that body, whose own record may not be here yet; zero where nobody
// said which it is.
func BodyIDAt(camera logbook.View, at logbook.Millis) logbook.ID {
	found, when, typed := logbook.ID{}, logbook.Beginning, ""
	for _, e := range camera.Edits() {
		c, ok := e.Change("body")
		if !ok {
			continue
		}
		id, ok := c.Value.Member("body").ID()
		from := e.Corrected()
		text, given := c.Value.Member("from").Text()
		if given {
			if t, err := time.Parse(time.RFC3339, text); err == nil {
				from = lighting.CorrectedBy(e, logbook.MillisOf(t))
			}
		}
		// A change of the body alone keeps the instant that was typed for the one before:
		// that says nothing of this one.
		if given && text == typed {
			from = e.Corrected()
		}
		if ok && (found.IsZero() || from <= at && from >= when) {
			found, when, typed = id, from, text
		}
	}
	return found
}

// BodyNow is the body that fills a camera.
func BodyNow(b *logbook.Book, camera logbook.View) (logbook.View, bool) {
	id, _ := camera.Value("body").Member("body").ID()
	return b.RecordOf(kinds.Body, id)
}
