package colorlog

import (
	"cmp"
	"encoding/json"
	"slices"
	"sort"
	"strings"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/glance"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
	"evenwhite/logbook/zone"
)

// shot is a clip with what was looked up about it.
type shot struct {
	clip         logbook.View
	camera, body logbook.View
	letter       string
	start        logbook.Millis
	takes        []logbook.View // in the order of their numbers
}

func (s *setUp) shotOf(clip logbook.View) *shot {
	sh := &shot{clip: clip}
	sh.camera, _ = s.book.RecordOf(kinds.Camera, clip.Ref("camera"))
	sh.body, _ = s.book.RecordOf(kinds.Body, clip.Ref("body"))
	if !sh.camera.ID.IsZero() {
		sh.letter = sh.camera.Text("letter")
	}
	sh.takes = s.takesOf(clip)
	sh.start = lighting.ClipTime(clip)
	if s.summary != nil {
		sh.start = s.summary.MomentOf(clip)
	}
	return sh
}

func (s *setUp) timeOf(take logbook.View) logbook.Millis {
	at, ok := s.times[take.ID]
	if !ok {
		at = lighting.TakeTime(s.book, take)
		s.times[take.ID] = at
	}
	return at
}

func (sh *shot) part() float64 {
	if part, ok := sh.clip.Number("part"); ok {
		return part
	}
	return 1
}

// takesOf lists the takes that a clip contains by their time, one that is struck
// out too: the clip holds it.
func (s *setUp) takesOf(clip logbook.View) []logbook.View {
	var takes []logbook.View
	seen := map[logbook.ID]bool{}
	for _, key := range clip.Keys("takes") {
		id, err := logbook.ParseID(key)
		if err != nil {
			continue
		}
		if take, ok := s.book.RecordOf(kinds.Take, id); ok && !seen[take.ID] {
			seen[take.ID] = true
			takes = append(takes, take)
		}
	}
	sort.SliceStable(takes, func(i, j int) bool { return s.timeOf(takes[i]) < s.timeOf(takes[j]) })
	return takes
}

func (s *setUp) find(sh *shot, take logbook.View) Find {
	clip := sh.clip
	f := Find{
		ClipKind: cmp.Or(clip.Text("clipKind"), "take"), Camera: sh.letter, Part: numberOf(clip.Value("part")),
		Card: clip.Text("card"), StartedAt: sh.start.Time(), Rolled: clip.Flag("rolled", true), ClipRecord: clip.ID,
		Row: 1, Rows: max(1, len(sh.takes)),
		Timecode: Timecode{Start: clip.Text("timecode/start"), End: clip.Text("timecode/end"),
			Rate: cmp.Or(clip.Text("timecode/rate"), s.frameRate), Drop: clip.Flag("timecode/drop", s.dropFrame)},
	}
	f.ClipName, _ = clip.Value("name").Member("text").Text()
	f.NameFrom, _ = clip.Value("name").Member("from").Text()
	if !sh.body.ID.IsZero() {
		f.Body = sh.body.Text("label")
	}
	day, _ := s.book.RecordOf(kinds.Day, s.view.Ref("day"))
	if zone := s.zoneOf(day); zone != nil {
		f.StartedLocal = f.StartedAt.In(zone).Format(time.RFC3339)
	}
	if !s.view.ID.IsZero() {
		f.SetUp, f.SetUpKind, f.SetUpRecord = s.view.Text("name"), cmp.Or(s.view.Text("setUpKind"), "picture"), s.view.ID
		if day.Known() {
			f.DayNumber, f.Date, f.Unit = numberOf(day.Value("number")), day.Text("date"), unitOf(day)
		}
		if scene, ok := s.book.RecordOf(kinds.Scene, s.view.Ref("scene")); ok {
			f.Scene = scene.Text("name")
		}
	}
	if take.ID.IsZero() {
		return f
	}
	f.Row = 1 + slices.IndexFunc(sh.takes, func(t logbook.View) bool { return t.ID == take.ID })
	f.Take = &Take{
		Number: numberOf(take.Value("number")), Suffix: take.Text("suffix"), Kind: cmp.Or(take.Text("takeKind"), "take"),
		State: cmp.Or(take.Text("state"), "complete"), Series: take.Flag("series", false), Wanted: take.Flag("wanted", false), Record: take.ID,
	}
	for _, member := range take.Members() {
		begins, _ := clip.Value("takes/" + member.String()).Member("beginsAt").Text()
		f.Take.BeginsAt = cmp.Or(f.Take.BeginsAt, begins)
	}
	return f
}

// zoneOf is the zone of a day, else that of the production; nil where neither is known.
func (w *writer) zoneOf(day logbook.View) *time.Location {
	name := w.timeZone
	if day.Known() {
		name = cmp.Or(day.Text("timeZone"), name)
	}
	at, ok := w.zones[name]
	if !ok {
		at, _ = zone.Of(name) // a name that the table lacks gives no local time
		w.zones[name] = at
	}
	return at
}

// numberOf is a number as it was typed.
func numberOf(v logbook.Value) json.Number {
	text, _ := v.Number()
	return json.Number(text)
}

// set is what the camera was set to.
func (s *setUp) set(sh *shot, c *glance.ClipSummary) Set {
	clip := sh.clip
	out := Set{
		WhiteMode: clip.Text("whiteMode"), Kelvin: numberOf(clip.Value("kelvin")),
		Tint: numberOf(clip.Value("tint")), AmberBlue: numberOf(clip.Value("amberBlue")), Preset: clip.Text("preset"),
		Sensitivity: numberOf(clip.Value("sensitivity")), SensorRate: numberOf(clip.Value("sensorRate")),
		Shutter: clip.Text("shutter"), Lens: clip.Text("lens"), Filters: clip.Text("filters"),
		CustomFrom: clip.Ref("customFrom"), SettingsAre: cmp.Or(clip.Text("settingsAre"), "carriedOver"),
		RecordingMode: clip.Text("recordingMode"), LabelWhite: c.Setting.White, Problem: c.Problem,
	}
	if out.WhiteMode == "" && clip.Text("settingsAre") == "" {
		out.SettingsAre = "notReadOff"
	}
	if at, ok := clip.Time("readOffAt"); ok {
		t := at.Time()
		out.ReadOffAt = &t
	}
	if out.Problem == "" {
		out.Problem = strings.Join(c.Caveats, "; ")
	}
	for _, key := range clip.Keys("changes") {
		out.Changes = append(out.Changes, changeWords(clip.Value("changes/"+key)))
	}
	if sh.body.ID.IsZero() {
		return out
	}
	mode := out.RecordingMode
	if modes := sh.body.Keys("recordingModes"); mode == "" && len(modes) == 1 {
		mode = modes[0]
	}
	recorded := sh.body.Value("recordingModes/" + mode)
	if name, ok := recorded.Member("name").Text(); ok {
		out.RecordingMode = name
	}
	out.Encoding, _ = recorded.Member("encoding").Text()
	if out.Primaries, _ = recorded.Member("primaries").Text(); recorded.Member("primariesXY") != "" {
		out.Primaries = "typed"
	}
	out.WhiteInFile, _ = recorded.Member("white").Text()
	if name, ok := sh.body.Value("presets/" + out.Preset).Member("name").Text(); ok {
		out.Preset = name
	}
	return out
}

// changeWords says a change of white while rolling.
func changeWords(change logbook.Value) string {
	words := ""
	for _, part := range [...]struct{ member, before, after string }{
		{"timecode", "", ""}, {"whiteMode", "", ""}, {"kelvin", "", " K"}, {"preset", "", ""},
		{"tint", "tint ", ""}, {"amberBlue", "amber–blue ", ""},
	} {
		text, ok := change.Member(part.member).Text()
		if !ok {
			text, ok = change.Member(part.member).Number()
		}
		if ok {
			words += " " + part.before + text + part.after
		}
	}
	return words[min(1, len(words)):]
}
