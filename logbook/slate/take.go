package slate

import (
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"evenwhite/logbook"
	"evenwhite/logbook/cameras"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/setup"
)

// Drafts makes the drafts of an event: together they are one act. What the event does not
// say is carried over from the last take and clips of the set-up, and clips whose white was
// not said are marked so. newID gives the ids of new records. Nothing here needs all edits
// to have arrived: a number or a name that proves wrong later is a deviation or a twin. The
// error is a *logbook.FieldError.
func Drafts(b *logbook.Book, ev Event, newID func() logbook.ID, now logbook.Millis) ([]logbook.Draft, error) {
	setUp, ok := b.RecordOf(kinds.SetUp, ev.SetUp)
	if !ok || setUp.Deleted() {
		return nil, refusal("setUp", logbook.IDValue(ev.SetUp), "a set-up that is in the log and not struck out")
	}
	a := &act{book: b, ev: ev, newID: newID, now: now, setUp: setUp, counters: map[logbook.ID]*clipCounter{}}
	if t, ok := ev.given["startedAt"]; ok {
		a.startedAt = t
	}
	if err := a.cameras(); err != nil {
		return nil, err
	}
	run, ok := map[string]func() error{
		"nextTake": a.nextTake, "falseStart": a.falseStart, "falseTake": a.falseTake, "series": a.series, "pickUp": a.pickUp,
		"reroll": a.reroll, "newCard": a.newCard, "newBattery": a.newBattery, "cameraSet": a.cameraSet,
		"notRolling": a.notRolling, "joinsLate": a.joinsLate,
		"chart": a.chart, "insertTake": a.insertTake, "shiftNames": a.shiftNames, "whiteChanged": a.whiteChanged, "noSlate": a.noSlate,
	}[ev.Name]
	if !ok {
		return nil, ev.refuse("event", "one of "+strings.Join(Names(), ", "))
	}
	if err := run(); err != nil {
		return nil, err
	}
	return a.drafts, nil
}

// act is an event on its way to become drafts.
type act struct {
	book      *logbook.Book
	ev        Event
	newID     func() logbook.ID
	now       logbook.Millis
	startedAt logbook.Value
	setUp     logbook.View
	inUse     []logbook.View                          // the cameras, by letter
	says      map[logbook.ID]map[string]logbook.Value // what the event says of each
	counters  map[logbook.ID]*clipCounter             // by body
	drafts    []logbook.Draft
}

// cameras finds the cameras in use, and those that the event names.
func (a *act) cameras() error {
	a.inUse, a.says = cameras.InUse(a.book, a.setUp), map[logbook.ID]map[string]logbook.Value{}
	for path, value := range a.ev.given {
		rest, ok := strings.CutPrefix(path, "cameras/")
		if !ok {
			continue
		}
		key, field, _ := strings.Cut(rest, "/")
		id, err := logbook.ParseID(key)
		camera, found := a.book.RecordOf(kinds.Camera, id)
		if err != nil || !found || camera.Deleted() {
			return refusal("cameras/"+key, value, "a camera that is in the log and not struck out")
		}
		if a.says[camera.ID] == nil {
			a.says[camera.ID] = map[string]logbook.Value{}
		}
		a.says[camera.ID][field] = value
	}
	for id := range a.says {
		if only, ok := a.ev.given["camera"].ID(); ok && a.book.Resolve(only) != id {
			return refusal("cameras/"+id.String(), a.ev.given["camera"], "settings of that camera alone")
		}
		if _, named := a.says[id]["name"]; named && a.says[id]["rolled"] == "false" {
			return refusal("cameras/"+id.String()+"/name", a.says[id]["name"], "none: this camera did not roll")
		}
		known := slices.ContainsFunc(a.inUse, func(camera logbook.View) bool { return camera.ID == id })
		if camera, ok := a.book.RecordOf(kinds.Camera, id); ok && !known {
			a.inUse = append(a.inUse, camera)
		}
	}
	cameras.SortByLetter(a.inUse)
	return nil
}

func (a *act) add(v logbook.View, changes ...logbook.Change) {
	if len(changes) > 0 {
		a.drafts = append(a.drafts, v.Drafts(changes)...)
	}
}

// takes lists the takes of the set-up by number, equal ones as they were made.
func (a *act) takes() []logbook.View {
	all := a.book.Referring(kinds.Take, "setUp", a.setUp.ID)
	sortByNumber(all)
	return all
}

// about is the take that the event names, else the last one; ok is false where no take of
// the set-up is here yet.
func (a *act) about() (take logbook.View, ok bool, err error) {
	all := a.takes()
	if a.ev.given["take"] == "" {
		if len(all) == 0 {
			return logbook.View{}, false, nil
		}
		return all[len(all)-1], true, nil
	}
	id, _ := a.ev.given["take"].ID()
	for _, take := range all {
		if take.ID == a.book.Resolve(id) {
			return take, true, nil
		}
	}
	return logbook.View{}, false, a.ev.refuse("take", "a take of this set-up")
}

// lastNumber is the last that a take may have.
const lastNumber = 999

// nextNumber is the highest number known plus one; a number that is to be used again does
// not count. After the last there is it is the lowest that is free.
func (a *act) nextNumber() logbook.Value {
	if v, ok := a.ev.given["number"]; ok {
		return v
	}
	highest, taken := 0, map[int]bool{}
	for _, take := range a.takes() {
		if n, ok := take.Number("number"); ok && take.Text("state") != "numberUsedAgain" {
			highest, taken[int(n)] = max(highest, int(n)), true
		}
	}
	next := highest + 1
	if next > lastNumber {
		for next = 1; taken[next] && next < lastNumber; {
			next++
		}
	}
	return logbook.Value(strconv.Itoa(next))
}

// newTake drafts a take with what the event says and what follows from the last
// one, and returns its id.
func (a *act) newTake(number logbook.Value, more ...logbook.Change) logbook.ID {
	set := append([]logbook.Change{{Field: "setUp", Value: logbook.IDValue(a.setUp.ID)}, {Field: "number", Value: number}}, more...)
	for _, name := range []string{"slate", "wanted", "startedAt"} {
		if v, ok := a.ev.given[name]; ok {
			set = append(set, logbook.Change{Field: name, Value: v})
		}
	}
	// The sky of the last take is not carried over: nobody looked up.
	if sky := a.ev.given["sky"]; sky != "" {
		set = append(set, logbook.Change{Field: "sky", Value: sky})
	}
	if !sets(set, "white") {
		n, _ := number.Float()
		if white, ok := setup.WhiteForTake(a.book, a.setUp.ID, n, a.at()); ok {
			set = append(set, logbook.Change{Field: "white", Value: logbook.IDValue(white.ID)})
		}
	}
	id := a.newID()
	a.drafts = append(a.drafts, logbook.Draft{Kind: kinds.Take, Record: id, Set: set})
	return id
}

func sets(set []logbook.Change, field string) bool {
	return slices.ContainsFunc(set, func(c logbook.Change) bool { return c.Field == field })
}

// at is when it happened.
func (a *act) at() logbook.Millis {
	if m, ok := millisOf(a.startedAt); ok {
		return m
	}
	return a.now
}

func (a *act) suffix() []logbook.Change {
	if v, ok := a.ev.given["suffix"]; ok {
		return []logbook.Change{{Field: "suffix", Value: v}}
	}
	return nil
}

func (a *act) nextTake() error {
	a.clips(rolling{take: a.newTake(a.nextNumber(), a.suffix()...)})
	return nil
}

// falseStart, before the slate, is a clip without a take.
func (a *act) falseStart() error {
	a.clips(rolling{kind: "falseStart"})
	return nil
}

// falseTake, after the slate: whether its number is used up is asked once per
// production; until somebody says, it is. A take that was logged already is named and only marked.
func (a *act) falseTake() error {
	said := a.ev.text("falseTakeNumber")
	for _, production := range a.book.Records(kinds.Production) {
		known := production.Text("falseTakeNumber")
		switch {
		case said == "":
			said = known
		case known == "":
			a.add(production, logbook.Replace(production, "falseTakeNumber", logbook.TextValue(said)))
		}
	}
	state := logbook.Value(`"falseStart"`)
	if said == "usedAgain" {
		state = `"numberUsedAgain"`
	}
	if a.ev.given["take"] != "" {
		return a.markFalse(state)
	}
	a.clips(rolling{take: a.newTake(a.nextNumber(), logbook.Change{Field: "state", Value: state})})
	return nil
}

func (a *act) markFalse(state logbook.Value) error {
	for name := range a.ev.given {
		if name != "event" && name != "take" && name != "falseTakeNumber" {
			return a.ev.refuse(name, "none: a take that is logged already is only marked")
		}
	}
	take, _, err := a.about()
	if err == nil {
		a.add(take, logbook.Replace(take, "state", state))
	}
	return err
}

// series: the cameras roll on, so that the last take's clips hold one more. Where no clip
// of it is here, the cameras' clips are logged with this take.
func (a *act) series() error {
	last, ok, err := a.about()
	if err != nil {
		return err
	}
	var clips []logbook.View
	if ok {
		clips = a.clipsOf(last)
		if !last.Flag("series", false) {
			a.add(last, logbook.Replace(last, "series", "true"))
		}
	}
	take := a.newTake(a.nextNumber(), logbook.Change{Field: "series", Value: "true"})
	if len(clips) == 0 {
		for _, camera := range a.inUse {
			if a.says[camera.ID]["beginsAt"] == "" && a.ev.given["timecode"] != "" {
				a.say(camera, "beginsAt", a.ev.given["timecode"])
			}
		}
		a.clips(rolling{take: take})
	}
	for _, clip := range clips {
		begins := a.says[clip.Ref("camera")]["beginsAt"]
		if begins == "" {
			begins = a.ev.given["timecode"]
		}
		a.add(clip, logbook.Change{Field: "takes/" + take.String(), Value: beginsAt(begins)})
	}
	return nil
}

func beginsAt(timecode logbook.Value) logbook.Value {
	if timecode == "" {
		return "{}"
	}
	return logbook.ObjectValue([]logbook.Member{{Name: "beginsAt", Value: timecode}})
}

// pickUp has the next number, or keeps the last one, and a suffix.
func (a *act) pickUp() error {
	number := a.nextNumber()
	if a.ev.given["sameNumber"] == "true" {
		last, _, err := a.about()
		if err != nil {
			return err
		}
		if n := last.Value("number"); n != "" {
			number = n
		}
	}
	suffix := a.suffix()
	if suffix == nil {
		suffix = []logbook.Change{{Field: "suffix", Value: `"PU"`}}
	}
	a.clips(rolling{take: a.newTake(number, suffix...)})
	return nil
}

func (a *act) chart() error {
	if a.ev.given["camera"] == "" {
		a.clips(rolling{kind: "chart"})
		return nil
	}
	camera, err := a.camera()
	if err == nil {
		a.clip(camera, rolling{kind: "chart"})
	}
	return err
}

// noSlate: clips alone, without a take. Another place than the set-up's makes a set-up of
// its own, named by place and time.
func (a *act) noSlate() error {
	place := a.ev.given["place"]
	if place != "" && !place.Equal(a.setUp.Value("place")) {
		clock := a.now.Time().Format("15:04 UTC")
		if text, ok := a.startedAt.Text(); ok {
			clock = text[11:16]
		}
		text, _ := place.Text()
		for utf8.RuneCountInString(text)+1+len(clock) > 40 {
			_, size := utf8.DecodeLastRuneInString(text)
			text = text[:len(text)-size]
		}
		set := []logbook.Change{{Field: "place", Value: place}, {Field: "name", Value: logbook.TextValue(strings.TrimSpace(text) + " " + clock)}}
		for _, f := range a.setUp.Fields() {
			if v := a.setUp.Value(f.Name); v != "" && (f.Name == "day" || f.Name == "scene" || strings.HasPrefix(f.Name, "cameras/")) {
				set = append(set, logbook.Change{Field: f.Name, Value: v})
			}
		}
		id := a.newID()
		a.drafts = append(a.drafts, logbook.Draft{Kind: kinds.SetUp, Record: id, Set: set})
		a.clips(rolling{setUp: id})
		return nil
	}
	a.clips(rolling{})
	return nil
}
