package logbook

import (
	"sort"
	"strconv"
	"time"
)

// rolling says what clips are made for.
type rolling struct {
	setUp ID // zero: the event's
	take  ID // zero: none
	kind  string
	part  int
	like  *View // the clip to carry over from, where it is not the last one
	name  Value // the name's text, where it is not counted
}

func sortByLetter(cameras []View) {
	sort.Slice(cameras, func(i, j int) bool {
		if x, y := cameras[i].Text("letter"), cameras[j].Text("letter"); x != y {
			return x < y
		}
		return cameras[i].ID.Less(cameras[j].ID)
	})
}

func sortByNumber(takes []View) {
	sort.SliceStable(takes, func(i, j int) bool {
		x, _ := takes[i].Number("number")
		y, _ := takes[j].Number("number")
		return x < y
	})
}

func millisOf(v Value) (Millis, bool) {
	text, ok := v.Text()
	if !ok {
		return 0, false
	}
	t, err := time.Parse(time.RFC3339, text)
	return MillisOf(t), err == nil
}

// camera is the one that the event is about.
func (a *act) camera() (View, error) {
	id, _ := a.ev.given["camera"].ID()
	camera, ok := a.book.RecordOf(KindCamera, id)
	if !ok || camera.Deleted() {
		return View{}, a.ev.refuse("camera", "a camera that is in the log and not struck out")
	}
	return camera, nil
}

// clipsOf lists the clips of a take whose cameras rolled.
func (a *act) clipsOf(take View) []View {
	var out []View
	for _, clip := range a.book.Referring(KindClip, "takes", take.ID) {
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
func (a *act) clip(camera View, r rolling) error {
	body, ok := BodyAt(a.book, camera, a.at())
	if !ok {
		return &FieldError{Kind: eventKind, Field: "cameras/" + camera.ID.String(), Value: camera.Value("body"), Allowed: "a camera that a body fills"}
	}
	setUp := r.setUp
	if setUp.IsZero() {
		setUp = a.setUp.ID
	}
	set := []Change{{Field: "setUp", Value: IDValue(setUp)}, {Field: "camera", Value: IDValue(camera.ID)}, {Field: "body", Value: IDValue(body.ID)}}
	put := func(field string, v Value) {
		if v != "" {
			set = append(set, Change{Field: field, Value: v})
		}
	}
	says := a.says[camera.ID]
	if !r.take.IsZero() {
		put("takes/"+r.take.String(), beginsAt(says["beginsAt"]))
	}
	if r.kind != "" {
		put("clipKind", TextValue(r.kind))
	}
	if r.part > 1 {
		put("part", Value(strconv.Itoa(r.part)))
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
	a.drafts = append(a.drafts, Draft{KindClip, a.newID(), set})
	return nil
}

// name is the clip's name: read off, else given, else counted; none where the
// body's rule is not known.
func (a *act) name(body View, card, given, read Value) Value {
	from := Value(`"counted"`)
	if given == "" {
		if a.counters[body.ID] == nil {
			a.counters[body.ID] = counterOf(a.book, body)
		}
		text, _ := card.Text()
		if name := a.counters[body.ID].next(text, dayOfSetUp(a.book, a.setUp)); name != "" {
			given = TextValue(name)
		}
	}
	if read != "" {
		given, from = read, `"readOff"`
	}
	if given == "" {
		return ""
	}
	return ObjectValue([]Member{{"text", given}, {"from", from}})
}

// lastClip is the last clip of a camera and a body (a zero id: of any) in the
// set-up, else in the production.
func (a *act) lastClip(camera, body ID) (View, bool) {
	var last View
	here := false
	for _, clip := range a.book.Referring(KindClip, "camera", camera) {
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
func settings(clip View) map[string]Value {
	out := map[string]Value{}
	for _, name := range whiteSettings {
		out[name] = clip.Value(name)
	}
	var last Version
	for _, key := range clip.Keys("changes") {
		if v := clip.Field("changes/" + key).Shown; last.Edit == nil || Before(last.Edit, v.Edit) {
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
func override(now, says map[string]Value) (out map[string]Value, said bool) {
	out = map[string]Value{}
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
func (a *act) white(camera, body View, like *View) ([]Change, error) {
	now, readOffAt := map[string]Value{}, Value("")
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
		return nil, &FieldError{Kind: eventKind, Field: "cameras/" + camera.ID.String() + "/whiteMode",
			Allowed: "one of " + WhiteModes + ": there is no clip to carry it over from"}
	}
	settingsAre := Value(`"carriedOver"`)
	if said {
		settingsAre, readOffAt = `"readOff"`, TimeValue(a.at())
	}
	now["settingsAre"], now["readOffAt"] = settingsAre, readOffAt
	var set []Change
	for _, name := range append(append([]string{}, whiteSettings...), "settingsAre", "readOffAt") {
		if now[name] != "" {
			set = append(set, Change{Field: name, Value: now[name]})
		}
	}
	return set, nil
}

// carry is a setting that goes over from clip to clip: said now, else of the last
// clip here, else the set-up's, else of the camera's last clip anywhere.
func (a *act) carry(camera View, name string, like *View) Value {
	if v := a.says[camera.ID][name]; v != "" {
		return v
	}
	if like != nil {
		return like.Value(name)
	}
	last, ok := a.lastClip(camera.ID, ID{})
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
func (a *act) cardOf(camera, body View, like *View) Value {
	if like != nil && like.Ref("body") == body.ID {
		return like.Value("card")
	}
	var last View
	for _, clip := range a.book.Referring(KindClip, "body", body.ID) {
		last = clip
	}
	card, filled := camera.Field("card").Shown, camera.Field("body").Shown
	if card.Edit != nil && card.Value != Null && filled.Edit != nil && card.Edit.Corrected() >= filled.Edit.Corrected() &&
		(!last.Known() || card.Edit.Corrected() >= last.CreatedAt()) {
		return card.Value
	}
	return last.Value("card")
}
