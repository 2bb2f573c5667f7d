package glance

import (
	"cmp"
	"iter"
	"math"
	"slices"
	"strconv"
	"strings"

	"evenwhite/logbook"
	"evenwhite/logbook/deviation"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
	"evenwhite/logbook/timecode"
)

// ClipQuery says which clips are wanted; what is empty asks nothing.
type ClipQuery struct {
	Name   string // a clip name; * stands for any letters and ? for one
	Camera string // letter
	Card   string
	Scene  string // its name
	Take   string // number and suffix
	Day    logbook.ID
	SetUp  logbook.ID
	// From and To are timecodes: a clip is wanted that holds any frame between them. Without To it is
	// the one frame. At the rate of each clip.
	From, To  string
	Deviation string // a kind of deviation that lists it
	Least     string // how large a deviation that lists it is at least there: "8 mired", "4 steps" or "0.003 Duv"
}

// AsksWhatIsOff reports whether what is off must be known for the answer: all of Scope.
func (q ClipQuery) AsksWhatIsOff() bool { return q.Deviation != "" || q.Least != "" }

// Scope is where the clips are looked for.
func (q ClipQuery) Scope() deviation.Scope { return deviation.Scope{SetUp: q.SetUp, Day: q.Day} }

// A ClipList has the clips that a query wants, by time, then by camera.
type ClipList struct {
	Clips []ListedClip `json:"clips"`
	More  int          `json:"more,omitempty"` // how many were found beside those listed
}

// A ListedClip says which clip it is, and where its row is to be found.
type ListedClip struct {
	Clip    logbook.ID `json:"clip"`
	Name    string     `json:"name,omitempty"`
	Camera  string     `json:"camera,omitempty"` // letter
	Card    string     `json:"card,omitempty"`
	Day     string     `json:"day,omitempty"` // number
	Scene   string     `json:"scene,omitempty"`
	SetUp   string     `json:"setUp,omitempty"` // name
	SetUpID logbook.ID `json:"setUpRecord,omitzero"`
	Takes   []string   `json:"takes,omitempty"` // number and suffix
	Start   string     `json:"timecodeStart,omitempty"`
	End     string     `json:"timecodeEnd,omitempty"` // as logged
	// AfterClosing: something that its row of the colour log rests on was entered after its day was closed.
	AfterClosing bool `json:"afterClosing,omitempty"`
}

// mostFound is how many clips an answer lists.
const mostFound = 500

// SearchClips finds the clips that a query wants. An error says what cannot be asked. The clips at which
// something is off in the scope of the query are asked for where the query does.
func SearchClips(b *logbook.Book, q ClipQuery, off [][]deviation.OffClip) (ClipList, error) {
	f := &clipFinder{ClipQuery: q, book: b, letters: map[logbook.ID]string{}, places: map[logbook.ID]*clipPlace{}}
	if err := f.check(); err != nil {
		return ClipList{}, err
	}
	wanted := f.wanted(off)
	slices.SortFunc(wanted, func(a, c wantedClip) int {
		if by := cmp.Or(cmp.Compare(a.startedAt, c.startedAt), cmp.Compare(a.letter, c.letter)); by != 0 {
			return by
		}
		return logbook.ByPlace(f.clip(a.id), f.clip(c.id))
	})
	found := ClipList{}
	if more := len(wanted) - mostFound; more > 0 {
		wanted, found.More = wanted[:mostFound], more
	}
	found.Clips = make([]ListedClip, len(wanted))
	late := lateFinder{book: b, setUps: map[logbook.ID]*Closed{}}
	for i, w := range wanted {
		clip := f.clip(w.id)
		found.Clips[i] = f.listed(clip, w.letter)
		found.Clips[i].AfterClosing = late.late(clip, f.takesOf(clip))
	}
	return found, nil
}

// SearchClipsAnew is SearchClips where nobody keeps what is off.
func SearchClipsAnew(from logbook.Lender, q ClipQuery, now logbook.Millis) (found ClipList, err error) {
	from.Read(func(b *logbook.Book) { found, err = SearchClips(b, q, nil) }) // what cannot be asked is said at once
	if err != nil || !q.AsksWhatIsOff() {
		return found, err
	}
	off := deviation.OffClips(from, q.Scope(), now)
	from.Read(func(b *logbook.Book) { found, err = SearchClips(b, q, off) })
	return found, err
}

type clipFinder struct {
	ClipQuery
	book    *logbook.Book
	rate    string // of the production
	drop    bool
	letters map[logbook.ID]string
	places  map[logbook.ID]*clipPlace
	next    map[logbook.ID]string // of clips without an end: where the next one of the body begins
	least   float64
	unit    string // of least
}

// wantedClip is a clip with what it is put in order by.
type wantedClip struct {
	id        logbook.ID
	startedAt logbook.Millis
	letter    string
}

// wanted are the clips that are all of what is asked, in no order. Where it is asked what is off, a
// clip itself is looked at only if something else is asked too.
func (f *clipFinder) wanted(off [][]deviation.OffClip) (all []wantedClip) {
	if !f.AsksWhatIsOff() {
		for clip := range f.candidates() {
			if f.wants(clip) {
				all = append(all, wantedClip{clip.ID, lighting.ClipTime(clip), f.letter(clip.Ref("camera"))})
			}
		}
		return all
	}
	beside := f.ClipQuery
	beside.Deviation, beside.Least, beside.SetUp = "", "", logbook.ID{}
	if f.SetUp.IsZero() {
		beside.Day = logbook.ID{}
	}
	for _, setUp := range off {
		for i := range setUp {
			c := &setUp[i]
			if f.isOff(c) && (beside == ClipQuery{} || f.wants(f.clip(c.Clip))) {
				all = append(all, wantedClip{c.Clip, c.At, f.letter(c.Camera)})
			}
		}
	}
	return all
}

func (f *clipFinder) clip(id logbook.ID) logbook.View {
	v, _ := f.book.RecordOf(kinds.Clip, id)
	return v
}

// clipPlace is what the clips of a set-up share.
type clipPlace struct {
	name, scene, day string
	dayID            logbook.ID
}

func (f *clipFinder) check() error {
	if p, ok := f.book.RecordOf(kinds.Production, f.book.Production()); ok {
		f.rate, f.drop = p.Text("frameRate"), p.Flag("dropFrame", false)
	}
	wrong := func(field, value, allowed string) error {
		return &logbook.FieldError{Kind: kinds.Clip, Field: field, Value: logbook.TextValue(value), Allowed: allowed}
	}
	if f.To != "" && f.From == "" {
		return wrong("timecodeTo", f.To, "together with timecodeFrom")
	}
	for _, c := range []struct{ field, text string }{{"timecodeFrom", f.From}, {"timecodeTo", f.To}} {
		if c.text != "" && !timecode.Anywhere(c.text) {
			return wrong(c.field, c.text, "a timecode hh:mm:ss:ff that is at some rate")
		}
	}
	if f.Deviation != "" && !slices.ContainsFunc(deviation.Kinds, func(k string) bool { return k == f.Deviation }) {
		return wrong("deviation", f.Deviation, "a kind of deviation: "+strings.Join(deviation.Kinds, ", "))
	}
	if f.Least != "" && !f.readLeast() {
		return wrong("least", f.Least, "a number above 0 and its unit: mired, steps or Duv, as in 8 mired")
	}
	return nil
}

// candidates are the clips among which to look; they are put in order at the end.
func (f *clipFinder) candidates() iter.Seq[logbook.View] {
	of := func(setUps iter.Seq[logbook.ID]) iter.Seq[logbook.View] {
		return func(yield func(logbook.View) bool) {
			for setUp := range setUps {
				for _, clip := range f.book.Referring(kinds.Clip, "setUp", setUp) {
					if !yield(clip) {
						return
					}
				}
			}
		}
	}
	switch {
	case !f.SetUp.IsZero():
		return of(slices.Values([]logbook.ID{f.book.Resolve(f.SetUp)}))
	case !f.Day.IsZero():
		return of(func(yield func(logbook.ID) bool) {
			for _, setUp := range f.book.Referring(kinds.SetUp, "day", f.book.Resolve(f.Day)) {
				if !yield(setUp.ID) {
					return
				}
			}
		})
	}
	return f.book.From(kinds.Clip, logbook.Place{Made: logbook.Beginning}, false)
}

// wants looks at the cheapest first.
func (f *clipFinder) wants(clip logbook.View) bool {
	if f.Name != "" && !fits(f.Name, nameOf(clip)) || f.Card != "" && f.Card != clip.Text("card") ||
		f.Camera != "" && f.Camera != f.letter(clip.Ref("camera")) {
		return false
	}
	if f.Scene != "" || !f.Day.IsZero() {
		place := f.place(clip.Ref("setUp"))
		if f.Scene != "" && f.Scene != place.scene || !f.Day.IsZero() && place.dayID != f.book.Resolve(f.Day) {
			return false
		}
	}
	return (f.From == "" || f.holds(clip)) && (f.Take == "" || slices.Contains(f.takeNames(clip), f.Take))
}

func nameOf(clip logbook.View) string {
	name, _ := clip.Value("name").Member("text").Text()
	return name
}

func (f *clipFinder) listed(clip logbook.View, letter string) ListedClip {
	place := f.place(clip.Ref("setUp"))
	return ListedClip{
		Clip: clip.ID, Name: nameOf(clip), Camera: letter, Card: clip.Text("card"), Day: place.day, Scene: place.scene,
		SetUp: place.name, SetUpID: clip.Ref("setUp"), Takes: f.takeNames(clip),
		Start: clip.Text("timecode/start"), End: clip.Text("timecode/end"),
	}
}

// takeNames are number and suffix of each take of a clip.
func (f *clipFinder) takeNames(clip logbook.View) (all []string) {
	for _, id := range f.takesOf(clip) {
		take, _ := f.book.RecordOf(kinds.Take, id)
		number, _ := take.Value("number").Number()
		all = append(all, number+take.Text("suffix"))
	}
	return all
}

// takesOf are the takes of a clip that are in the log.
func (f *clipFinder) takesOf(clip logbook.View) (all []logbook.ID) {
	for _, key := range clip.Keys("takes") {
		if id, err := logbook.ParseID(key); err == nil {
			if take, ok := f.book.RecordOf(kinds.Take, id); ok {
				all = append(all, take.ID)
			}
		}
	}
	return all
}

func (f *clipFinder) letter(camera logbook.ID) string {
	letter, known := f.letters[camera]
	if !known {
		if v, ok := f.book.RecordOf(kinds.Camera, camera); ok {
			letter = v.Text("letter")
		}
		f.letters[camera] = letter
	}
	return letter
}

func (f *clipFinder) place(setUp logbook.ID) *clipPlace {
	p := f.places[setUp]
	if p != nil {
		return p
	}
	p = &clipPlace{}
	f.places[setUp] = p
	view, ok := f.book.RecordOf(kinds.SetUp, setUp)
	if !ok {
		return p
	}
	p.name = view.Text("name")
	if scene, ok := f.book.RecordOf(kinds.Scene, view.Ref("scene")); ok {
		p.scene = scene.Text("name")
	}
	if day, ok := f.book.RecordOf(kinds.Day, view.Ref("day")); ok {
		p.day, _ = day.Value("number").Number()
		p.dayID = day.ID
	}
	return p
}

// holds reports whether a clip holds a frame of what is asked for. One without an end goes on to where
// the next clip of its body begins; after the last one nobody knows, so that it is one frame.
func (f *clipFinder) holds(clip logbook.View) bool {
	start := clip.Text("timecode/start")
	if start == "" {
		return false
	}
	r, err := timecode.RateOf(cmp.Or(clip.Text("timecode/rate"), f.rate), clip.Flag("timecode/drop", f.drop))
	if err != nil {
		return false
	}
	from, asked, err := r.Span(f.From, cmp.Or(f.To, f.From))
	if err != nil {
		return false
	}
	end := clip.Text("timecode/end")
	if end == "" {
		end = cmp.Or(f.follows(clip), start)
	}
	begins, frames, err := r.Span(start, end)
	if err != nil {
		return false
	}
	// Either begins within the other, over midnight too.
	after := func(a, b int64) int64 { return ((a-b)%r.Day() + r.Day()) % r.Day() }
	return after(from, begins) <= frames || after(begins, from) <= asked
}

// follows is where the next clip of the body begins; "" after the last one.
func (f *clipFinder) follows(clip logbook.View) string {
	if f.next == nil {
		f.next = map[logbook.ID]string{}
		type begun struct {
			clip  logbook.ID
			at    logbook.Millis
			start string
		}
		of := map[logbook.ID][]begun{} // by body, mostly as they were shot
		for v := range f.book.From(kinds.Clip, logbook.Place{Made: logbook.Beginning}, false) {
			if start := v.Text("timecode/start"); start != "" {
				body := v.Ref("body")
				of[body] = append(of[body], begun{v.ID, lighting.ClipTime(v), start})
			}
		}
		for _, clips := range of {
			slices.SortStableFunc(clips, func(a, c begun) int { return cmp.Compare(a.at, c.at) })
			for i := range len(clips) - 1 {
				f.next[clips[i].clip] = clips[i+1].start
			}
		}
	}
	return f.next[clip.ID]
}

// readLeast takes apart "8 mired"; the space may be left out.
func (f *clipFinder) readLeast() bool {
	text := strings.TrimSpace(f.Least)
	end := strings.LastIndexAny(text, "0123456789.") + 1
	least, err := strconv.ParseFloat(text[:end], 64)
	f.least, f.unit = least, strings.ToLower(strings.TrimSpace(text[end:]))
	return err == nil && least > 0 && !math.IsInf(least, 1) && slices.Contains([]string{"mired", "steps", "duv"}, f.unit)
}

// isOff reports whether a clip is off by what is asked, and by as much.
func (f *clipFinder) isOff(c *deviation.OffClip) bool {
	for i := range c.By {
		if by := &c.By[i]; (f.Deviation == "" || by.Kind == f.Deviation) && f.isLarge(by) {
			return true
		}
	}
	return false
}

func (f *clipFinder) isLarge(by *deviation.OffBy) bool {
	switch f.unit {
	case "mired":
		return by.Mired >= f.least
	case "steps":
		return by.Steps >= f.least
	case "duv":
		return by.Duv >= f.least
	}
	return true
}

// fits reports whether a name is what a pattern says, in which * stands for any letters and ? for one.
func fits(pattern, name string) bool {
	p, n := []rune(pattern), []rune(name)
	star, from, at := -1, 0, 0
	for i := 0; i < len(n); {
		switch {
		case at < len(p) && p[at] == '*':
			star, from = at, i
			at++
		case at < len(p) && (p[at] == '?' || p[at] == n[i]):
			at++
			i++
		case star >= 0:
			from++
			i, at = from, star+1
		default:
			return false
		}
	}
	for at < len(p) && p[at] == '*' {
		at++
	}
	return at == len(p)
}
