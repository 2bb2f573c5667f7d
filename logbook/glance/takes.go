package glance

import (
	"slices"
	"sort"
	"strings"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/cameras"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
	"evenwhite/logbook/setup"
)

// A SetUpLine is a set-up in a list.
type SetUpLine struct {
	SetUp logbook.ID `json:"setUp"`
	Name  string     `json:"name"` // with the scene's: "44 A"
	Scene logbook.ID `json:"scene,omitzero"`
	Day   logbook.ID `json:"day,omitzero"`
	Date  string     `json:"date,omitempty"`
	Place string     `json:"place,omitempty"`
	// Takes counts those that are footage, two records of one number once; Last is when the
	// last of all takes was, else when the set-up was made.
	Takes int       `json:"takes"`
	Last  time.Time `json:"last"`
}

// SetUps lists the set-ups of a day, or of all days where it is zero, the latest first.
func SetUps(b *logbook.Book, day logbook.ID) []SetUpLine {
	of := b.Records(kinds.SetUp)
	if !day.IsZero() {
		of = b.Referring(kinds.SetUp, "day", day)
	}
	all := make([]SetUpLine, 0, len(of))
	for _, v := range of {
		l := SetUpLine{SetUp: v.ID, Name: lighting.SetUpName(b, v), Scene: v.Ref("scene"), Day: v.Ref("day"), Date: lighting.DateOf(b, v.ID),
			Place: v.Text("place"), Last: v.CreatedAt().Time()}
		var footage []logbook.View
		for _, take := range b.Referring(kinds.Take, "setUp", v.ID) {
			if at := lighting.TakeTime(b, take).Time(); at.After(l.Last) {
				l.Last = at
			}
			if lighting.IsTake(take) {
				footage = append(footage, take)
			}
		}
		l.Takes = len(lighting.TakeLabels(footage))
		all = append(all, l)
	}
	sort.SliceStable(all, func(i, j int) bool {
		x, y := &all[i], &all[j]
		if x.Date != y.Date {
			return x.Date > y.Date
		}
		return x.Last.After(y.Last)
	})
	return all
}

// A TakeLine is a take in a list, or clips that are in no take: a chart, a false start.
type TakeLine struct {
	SetUp  logbook.ID `json:"setUp"`
	Take   logbook.ID `json:"take,omitzero"`
	Name   string     `json:"name"` // "take 3", "chart"
	Kind   string     `json:"kind"`
	State  string     `json:"state,omitempty"`
	Wanted bool       `json:"wanted,omitempty"`
	At     time.Time  `json:"at"`
	Clips  []ClipLine `json:"clips"`
	// Off are the kinds of what is off in it and accepted by nobody, each once, the worst first.
	Off    []string `json:"off"`
	moment logbook.Millis
}

// A ClipLine is one clip of a take.
type ClipLine struct {
	Clip        logbook.ID      `json:"clip"`
	Camera      logbook.ID      `json:"camera"`
	Letter      string          `json:"letter"`
	Name        string          `json:"name,omitempty"`
	Card        string          `json:"card,omitempty"`
	Setting     cameras.Dialled `json:"setting"`
	SettingsAre string          `json:"settingsAre"`
	ReadOffAt   *time.Time      `json:"readOffAt,omitempty"`
	Timecode    *Timecode       `json:"timecode,omitempty"`
	// Verdict is that of Judged, on the clip's setting against its aim.
	Verdict string             `json:"verdict,omitempty"`
	Times   *float64           `json:"times,omitempty"`
	OffAim  *figure.Difference `json:"offAim,omitempty"`
}

// A TakeFilter says which takes are listed: those that fit all of it.
type TakeFilter struct {
	Camera logbook.ID // zero: all
	Clip   string     // the beginning of a clip's name, in any case
	Off    string     // a kind of deviation; "any": whatever is off
}

// TakesOf lists the takes of a set-up, and its clips that are in none, the latest first.
func TakesOf(r *Summarizer, setUp logbook.View, only TakeFilter) []TakeLine {
	t := r.Summarize(setUp)
	lines, order := map[logbook.ID]*TakeLine{}, []*TakeLine{}
	for _, take := range t.s.Takes() {
		at := t.s.TimeOf(take)
		l := &TakeLine{SetUp: setUp.ID, Take: take.ID, Name: lighting.TakeName(take), Kind: orElse(take.Text("takeKind"), "take"),
			State: take.Text("state"), Wanted: take.Flag("wanted", false), At: at.Time(), moment: at, Clips: []ClipLine{}}
		lines[take.ID], order = l, append(order, l)
	}
	for _, clip := range t.s.Clips() {
		line := t.clipLine(clip)
		takes := t.s.TakesOf(clip)
		for _, take := range takes {
			if l := lines[take.ID]; l != nil {
				l.Clips = append(l.Clips, line)
			}
		}
		if len(takes) == 0 {
			at := t.s.MomentOf(clip)
			kind := orElse(clip.Text("clipKind"), "take")
			l := &TakeLine{SetUp: setUp.ID, Name: kind, Kind: kind, At: at.Time(), moment: at, Clips: []ClipLine{line}}
			lines[clip.ID], order = l, append(order, l)
		}
	}
	t.markOff(lines)
	out := []TakeLine{}
	sort.SliceStable(order, func(i, j int) bool { return order[i].moment > order[j].moment })
	for _, l := range order {
		sort.SliceStable(l.Clips, func(i, j int) bool { return l.Clips[i].Letter < l.Clips[j].Letter })
		if l.fits(only) {
			out = append(out, *l)
		}
	}
	return out
}

func orElse(text, absent string) string {
	if text == "" {
		return absent
	}
	return text
}

func (l *TakeLine) fits(only TakeFilter) bool {
	named := func(c ClipLine) bool {
		return (only.Camera.IsZero() || c.Camera == only.Camera) && strings.HasPrefix(strings.ToLower(c.Name), strings.ToLower(only.Clip))
	}
	if (!only.Camera.IsZero() || only.Clip != "") && !slices.ContainsFunc(l.Clips, named) {
		return false
	}
	return only.Off == "" || only.Off == "any" && len(l.Off) > 0 || slices.Contains(l.Off, only.Off)
}

// markOff notes in each line what is off in it.
func (t *SetUpSummary) markOff(lines map[logbook.ID]*TakeLine) {
	for _, l := range lines {
		l.Off = []string{}
	}
	for _, d := range t.deviations { // the worst first
		if d.Accepted != nil {
			continue
		}
		for _, id := range append(slices.Clone(d.Takes), d.Clips...) {
			if l := lines[id]; l != nil && !slices.Contains(l.Off, d.Kind) {
				l.Off = append(l.Off, d.Kind)
			}
		}
	}
}

func (t *SetUpSummary) clipLine(clip logbook.View) ClipLine {
	b := t.s.Book()
	body, _ := b.RecordOf(kinds.Body, clip.Ref("body"))
	camera, _ := b.RecordOf(kinds.Camera, clip.Ref("camera"))
	label := t.s.Memo().Label(cameras.ClipSetting(clip), body)
	name, _ := clip.Value("name").Member("text").Text()
	l := ClipLine{Clip: clip.ID, Camera: camera.ID, Letter: camera.Text("letter"), Name: name, Card: clip.Text("card"),
		Setting: label.Dialled, SettingsAre: orElse(clip.Text("settingsAre"), "carriedOver"), Timecode: timecodeOf(clip)}
	if at, ok := clip.Time("readOffAt"); ok {
		when := at.Time()
		l.ReadOffAt = &when
	}
	p := t.s.PeriodOf(clip)
	if sh := t.first[clip.ID]; sh != nil {
		if off := t.s.OffAim(p, clip.Ref("camera"), sh.Possible()); len(off) > 0 {
			l.judge(t.s.SetUp, off)
		}
	}
	return l
}

func (l *ClipLine) judge(s *setup.SetUp, off []figure.Difference) {
	j := s.Limits().Judge(off)
	if l.Verdict = figure.VerdictWords[j.Verdict]; j.Verdict == figure.CantTell {
		return
	}
	times := s.Limits().Times(j.Least)
	l.OffAim, l.Times = &j.Least, &times
}
