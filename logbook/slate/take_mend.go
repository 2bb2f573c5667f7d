package slate

import (
	"strconv"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/setup"
)

// reroll: one camera rolled again in the same take.
func (a *act) reroll() error {
	camera, take, err := a.cameraInTake()
	if err != nil {
		return err
	}
	part := 1
	for _, clip := range a.loggedOf(take) {
		if clip.Ref("camera") == camera.ID {
			n, ok := clip.Number("part")
			if !ok {
				n = 1
			}
			part = max(part, int(n)+1)
		}
	}
	a.clip(camera, rolling{take: take.ID, part: part})
	return nil
}

// cameraInTake is the camera and the take that the event is about: none where no take of
// the set-up is here yet, so that its clip is logged without one.
func (a *act) cameraInTake() (camera, take logbook.View, err error) {
	if camera, err = a.camera(); err == nil {
		take, _, err = a.about()
	}
	return camera, take, err
}

// loggedOf lists the clips of a take, also of cameras that stood still.
func (a *act) loggedOf(take logbook.View) []logbook.View {
	if !take.Known() {
		return nil
	}
	return a.book.Referring(kinds.Clip, "takes", take.ID)
}

func (a *act) newCard() error {
	camera, err := a.camera()
	if err != nil {
		return err
	}
	card := a.ev.given["card"]
	if card == "" {
		before, _ := a.cardOf(camera, a.bodyOf(camera), nil).Text()
		text, _ := cardAfter(before) // none where the last one ends in no number
		card = logbook.TextValue(text)
	}
	a.add(camera, logbook.Replace(camera, "card", card))
	return nil
}

func (a *act) newBattery() error {
	camera, err := a.camera()
	if err == nil {
		a.add(camera, logbook.Replace(camera, "newBatteryAt", logbook.TimeValue(a.now)))
	}
	return err
}

// cameraSet: a camera was dialled or read off while nothing rolled. It stands so until its next
// clip, which has it.
func (a *act) cameraSet() error {
	camera, err := a.camera()
	if err != nil {
		return err
	}
	body := a.bodyOf(camera)
	if body.IsZero() {
		return a.ev.refuse("camera", "a camera that a body fills")
	}
	before, _, _ := a.whiteBefore(camera, body, nil)
	now, said := override(before, a.says[camera.ID])
	if !said || now["whiteMode"] == "" {
		return refusal("cameras/"+camera.ID.String(), "", "the settings: whiteMode, kelvin, tint, amberBlue or preset")
	}
	members := []logbook.Member{{Name: "body", Value: logbook.IDValue(body)}, {Name: "setUp", Value: logbook.IDValue(a.setUp.ID)},
		{Name: "at", Value: logbook.TimeValue(a.now)}}
	for _, name := range []string{"whiteMode", "kelvin", "tint", "amberBlue", "preset"} {
		if now[name] != "" {
			members = append(members, logbook.Member{Name: name, Value: now[name]})
		}
	}
	a.add(camera, logbook.Replace(camera, "set", logbook.ObjectValue(members)))
	return nil
}

// notRolling: a clip that was counted for the camera did not come to be.
func (a *act) notRolling() error {
	camera, take, err := a.cameraInTake()
	if err != nil {
		return err
	}
	found := false
	for _, clip := range a.loggedOf(take) {
		if clip.Ref("camera") != camera.ID {
			continue
		}
		found = true
		if clip.Flag("rolled", true) {
			changes := []logbook.Change{logbook.Replace(clip, "rolled", "false")}
			if clip.Value("name") != "" {
				changes = append(changes, logbook.Replace(clip, "name", logbook.Null))
			}
			a.add(clip, changes...)
		}
	}
	if found {
		return nil
	}
	a.say(camera, "rolled", "false")
	a.clip(camera, rolling{take: take.ID})
	return nil
}

func (a *act) say(camera logbook.View, field string, v logbook.Value) {
	if a.says[camera.ID] == nil {
		a.says[camera.ID] = map[string]logbook.Value{}
	}
	a.says[camera.ID][field] = v
}

// joinsLate: a camera begins to roll when the take already runs.
func (a *act) joinsLate() error {
	camera, take, err := a.cameraInTake()
	if err != nil {
		return err
	}
	if a.startedAt == "" {
		a.startedAt = logbook.TimeValue(a.now)
	}
	for _, clip := range a.loggedOf(take) {
		if clip.Ref("camera") != camera.ID {
			continue
		}
		if clip.Flag("rolled", true) {
			return a.ev.refuse("camera", "a camera that does not roll in this take yet")
		}
		// What was logged of it was a camera that stood still: this clip is its
		// own record, so that the history keeps both.
		a.add(clip, logbook.Strike(clip))
	}
	a.clip(camera, rolling{take: take.ID})
	return nil
}

// insertTake adds a take that was forgotten: the others keep their numbers and, until
// somebody shifts them, their names. The new clips take the names that the cameras counted
// there.
func (a *act) insertTake() error {
	all := a.takes()
	number, err := a.gap(all)
	if err != nil {
		return err
	}
	var previous, following logbook.View
	for _, take := range all {
		if kinds.CompareNumbers(string(take.Value("number")), string(number)) <= 0 {
			previous = take
		} else if !following.Known() {
			following = take
		}
	}
	more := a.suffix()
	for _, take := range []logbook.View{previous, following} {
		if white, ok := a.whiteOf(take); ok {
			more = append(more, logbook.Change{Field: "white", Value: logbook.IDValue(white.ID)})
			break
		}
	}
	take := a.newTake(number, more...)
	for _, camera := range a.inUse {
		r := rolling{take: take}
		body := a.bodyOf(camera)
		r.like, r.name = a.between(previous, following, camera, body)
		a.clip(camera, r)
	}
	return nil
}

func (a *act) whiteOf(take logbook.View) (logbook.View, bool) {
	if !take.Known() {
		return logbook.View{}, false
	}
	return setup.WhiteOfTake(a.book, take)
}

// gap is the number that the event gives, else the one before the take that it names, else
// the lowest that is missing.
func (a *act) gap(all []logbook.View) (logbook.Value, error) {
	taken := map[int]bool{}
	for _, take := range all {
		n, _ := take.Number("number")
		taken[int(n)] = taken[int(n)] || take.Value("suffix").Equal(a.ev.given["suffix"])
	}
	number := 1
	switch given, ok := a.ev.given["number"].Float(); {
	case ok:
		number = int(given)
	case a.ev.given["take"] != "":
		before, _, err := a.about()
		if err != nil {
			return "", err
		}
		n, _ := before.Number("number")
		number = int(n) - 1
	default:
		for taken[number] {
			number++
		}
	}
	if number < 1 || number > 999 || taken[number] {
		return "", refusal("number", logbook.Value(strconv.Itoa(number)), "a number from 1 to 999 that is free, or a suffix")
	}
	return logbook.Value(strconv.Itoa(number)), nil
}

// between finds the clip that an inserted one is like, and the inserted one's name: the
// name after that of the clip before it, else the one that the clip after it was counted as.
func (a *act) between(previous, following, camera logbook.View, body logbook.ID) (like *logbook.View, name logbook.Value) {
	filled, _ := a.book.RecordOf(kinds.Body, body)
	rule, _ := clipRuleOf(filled)
	find := func(take logbook.View, last bool) *logbook.View {
		var found *logbook.View
		if !take.Known() {
			return nil
		}
		for _, clip := range a.clipsOf(take) {
			if clip.Ref("camera") == camera.ID && clip.Ref("body") == body && (last || found == nil) {
				found = &clip
			}
		}
		return found
	}
	if like = find(previous, true); like != nil {
		text, _ := nameOf(*like)
		if next, ok := rule.following(text); ok {
			return like, logbook.TextValue(next)
		}
	}
	after := find(following, false)
	if like == nil {
		like = after
	}
	if after != nil {
		if _, counted := nameOf(*after); counted {
			return like, after.Value("name").Member("text")
		}
	}
	return like, ""
}

// shiftNames counts the counted names of a clip and of those that follow it on its
// card up by one. A name that was read off stays, and those counted from it.
func (a *act) shiftNames() error {
	id, _ := a.ev.given["clip"].ID()
	from, ok := a.book.RecordOf(kinds.Clip, id)
	if !ok || from.Deleted() || from.Ref("setUp") != a.setUp.ID {
		return a.ev.refuse("clip", "a clip of this set-up")
	}
	body, _ := a.book.RecordOf(kinds.Body, from.Ref("body"))
	rule, _ := clipRuleOf(body)
	number := func(clip logbook.View) (n int, counted, ok bool) {
		text, counted := nameOf(clip)
		n, _, _, ok = rule.clipNumber(text)
		return n, counted, ok
	}
	first, counted, ok := number(from)
	if !ok || !counted {
		return a.ev.refuse("clip", "a clip whose name was counted by the rule of its body")
	}
	counter := clipCounter{rule: rule}
	key := counter.key(from.Text("card"), dayOf(a.book, from))
	var later []logbook.View
	end := tenTo(9)
	for _, clip := range a.book.Referring(kinds.Clip, "body", body.ID) {
		n, counted, ok := number(clip)
		if !ok || counter.key(clip.Text("card"), dayOf(a.book, clip)) != key || n < first || n == first && clip.ID != from.ID {
			continue
		}
		if !counted {
			end = min(end, n)
			continue
		}
		later = append(later, clip)
	}
	for _, clip := range later {
		if n, _, _ := number(clip); n >= end {
			continue
		}
		text, _ := nameOf(clip)
		next, _ := rule.following(text)
		a.add(clip, logbook.Replace(clip, "name", nameValue(logbook.TextValue(next), byCount)))
	}
	return nil
}

// whiteChanged notes that the white of a camera was changed while it rolled. Where no clip of
// it is here, somebody else may have logged it, or nobody: the change is kept in one of its own.
func (a *act) whiteChanged() error {
	camera, err := a.camera()
	if err != nil {
		return err
	}
	clip, ok := a.lastHere(camera.ID)
	if a.ev.given["clip"] != "" {
		id, _ := a.ev.given["clip"].ID()
		clip, ok = a.book.RecordOf(kinds.Clip, id)
		if !ok || clip.Deleted() || clip.Ref("camera") != camera.ID || clip.Ref("setUp") != a.setUp.ID {
			return a.ev.refuse("clip", "a clip of this camera in this set-up")
		}
	}
	before := settings(clip)
	if !ok {
		before, _, _ = a.whiteBefore(camera, a.bodyOf(camera), nil)
	}
	now, said := override(before, a.says[camera.ID])
	switch {
	case !said:
		return a.ev.refuse("cameras/"+camera.ID.String(), "the settings that were changed: whiteMode, kelvin, tint, amberBlue or preset")
	case now["whiteMode"] == "":
		return refusal("cameras/"+camera.ID.String()+"/whiteMode", "", "one of "+kinds.WhiteModes+": how this white is set is not in the log")
	}
	var members []logbook.Member
	for _, name := range []string{"whiteMode", "kelvin", "tint", "amberBlue", "preset"} {
		if now[name] != "" {
			members = append(members, logbook.Member{Name: name, Value: now[name]})
		}
	}
	if timecode := a.ev.given["timecode"]; timecode != "" {
		members = append(members, logbook.Member{Name: "timecode", Value: timecode})
	}
	change := logbook.ObjectValue(members)
	if !ok {
		delete(a.says, camera.ID) // was said of its end
		a.clip(camera, rolling{changed: change})
		return nil
	}
	a.add(clip, logbook.Change{Field: "changes/" + a.newID().String(), Value: change})
	return nil
}
