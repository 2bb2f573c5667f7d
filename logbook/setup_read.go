package logbook

import (
	"sort"

	"evenwhite/colorimetry"
)

// A Reader reads several set-ups of one book, which must not change meanwhile: what
// holds for all of them is worked out once.
type Reader struct {
	book      *Book
	memo      *memo
	meters    map[meterPair]*MeterDifference
	remeasure float64 // minutes
}

func newReader(b *Book) *Reader {
	return &Reader{book: b, memo: newMemo(b), meters: map[meterPair]*MeterDifference{}, remeasure: remeasureAfter(b)}
}

// situation is a set-up read once, cut into periods of one white each.
type situation struct {
	reader   *Reader
	memo     *memo
	book     *Book
	now      Millis
	setUp    View
	scene    ID
	day      ID
	lights   []View
	readings []*Measurement
	takes    []View // by time
	times    map[ID]Millis
	clips    []View // that rolled, by time; tests left out
	cameras  []View
	periods  []*period
	current  *period
	byWhite  map[ID]*period
	whites   map[ID]View // of takes, once looked up
	spots    map[ID]spot // of clips, once looked up
	roles    map[string]Limits
	learnt   map[learntKey]*CameraError // by cards, once looked up
	cards    []*card                    // once looked up
	// reference is the camera that the others are matched to, limits those of
	// cameras.
	reference ID
	limits    Limits
}

// period is the time in which one white was in force: a chosen white does not
// judge the takes before it.
type period struct {
	white     View // none where no white applied
	inForce   WhiteInForce
	reference *Chromaticity
	origin    Origin
	problem   string // why there is no reference
	takes     []View
	upTo      Millis // readings up to here speak of it
	shot      bool   // something other than charts was recorded in it
	aims      map[ID]AimOf
}

func situationOf(b *Book, setUp View, now Millis) *situation { return newReader(b).read(setUp, now) }

// none stands for what belongs to no set-up.
func (r *Reader) none(now Millis) *situation {
	return &situation{reader: r, memo: r.memo, book: r.book, now: now}
}

func (r *Reader) read(setUp View, now Millis) *situation {
	b := r.book
	s := &situation{
		reader: r, memo: r.memo, book: b, now: now, setUp: setUp, scene: setUp.Ref("scene"), day: setUp.Ref("day"),
		lights: b.Referring(KindLight, "setUp", setUp.ID), readings: MeasurementsOf(b, setUp.ID),
		takes: b.Referring(KindTake, "setUp", setUp.ID), cameras: CamerasOf(b, setUp),
		byWhite: map[ID]*period{}, times: map[ID]Millis{},
		whites: map[ID]View{}, spots: map[ID]spot{}, roles: map[string]Limits{}, learnt: map[learntKey]*CameraError{},
		reference: setUp.Ref("referenceCamera"), limits: LimitsOf(b, setUp, "camera"),
	}
	if s.reference.IsZero() {
		s.reference = referenceAmong(s.cameras)
	}
	for _, clip := range b.Referring(KindClip, "setUp", setUp.ID) {
		if clip.Flag("rolled", true) && clip.Text("clipKind") != "test" {
			s.clips = append(s.clips, clip)
		}
	}
	sort.SliceStable(s.clips, func(i, j int) bool { return clipTime(s.clips[i]) < clipTime(s.clips[j]) })
	for _, take := range s.takes {
		s.times[take.ID] = TakeTime(b, take)
	}
	sort.SliceStable(s.takes, func(i, j int) bool { return s.times[s.takes[i].ID] < s.times[s.takes[j].ID] })
	for _, take := range s.takes {
		p := s.period(s.whiteOf(take))
		p.takes = append(p.takes, take)
		p.upTo = max(p.upTo, s.times[take.ID])
		p.shot = p.shot || take.Text("takeKind") != "chart"
	}
	for _, clip := range s.clips {
		p := s.periodOf(clip)
		p.shot = p.shot || !s.isChart(clip)
		if len(s.takesOf(clip)) == 0 {
			p.upTo = max(p.upTo, clipTime(clip))
		}
	}
	white, _ := WhiteAt(b, setUp.ID, now)
	s.current = s.period(white)
	s.current.upTo = ever
	return s
}

// period finds or begins the period of a white; the zero view is that of none.
func (s *situation) period(white View) *period {
	if p, ok := s.byWhite[white.ID]; ok {
		return p
	}
	p := &period{white: white, upTo: beginning, aims: map[ID]AimOf{}}
	s.byWhite[white.ID] = p
	s.periods = append(s.periods, p)
	if white.Known() {
		p.inForce = WhiteInForceOf(s.book, white)
		p.reference, p.origin, p.problem = p.inForce.Color, p.inForce.Origin, p.inForce.Problem
		return p
	}
	var err error
	if p.reference, p.origin, err = referenceWithoutWhite(s.resolver(), s.setUp, ever); err != nil {
		p.problem = err.Error()
	}
	return p
}

// resolver resolves with the readings of the set-up at hand.
func (s *situation) resolver() *resolver {
	r := newResolver(s.book)
	r.read[s.setUp.ID] = s.readings
	return r
}

// whiteOf is the white in force at a take.
func (s *situation) whiteOf(take View) View {
	white, ok := s.whites[take.ID]
	if !ok {
		white, _ = WhiteOfTake(s.book, take)
		s.whites[take.ID] = white
	}
	return white
}

// takesOf lists the takes that a clip contains, by time.
func (s *situation) takesOf(clip View) []View { return s.spotOf(clip).takes }

// spot is where a clip belongs.
type spot struct {
	takes  []View
	period *period
}

func (s *situation) spotOf(clip View) spot {
	at, ok := s.spots[clip.ID]
	if !ok {
		at.takes = s.namedBy(clip)
		at.period = s.periodBy(clip, at.takes)
		s.spots[clip.ID] = at
	}
	return at
}

func (s *situation) namedBy(clip View) (all []View) {
	named := map[ID]bool{}
	for _, key := range clip.Keys("takes") {
		if id, err := ParseID(key); err == nil {
			named[s.book.Resolve(id)] = true
		}
	}
	for _, take := range s.takes {
		if named[take.ID] {
			all = append(all, take)
		}
	}
	return all
}

func (s *situation) isChart(clip View) bool {
	chart := clip.Text("clipKind") == "chart"
	for _, take := range s.takesOf(clip) {
		chart = chart || take.Text("takeKind") == "chart"
	}
	return chart
}

// periodOf is the period of a clip: of its first take, else of its time.
func (s *situation) periodOf(clip View) *period { return s.spotOf(clip).period }

func (s *situation) periodBy(clip View, takes []View) *period {
	if len(takes) > 0 {
		return s.period(s.whiteOf(takes[0]))
	}
	white, _ := WhiteAt(s.book, s.setUp.ID, clipTime(clip))
	return s.period(white)
}

// aim is a camera's aim in a period; without a white there is none.
func (s *situation) aim(p *period, camera ID) AimOf {
	if a, ok := p.aims[camera]; ok {
		return a
	}
	a := AimOf{Camera: camera, IntendedCast: IntendedCast{From: "none"}, Problem: "no white was chosen"}
	if p.white.Known() {
		a = AimOfCamera(s.book, p.inForce, camera)
	}
	p.aims[camera] = a
	return a
}

// reading is the one that speaks of a light in a period.
func (s *situation) reading(p *period, light ID) *Measurement { return s.readingAt(p.upTo, light) }

func (s *situation) readingAt(at Millis, light ID) *Measurement {
	return latest(s.readings, at, func(m *Measurement) bool { return m.plain() && m.ofLight(light) })
}

// readingWithLux is the latest reading of a light at a position that a mix can count with.
func (s *situation) readingWithLux(light ID, position string, at Millis) *Measurement {
	return latest(s.readings, at, func(m *Measurement) bool {
		return m.plain() && m.ofLight(light) && m.Color != nil && m.IlluminanceLux != nil && m.Position == position
	})
}

// referenceAt is the reference light, else the mix, as last measured at a time.
func (s *situation) referenceAt(at Millis) (*Chromaticity, Origin, error) {
	return referenceWithoutWhite(s.resolver(), s.setUp, at)
}

// mixHere is the mix at the reference position, by all readings.
func (s *situation) mixHere() (position string, xy colorimetry.XY, o Origin, err error) {
	r, position := s.resolver(), s.setUp.Text("referencePosition")
	xy, err = r.mix(s.setUp.ID, position, ever)
	return position, xy, r.origin, err
}

// timeOf is when a take of the set-up was.
func (s *situation) timeOf(take View) Millis { return s.times[take.ID] }

// remeasureAfter is the age in minutes beyond which a reading is stale.
func (s *situation) remeasureAfter() float64 { return s.reader.remeasure }

// moments are the times at which readings are judged for their age: the takes,
// and now as long as somebody works here.
func (s *situation) moments() (all []moment) {
	for _, take := range s.takes {
		all = append(all, moment{s.times[take.ID], take})
	}
	if s.worked() {
		all = append(all, moment{at: s.now})
	}
	return all
}

// leftAfter is how long nothing happens in a set-up before it counts as left.
const leftAfter = Millis(12 * 60 * 60 * 1000)

// worked reports whether somebody works here: a set-up that was left, or whose day
// is closed, does not age.
func (s *situation) worked() bool {
	last := beginning
	for _, take := range s.takes {
		last = max(last, s.times[take.ID])
	}
	for _, m := range s.readings {
		last = max(last, m.TakenAt)
	}
	day, ok := s.book.RecordOf(KindDay, s.day)
	return !(ok && day.Flag("closed", false)) && s.now-last <= leftAfter
}

type moment struct {
	at   Millis
	take View // none: now
}

func remeasureAfter(b *Book) float64 {
	if p, ok := production(b); ok {
		if f, ok := p.Number("remeasureAfterMinutes"); ok {
			return f
		}
	}
	return 90
}
