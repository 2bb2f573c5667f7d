package slate

import (
	"sort"
	"strconv"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/cameras"
	"evenwhite/logbook/kinds"
)

// rolling says what clips are made for.
type rolling struct {
	setUp logbook.ID // zero: the event's
	take  logbook.ID // zero: none
	kind  string
	part  int
	like  *logbook.View // the clip to carry over from, where it is not the last one
	name  logbook.Value // the name's text, where it is not counted
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
func (a *act) clips(r rolling) error {
	for _, camera := range a.inUse {
		if err := a.clip(camera, r); err != nil {
			return err
		}
	}
	return nil
}

// clip drafts a clip of a camera: what the event says, and what is carried over.
func (a *act) clip(camera logbook.View, r rolling) error {
	body, ok := cameras.BodyAt(a.book, camera, a.at())
	if !ok {
		return refusal("cameras/"+camera.ID.String(), camera.Value("body"), "a camera that a body fills")
	}
	setUp := r.setUp
	if setUp.IsZero() {
		setUp = a.setUp.ID
	}
	set := []logbook.Change{
		{Field: "setUp", Value: logbook.IDValue(setUp)}, {Field: "camera", Value: logbook.IDValue(camera.ID)},
		{Field: "body", Value: logbook.IDValue(body.ID)},
	}
	put := func(field string, v logbook.Value) {
		if v != "" {
			set = append(set, logbook.Change{Field: field, Value: v})
		}
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
	white, err := a.white(camera, body, r.like)
	if err != nil {
		return err
	}
	set = append(set, white...)
	for _, name := range carried {
		put(name, a.carry(camera, name, r.like))
	}
	card := says["card"]
	if card == "" {
		card = a.cardOf(camera, body, r.like)
	}
	put("card", card)
	if says["rolled"] == "false" {
		put("rolled", "false")
	} else {
		put("name", a.name(body, card, r.name, says["name"]))
	}
	put("timecode/start", says["timecodeStart"])
	put("startedAt", a.startedAt)
	a.drafts = append(a.drafts, logbook.Draft{Kind: kinds.Clip, Record: a.newID(), Set: set})
	return nil
}

// name is the clip's name: read off, else given, else counted; none where the
// body's rule is not known.
func (a *act) name(body logbook.View, card, given, read logbook.Value) logbook.Value {
	from := byCount
	if given == "" {
		if a.counters[body.ID] == nil {
			a.counters[body.ID] = counterOf(a.book, body)
		}
		text, _ := card.Text()
		if name := a.counters[body.ID].next(text, dayOfSetUp(a.book, a.setUp)); name != "" {
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

// lastClip is the last clip of a camera and a body (a zero id: of any) in the
// set-up, else in the production.
func (a *act) lastClip(camera, body logbook.ID) (logbook.View, bool) {
	var last logbook.View
	here := false
	for _, clip := range a.book.Referring(kinds.Clip, "camera", camera) {
		if !body.IsZero() && clip.Ref("body") != body {
			continue
		}
		if inSetUp := clip.Ref("setUp") == a.setUp.ID; inSetUp || !here {
			last, here = clip, here || inSetUp
		}
	}
	return last, last.Known()
}

// settings is how a clip's white was set at its end, by field.
func settings(clip logbook.View) map[string]logbook.Value {
	out := map[string]logbook.Value{}
	for _, name := range whiteSettings {
		out[name] = clip.Value(name)
	}
	var last logbook.Version
	for _, key := range clip.Keys("changes") {
		if v := clip.Field("changes/" + key).Shown; last.Edit == nil || logbook.Before(last.Edit, v.Edit) {
			last = v
		}
	}
	if last.Edit != nil {
		for _, name := range whiteSettings {
			out[name] = last.Value.Member(name)
		}
	}
	return out
}

// override puts what was said over what is carried over. Another mode leaves
// nothing of the old one's numbers.
func override(now, says map[string]logbook.Value) (out map[string]logbook.Value, said bool) {
	out = map[string]logbook.Value{}
	if mode := says["whiteMode"]; mode == "" || mode.Equal(now["whiteMode"]) {
		for name, v := range now {
			out[name] = v
		}
	}
	for _, name := range whiteSettings {
		if v := says[name]; v != "" {
			out[name], said = v, true
		}
	}
	return out, said
}

// white is how a clip's white is set, and how that is known.
func (a *act) white(camera, body logbook.View, like *logbook.View) ([]logbook.Change, error) {
	now, readOffAt := map[string]logbook.Value{}, logbook.Value("")
	last, ok := a.lastClip(camera.ID, body.ID)
	if like != nil && like.Ref("body") == body.ID {
		last, ok = *like, true
	}
	if ok {
		now, readOffAt = settings(last), last.Value("readOffAt")
	} else if planned := "cameras/" + camera.ID.String() + "/planned"; a.setUp.Value(planned+"Kelvin") != "" {
		now["whiteMode"], now["kelvin"], now["tint"] = `"kelvin"`, a.setUp.Value(planned+"Kelvin"), a.setUp.Value(planned+"Tint")
	}
	now, said := override(now, a.says[camera.ID])
	if now["whiteMode"] == "" {
		return nil, refusal("cameras/"+camera.ID.String()+"/whiteMode", "",
			"one of "+kinds.WhiteModes+": there is no clip to carry it over from")
	}
	settingsAre := logbook.Value(`"carriedOver"`)
	if said {
		settingsAre, readOffAt = `"readOff"`, logbook.TimeValue(a.at())
	}
	now["settingsAre"], now["readOffAt"] = settingsAre, readOffAt
	var set []logbook.Change
	for _, name := range append(append([]string{}, whiteSettings...), "settingsAre", "readOffAt") {
		if now[name] != "" {
			set = append(set, logbook.Change{Field: name, Value: now[name]})
		}
	}
	return set, nil
}

// carry is a setting that goes over from clip to clip: what is said now, else the last
// clip's here, else the set-up's, else that of the camera's last clip anywhere.
func (a *act) carry(camera logbook.View, name string, like *logbook.View) logbook.Value {
	if v := a.says[camera.ID][name]; v != "" {
		return v
	}
	if like != nil {
		return like.Value(name)
	}
	last, ok := a.lastClip(camera.ID, logbook.ID{})
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
func (a *act) cardOf(camera, body logbook.View, like *logbook.View) logbook.Value {
	if like != nil && like.Ref("body") == body.ID {
		return like.Value("card")
	}
	var last logbook.View
	for _, clip := range a.book.Referring(kinds.Clip, "body", body.ID) {
		last = clip
	}
	card, filled := camera.Field("card").Shown, camera.Field("body").Shown
	if card.Edit != nil && card.Value != logbook.Null && filled.Edit != nil && card.Edit.Corrected() >= filled.Edit.Corrected() &&
		(!last.Known() || card.Edit.Corrected() >= last.CreatedAt()) {
		return card.Value
	}
	return last.Value("card")
}
