package slate

import (
	"cmp"
	"strings"
	"sync"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
)

// shots keeps the clips of each camera and body in the orders in which the slate asks for
// them: the last by the moment at which it began, and all as they were made, to count
// names. Cameras and bodies go by the ids that stand in the clips: twins of them are few,
// and whoever asks looks at each.
type shots struct {
	mu      sync.Mutex // of what is counted while many read
	all     map[logbook.ID]*shot
	changed logbook.IDSet // clips that may be others than in all
	cameras map[logbook.ID][]*track
	bodies  map[logbook.ID]*roll
	days    map[logbook.ID]logbook.ID // of the set-ups, as it stands in them
	reads   map[logbook.ID]logbook.ID // the day as which a day reads
}

// shot is a clip that is not struck out.
type shot struct {
	place  logbook.Place
	moment logbook.Millis
	track  *track
}

func (s *shot) byMoment(other *shot) int {
	return cmp.Or(cmp.Compare(s.moment, other.moment), s.place.Compare(other.place))
}

// track is the clips of one camera with one body, by moment.
type track struct {
	camera logbook.ID
	roll   *roll
	shots  *logbook.Order[*shot]
}

// roll is the clips of one body as they were made, and how far they are counted.
type roll struct {
	body   logbook.ID
	tracks []*track
	shots  *logbook.Order[*shot]
	rule   logbook.Value
	marks  []mark
}

// mark is a counter behind a clip.
type mark struct {
	place   logbook.Place
	clips   int // up to it
	counter *clipCounter
}

// KeepShots keeps what the next take is made from.
var KeepShots = logbook.Keep{Name: "shots", Begin: func() logbook.Keeper {
	return &shots{all: map[logbook.ID]*shot{}, changed: logbook.IDSet{}, cameras: map[logbook.ID][]*track{}, bodies: map[logbook.ID]*roll{},
		days: map[logbook.ID]logbook.ID{}, reads: map[logbook.ID]logbook.ID{}}
}}

func shotsOf(b *logbook.Book) *shots {
	return b.Kept(KeepShots).(*shots)
}

// Change notes a clip and those of its takes, which may tell each other's moment; the clips
// of a take; what is counted by a set-up or a day.
func (x *shots) Change(apart logbook.View) {
	b := apart.Book()
	switch apart.Kind {
	case kinds.Clip:
		x.changed.Add(apart.ID)
		for name := range apart.Names() { // also where it is no more
			if id, ok := takeIn(name); ok {
				x.clipsOf(b, "takes", id)
			}
		}
	case kinds.Take:
		x.clipsOf(b, "takes", apart.ID)
	case kinds.SetUp:
		v, _ := b.RecordOf(kinds.SetUp, apart.ID)
		if day, _ := v.Value("day").ID(); x.days[apart.ID] != day { // by which names may be counted
			x.days[apart.ID] = day
			x.clipsOf(b, "setUp", apart.ID)
		}
	case kinds.Day:
		v, _ := b.RecordOf(kinds.Day, apart.ID)
		if x.reads[apart.ID] != v.ID {
			x.reads[apart.ID] = v.ID
			for _, setUp := range b.AllReferring(kinds.SetUp, "day", apart.ID) {
				x.clipsOf(b, "setUp", setUp.ID)
			}
		}
	}
}

// takeIn is the take that a field of a clip is about.
func takeIn(field string) (logbook.ID, bool) {
	key, ok := strings.CutPrefix(field, "takes/")
	if !ok {
		return logbook.ID{}, false
	}
	id, err := logbook.ParseID(key)
	return id, err == nil
}

func (x *shots) clipsOf(b *logbook.Book, field string, to logbook.ID) {
	for clip := range b.Pointing(kinds.Clip, field, to) {
		x.changed.Add(clip)
	}
}

// Look looks at clips that may be others now.
func (x *shots) Look(b *logbook.Book, most int) (done bool) {
	for id := range x.changed {
		if most--; most < 0 {
			return false
		}
		delete(x.changed, id)
		x.look(b, id)
	}
	return true
}

// look takes a clip out of where it was and puts it where it is.
func (x *shots) look(b *logbook.Book, id logbook.ID) {
	if old := x.all[id]; old != nil {
		old.track.shots.Remove(old)
		old.track.roll.shots.Remove(old)
		old.track.roll.forget(old.place)
		delete(x.all, id)
	}
	v, _ := b.RecordOf(kinds.Clip, id)
	if v.ID != id || v.Deleted() {
		return
	}
	camera, _ := v.Value("camera").ID()
	body, _ := v.Value("body").ID()
	s := &shot{v.Place(), momentOf(b, v), x.track(camera, body)}
	s.track.shots.Add(s)
	s.track.roll.shots.Add(s)
	s.track.roll.forget(s.place)
	x.all[id] = s
}

func (x *shots) track(camera, body logbook.ID) *track {
	r := x.bodies[body]
	if r == nil {
		r = &roll{body: body, shots: logbook.NewOrder(func(s, t *shot) int { return s.place.Compare(t.place) }, nil)}
		x.bodies[body] = r
	}
	for _, t := range r.tracks {
		if t.camera == camera {
			return t
		}
	}
	t := &track{camera, r, logbook.NewOrder((*shot).byMoment, nil)}
	r.tracks = append(r.tracks, t)
	x.cameras[camera] = append(x.cameras[camera], t)
	return t
}

// lastShot is the last clip up to a moment, of a camera or a body or both, where they are
// asked for.
func lastShot(b *logbook.Book, camera, body *logbook.ID, upTo logbook.Millis) (logbook.View, bool) {
	x := shotsOf(b)
	var tracks []*track
	if camera != nil {
		for _, id := range sameAs(b, *camera) {
			tracks = append(tracks, x.cameras[id]...)
		}
	} else {
		for _, id := range sameAs(b, *body) {
			if r := x.bodies[id]; r != nil {
				tracks = append(tracks, r.tracks...)
			}
		}
	}
	var last *shot
	for _, t := range tracks {
		if body != nil && b.Resolve(t.roll.body) != b.Resolve(*body) {
			continue
		}
		s, ok := t.shots.Before(func(s *shot) bool { return s.moment > upTo })
		if ok && (last == nil || last.byMoment(s) < 0) {
			last = s
		}
	}
	if last == nil {
		return logbook.View{}, false
	}
	return b.RecordOf(kinds.Clip, last.place.ID)
}

// sameAs are the ids of what reads as one with a record.
func sameAs(b *logbook.Book, id logbook.ID) []logbook.ID {
	if v, ok := b.Record(id); ok {
		return v.Members()
	}
	return []logbook.ID{id}
}

// apartMarks is how many clips lie between the marks that are kept.
const apartMarks = 1024

// countedOf is the counter behind all clips of a body; begun is that before all.
func countedOf(b *logbook.Book, body logbook.View, begun *clipCounter) *clipCounter {
	x := shotsOf(b)
	x.mu.Lock()
	defer x.mu.Unlock()
	r := x.bodies[body.ID]
	if r == nil {
		return begun
	}
	if rule := body.Value("clipNameRule"); rule != r.rule {
		r.rule, r.marks = rule, nil
	}
	last := mark{logbook.Place{Made: logbook.Beginning}, 0, begun}
	if n := len(r.marks); n > 0 {
		last = r.marks[n-1]
	}
	now := last
	now.counter = last.counter.clone()
	for s := range r.shots.From(func(s *shot) bool { return s.place.Compare(last.place) > 0 }) {
		clip, _ := b.RecordOf(kinds.Clip, s.place.ID)
		now.counter.count(clip)
		now.place, now.clips = s.place, now.clips+1
		if now.clips%apartMarks == 0 {
			r.mark(now)
		}
	}
	r.mark(now)
	return now.counter // marks keep their own
}

// mark keeps a counter, and lets go of the one before where that is near.
func (r *roll) mark(m mark) {
	m.counter = m.counter.clone()
	if n := len(r.marks); n > 0 && r.marks[n-1].clips%apartMarks != 0 {
		r.marks = r.marks[:n-1]
	}
	if n := len(r.marks); n == 0 || r.marks[n-1].place != m.place {
		r.marks = append(r.marks, m)
	}
}

// forget lets go of what was counted from a place on.
func (r *roll) forget(from logbook.Place) {
	n := len(r.marks)
	for n > 0 && r.marks[n-1].place.Compare(from) >= 0 {
		n--
	}
	r.marks = r.marks[:n]
}
