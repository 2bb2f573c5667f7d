package slate

import (
	"slices"
	"sort"
	"strconv"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/cameras"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
)

// rolling says what clips are made for.
type rolling struct {
	setUp logbook.ID // zero: the event's
	take  logbook.ID // zero: none
	kind  string
	part  int
	like  *logbook.View // the clip to carry over from, where it is not the last one
	name  logbook.Value // the name's text, where it is not counted
	// changed is a change of white while rolling, of a clip that nobody had logged.
	changed logbook.Value
}

func sortByNumber(takes []logbook.View) {
	sort.SliceStable(takes, func(i, j int) bool {
		x, _ := takes[i].Number("number")
		y, _ := takes[j].Number("number")
		return x < y
	})
}

func millisOf(v logbook.Value) (logbook.Millis, bool) {
	text, ok := v.Text()
	if !ok {
		return 0, false
	}
	t, err := time.Parse(time.RFC3339, text)
	return logbook.MillisOf(t), err == nil
}

// camera is the one that the event is about.
func (a *act) camera() (logbook.View, error) {
	id, _ := a.ev.given["camera"].ID()
	camera, ok := a.book.RecordOf(kinds.Camera, id)
	if !ok || camera.Deleted() {
		return logbook.View{}, a.ev.refuse("camera", "a camera that is in the log and not struck out")
	}
	return camera, nil
}

// clipsOf lists the clips of a take whose cameras rolled.
func (a *act) clipsOf(take logbook.View) []logbook.View {
	var out []logbook.View
	for _, clip := range a.book.Referring(kinds.Clip, "takes", take.ID) {
		if clip.Flag("rolled", true) {
			out = append(out, clip)
		}
	}
	return out
}

// clips drafts one clip for each camera.
func (a *act) clips(r rolling) {
	for _, camera := range a.inUse {
		a.clip(camera, r)
	}
}

// clip drafts a clip of a camera: what the event says, and what is carried over. What
// nobody knows is left out of it: a camera that rolled is logged all the same.
func (a *act) clip(camera logbook.View, r rolling) {
	body := a.bodyOf(camera)
	setUp := r.setUp
	if setUp.IsZero() {
		setUp = a.setUp.ID
	}
	set := []logbook.Change{
		{Field: "setUp", Value: logbook.IDValue(setUp)}, {Field: "camera", Value: logbook.IDValue(camera.ID)},
	}
	put := func(field string, v logbook.Value) {
		if v != "" {
			set = append(set, logbook.Change{Field: field, Value: v})
		}
	}
	if !body.IsZero() {
		put("body", logbook.IDValue(body))
	}
	says := a.says[camera.ID]
	if !r.take.IsZero() {
		put("takes/"+r.take.String(), beginsAt(says["beginsAt"]))
	}
	if r.kind != "" {
		put("clipKind", logbook.TextValue(r.kind))
	}
	if r.part > 1 {
		put("part", logbook.Value(strconv.Itoa(r.part)))
	}
	set = append(set, a.white(camera, body, r.like)...)
	for _, name := range carried {
		put(name, a.carry(camera, body, name, r.like))
	}
	card := says["card"]
	if card == "" {
		card = a.cardOf(camera, body, r.like)
	}
	if card != noCardName {
		put("card", card)
	}
	if says["rolled"] == "false" {
		put("rolled", "false")
	} else {
		put("name", a.name(body, card, r.name, says["name"]))
	}
	if r.changed != "" {
		put("changes/"+a.newID().String(), r.changed)
	}
	put("timecode/start", says["timecodeStart"])
	put("startedAt", a.startedAt)
	a.drafts = append(a.drafts, logbook.Draft{Kind: kinds.Clip, Record: a.newID(), Set: set})
}

// bodyOf is the body that fills a camera; its own record may not be here yet. Zero where
// nobody said which it is.
func (a *act) bodyOf(camera logbook.View) logbook.ID {
	return a.book.Resolve(cameras.BodyIDAt(camera, a.at()))
}

// name is the clip's name: read off, else given, else counted; none where the
// body's rule is not known.
func (a *act) name(body logbook.ID, card, given, read logbook.Value) logbook.Value {
	from := byCount
	if given == "" {
		if a.counters[body] == nil {
			filled, _ := a.book.RecordOf(kinds.Body, body)
			a.counters[body] = counterOf(a.book, filled)
		}
		text, _ := card.Text()
		if name := a.counters[body].next(text, a.dayOn(body)); name != "" {
			given = logbook.TextValue(name)
		}
	}
	if read != "" {
		given, from = read, `"readOff"`
	}
	if given == "" {
		return ""
	}
	return nameValue(given, from)
}

// dayOn is the day by which a body counts: the set-up's, or a later one that it has recorded
// on since. A set-up of an earlier day that is opened again does not set its counter back.
func (a *act) dayOn(body logbook.ID) logbook.View {
	day := dayOfSetUp(a.book, a.setUp)
	if last, ok := a.lastOfBody(body); ok {
		if later := dayOf(a.book, last); later.Text("date") > day.Text("date") {
			return later
		}
	}
	return day
}

// lastClip is the last clip of a camera up to the event, in whatever set-up: a dial stands
// where it was left. Of those of one moment it is the one that was entered last.
func (a *act) lastClip(camera logbook.ID) (last logbook.View, ok bool) {
	return lastShot(a.book, &camera, nil, a.upTo())
}

// lastOfBody is the last clip of a body, by whatever camera.
func (a *act) lastOfBody(body logbook.ID) (last logbook.View, ok bool) {
	return lastShot(a.book, nil, &body, a.upTo())
}

// lastWith is the last clip of a camera with a body.
func (a *act) lastWith(camera, body logbook.ID) (last logbook.View, ok bool) {
	return lastShot(a.book, &camera, &body, a.upTo())
}

// lastHere is the last clip of a camera in the set-up.
func (a *act) lastHere(camera logbook.ID) (last logbook.View, ok bool) {
	when := logbook.Beginning
	for _, clip := range a.book.Referring(kinds.Clip, "setUp", a.setUp.ID) {
		if at := momentOf(a.book, clip); clip.Ref("camera") == camera && at >= when && at <= a.upTo() {
			last, when, ok = clip, at, true
		}
	}
	return last, ok
}

// momentOf is when a clip began: as it says, else when its first take did, else when it
// was logged.
func momentOf(b *logbook.Book, clip logbook.View) logbook.Millis {
	if at, ok := lighting.InstantOf(clip, "startedAt"); ok {
		return at
	}
	first := logbook.Ever
	for _, key := range clip.Keys("takes") {
		id, _ := logbook.ParseID(key)
		if take, ok := b.RecordOf(kinds.Take, id); ok {
			first = min(first, lighting.TakeTime(b, take))
		}
	}
	if first < logbook.Ever {
		return first
	}
	return clip.CreatedAt()
}

// upTo is how far the event looks. What is logged as it happens counts on from all that is
// here, whatever a fast clock dated it; what is entered later, from what was before it.
func (a *act) upTo() logbook.Millis {
	if at := a.at(); !lighting.ByClock(&logbook.Edit{At: a.now}, at) {
		return at
	}
	return logbook.Ever
}

// settings is how a clip's white was set at its end, by field.
func settings(clip logbook.View) map[string]logbook.Value {
	out := map[string]logbook.Value{}
	for _, name := range whiteSettings {
		out[name] = clip.Value(name)
	}
	var last logbook.Version
	for _, key := range clip.Keys("changes") {
		if v := clip.Field("changes/" + key).Shown; !last.Known() || last.Before(v) {
			last = v
		}
	}
	if last.Known() {
		out = settingOf(last.Value)
	}
	return out
}

// settingOf is a setting that was said as a whole, by field.
func settingOf(group logbook.Value) map[string]logbook.Value {
	out := map[string]logbook.Value{}
	for _, name := range whiteSettings {
		out[name] = group.Member(name)
	}
	return out
}

// override puts what was said over what is carried over. Another mode leaves
// nothing of the old one's numbers.
func override(now, says map[string]logbook.Value) (out map[string]logbook.Value, said bool) {
	out = map[string]logbook.Value{}
	mode := modeOf(says)
	if mode == "" || mode.Equal(now["whiteMode"]) {
		for name, v := range now {
			out[name] = v
		}
	}
	for _, name := range whiteSettings {
		if v := says[name]; v != "" {
			out[name], said = v, true
		}
	}
	if mode != "" {
		out["whiteMode"] = mode
	}
	return out, said
}

// modeOf is the mode that was said, else the one that has what was said: only a white set
// by kelvin has a kelvin.
func modeOf(says map[string]logbook.Value) logbook.Value {
	switch {
	case says["whiteMode"] != "":
		return says["whiteMode"]
	case says["preset"] != "":
		return `"preset"`
	case says["customFrom"] != "":
		return `"customFromCard"`
	case says["kelvin"] != "":
		return `"kelvin"`
	}
	return ""
}

// white is how a clip's white is set, and how that is known. Where nothing is known, it is
// still to be read off: the clip says nothing of it.
func (a *act) white(camera logbook.View, body logbook.ID, like *logbook.View) (set []logbook.Change) {
	now, readOffAt, read := a.whiteBefore(camera, body, like)
	now, said := override(now, a.says[camera.ID])
	switch {
	case said:
		now["settingsAre"], now["readOffAt"] = `"readOff"`, logbook.TimeValue(a.at())
	case read:
		now["settingsAre"], now["readOffAt"] = `"readOff"`, readOffAt
	case now["whiteMode"] != "":
		now["settingsAre"], now["readOffAt"] = `"carriedOver"`, readOffAt
	}
	for _, name := range append(append([]string{}, whiteSettings...), "settingsAre", "readOffAt") {
		if now[name] != "" {
			set = append(set, logbook.Change{Field: name, Value: now[name]})
		}
	}
	return set
}

// whiteBefore is how the white of a camera's body was left, and when it was read off; read says
// that this was since its last clip. As it is planned in the set-up, where neither says.
func (a *act) whiteBefore(
	camera logbook.View, body logbook.ID, like *logbook.View,
) (now map[string]logbook.Value, readOffAt logbook.Value, read bool) {
	last, _ := a.lastWith(camera.ID, body)
	if set, at, ok := cameras.SetSince(a.book, camera, body); ok && at <= a.upTo() && !(last.Known() && momentOf(a.book, last) >= at) {
		return settingOf(set), logbook.TimeValue(at), true
	}
	if like != nil && like.Ref("body") == body {
		last = *like
	}
	if now, readOffAt = settings(last), last.Value("readOffAt"); now["whiteMode"] != "" {
		return now, readOffAt, false
	}
	for _, key := range a.setUp.Keys("cameras") {
		planned := "cameras/" + key + "/planned"
		if id, err := logbook.ParseID(key); err != nil || a.book.Resolve(id) != camera.ID || a.setUp.Value(planned+"Kelvin") == "" {
			continue
		}
		return map[string]logbook.Value{
			"whiteMode": `"kelvin"`, "kelvin": a.setUp.Value(planned + "Kelvin"), "tint": a.setUp.Value(planned + "Tint"),
		}, "", false
	}
	return now, readOffAt, false
}

// carry is a setting that goes over from clip to clip: what is said now, else the last
// clip's, where that is of this set-up, else the set-up's, else the last clip's all the
// same. What is set on a body does not go over to another.
func (a *act) carry(camera logbook.View, body logbook.ID, name string, like *logbook.View) logbook.Value {
	if v := a.says[camera.ID][name]; v != "" {
		return v
	}
	bodys := slices.Contains(onBody, name)
	if like != nil && (!bodys || like.Ref("body") == body) {
		return like.Value(name)
	}
	var last logbook.View
	var ok bool
	if bodys {
		last, ok = a.lastWith(camera.ID, body)
	} else {
		last, ok = a.lastClip(camera.ID)
	}
	if ok && last.Ref("setUp") == a.setUp.ID {
		return last.Value(name)
	}
	if v := a.setUp.Value("cameras/" + camera.ID.String() + "/" + name); v != "" {
		return v
	}
	return last.Value(name)
}

// cardOf is the card in a camera: the last clip's, or the one that was put in
// after it. A card that was put in before the body was swapped went with the body.
func (a *act) cardOf(camera logbook.View, body logbook.ID, like *logbook.View) logbook.Value {
	if like != nil && like.Ref("body") == body {
		return like.Value("card")
	}
	var last logbook.View
	if !body.IsZero() {
		last, _ = a.lastOfBody(body)
	}
	card, filled := camera.Field("card").Shown, camera.Field("body").Shown
	if card.Known() && card.Value != logbook.Null && (!filled.Known() || card.Corrected() >= filled.Corrected()) &&
		(!last.Known() || card.Corrected() >= last.CreatedAt()) {
		return card.Value
	}
	return last.Value("card")
}

// noCardName is the card of a camera into which one was put whose name nobody said.
const noCardName = logbook.Value(`""`)
