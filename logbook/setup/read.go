package setup

import (
	"sort"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/cameras"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
)

// A Reader reads several set-ups of one book, which must not change meanwhile: what
// holds for all of them is worked out once.
type Reader struct {
	book      *logbook.Book
	memo      *cameras.Memo
	meters    map[meterPair]*lighting.MeterDifference
	remeasure float64                                    // minutes
	named     map[logbook.ID]map[clipName][]logbook.View // by day
}

func NewReader(b *logbook.Book) *Reader {
	return &Reader{book: b, memo: cameras.NewMemo(b), meters: map[meterPair]*lighting.MeterDifference{}, remeasure: remeasureAfter(b),
		named: map[logbook.ID]map[clipName][]logbook.View{}}
}

// SetUp is a set-up read once, cut into periods of one white each.
type SetUp struct {
	reader   *Reader
	memo     *cameras.Memo
	book     *logbook.Book
	now      logbook.Millis
	setUp    logbook.View
	scene    logbook.ID
	day      logbook.ID
	lights   []logbook.View
	readings []*lighting.Reading
	takes    []logbook.View // by time
	times    map[logbook.ID]logbook.Millis
	clips    []logbook.View // that rolled, by time; tests left out
	cameras  []logbook.View
	periods  []*Period
	current  *Period
	byWhites map[string]*Period // by all that count
	history  *history
	resolved map[logbook.ID]White          // whites, once resolved
	whites   map[logbook.ID][]logbook.View // of takes, once looked up: all that count
	spots    map[logbook.ID]spot           // of clips, once looked up
	alike    map[[2]logbook.ID]bool        // of whites, once looked up
	roles    map[string]figure.Limits
	learnt   map[clipLesson]*cameras.Error // by cards, once looked up
	cards    []*cameras.Card               // once looked up
	// clipLights are of clips, once looked up.
	clipLights map[logbook.ID]ClipLight
	// reference is the camera that the others are matched to, limits those of
	// cameras.
	reference logbook.ID
	limits    figure.Limits
}

// Period is the time in which one white was in force: a chosen white does not
// judge the takes before it. Where whites were chosen apart, it is the one that is shown.
type Period struct {
	White     logbook.View // none where no white applied
	InForce   White
	Contested []White // the others that count and can be told apart
	Reference *figure.Chromaticity
	Origin    figure.Origin
	Problem   string // why there is no reference
	Takes     []logbook.View
	UpTo      logbook.Millis // readings up to here speak of it
	Recorded  bool           // something other than charts was recorded in it
	aims      map[logbook.ID]Aim
}

func Read(b *logbook.Book, setUp logbook.View, now logbook.Millis) *SetUp {
	return NewReader(b).Read(setUp, now)
}

// None stands for what belongs to no set-up.
func (r *Reader) None(now logbook.Millis) *SetUp {
	return &SetUp{reader: r, memo: r.memo, book: r.book, now: now, alike: map[[2]logbook.ID]bool{}}
}

func (r *Reader) Read(setUp logbook.View, now logbook.Millis) *SetUp {
	b := r.book
	s := &SetUp{
		reader: r, memo: r.memo, book: b, now: now, setUp: setUp, scene: setUp.Ref("scene"), day: setUp.Ref("day"),
		lights: b.Referring(kinds.Light, "setUp", setUp.ID), readings: lighting.ReadingsOf(b, setUp.ID),
		takes: b.Referring(kinds.Take, "setUp", setUp.ID), cameras: cameras.InUse(b, setUp),
		byWhites: map[string]*Period{}, resolved: map[logbook.ID]White{}, times: map[logbook.ID]logbook.Millis{},
		whites: map[logbook.ID][]logbook.View{}, spots: map[logbook.ID]spot{}, alike: map[[2]logbook.ID]bool{},
		roles: map[string]figure.Limits{}, learnt: map[clipLesson]*cameras.Error{}, clipLights: map[logbook.ID]ClipLight{},
		reference: setUp.Ref("referenceCamera"), limits: LimitsOf(b, setUp, "camera"),
	}
	if s.reference.IsZero() {
		s.reference = cameras.ReferenceAmong(s.cameras)
	}
	for _, clip := range b.Referring(kinds.Clip, "setUp", setUp.ID) {
		if clip.Flag("rolled", true) && clip.Text("clipKind") != "test" {
			s.clips = append(s.clips, clip)
		}
	}
	sort.SliceStable(s.clips, func(i, j int) bool { return lighting.ClipTime(s.clips[i]) < lighting.ClipTime(s.clips[j]) })
	for _, take := range s.takes {
		s.times[take.ID] = lighting.TakeTime(b, take)
	}
	sort.SliceStable(s.takes, func(i, j int) bool { return s.times[s.takes[i].ID] < s.times[s.takes[j].ID] })
	s.history = historyOf(b, WhitesOf(b, setUp.ID), s.takes, s.TimeOf, s.colour)
	for _, take := range s.takes {
		p := s.PeriodOfTake(take)
		p.Takes = append(p.Takes, take)
		p.UpTo = max(p.UpTo, s.times[take.ID])
		p.Recorded = p.Recorded || take.Text("takeKind") != "chart"
	}
	for _, clip := range s.clips {
		p := s.PeriodOf(clip)
		p.Recorded = p.Recorded || !s.IsChart(clip)
		if len(s.TakesOf(clip)) == 0 {
			p.UpTo = max(p.UpTo, lighting.ClipTime(clip))
		}
	}
	s.current = s.period(s.history.apart(s.history.count(s.history.coming(now))))
	s.current.UpTo = logbook.Ever
	return s
}

// period finds or begins the period of the whites that count, the one that is shown first;
// of none where there is none.
func (s *SetUp) period(whites []logbook.View) *Period {
	key := ""
	for _, v := range whites {
		key += v.ID.String()
	}
	if p, ok := s.byWhites[key]; ok {
		return p
	}
	p := &Period{UpTo: logbook.Beginning, aims: map[logbook.ID]Aim{}}
	s.byWhites[key] = p
	s.periods = append(s.periods, p)
	if len(whites) > 0 {
		p.White, p.InForce = whites[0], s.colour(whites[0])
		for _, v := range whites[1:] {
			p.Contested = append(p.Contested, s.colour(v))
		}
		p.InForce.contest(s.book, p.Contested)
		p.Reference, p.Origin, p.Problem = p.InForce.Color, p.InForce.Origin, p.InForce.Problem
		return p
	}
	var err error
	if p.Reference, p.Origin, err = referenceWithoutWhite(s.resolver(), s.setUp, logbook.Ever); err != nil {
		p.Problem = err.Error()
	}
	return p
}

// resolver resolves with the readings of the set-up at hand.
func (s *SetUp) resolver() *resolver {
	r := newResolver(s.book)
	r.memo[s.setUp.ID] = s.readings
	return r
}

// colour resolves a white, once.
func (s *SetUp) colour(white logbook.View) White {
	w, ok := s.resolved[white.ID]
	if !ok {
		w = WhiteOf(s.book, white)
		s.resolved[white.ID] = w
	}
	return w
}

// whitesOf are the whites that count at a take, the one that is shown first.
func (s *SetUp) whitesOf(take logbook.View) []logbook.View {
	whites, ok := s.whites[take.ID]
	if !ok {
		whites = s.history.apart(s.history.count(spotOfTake(take, s.times[take.ID])))
		s.whites[take.ID] = whites
	}
	return whites
}

// PeriodOfTake is the period of a take of the set-up.
func (s *SetUp) PeriodOfTake(take logbook.View) *Period { return s.period(s.whitesOf(take)) }

// TakesOf lists the takes that a clip contains, by time.
func (s *SetUp) TakesOf(clip logbook.View) []logbook.View { return s.spotOf(clip).takes }

// spot is where a clip belongs.
type spot struct {
	takes  []logbook.View
	period *Period
}

func (s *SetUp) spotOf(clip logbook.View) spot {
	at, ok := s.spots[clip.ID]
	if !ok {
		at.takes = s.namedBy(clip)
		at.period = s.periodBy(clip, at.takes)
		s.spots[clip.ID] = at
	}
	return at
}

func (s *SetUp) namedBy(clip logbook.View) (all []logbook.View) {
	named := map[logbook.ID]bool{}
	for _, key := range clip.Keys("takes") {
		if id, err := logbook.ParseID(key); err == nil {
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

func (s *SetUp) IsChart(clip logbook.View) bool {
	chart := clip.Text("clipKind") == "chart"
	for _, take := range s.TakesOf(clip) {
		chart = chart || take.Text("takeKind") == "chart"
	}
	return chart
}

// PeriodOf is the period of a clip: of its first take, else of its time.
func (s *SetUp) PeriodOf(clip logbook.View) *Period { return s.spotOf(clip).period }

func (s *SetUp) periodBy(clip logbook.View, takes []logbook.View) *Period {
	if len(takes) > 0 {
		return s.PeriodOfTake(takes[0])
	}
	return s.period(s.history.apart(s.history.count(whiteSpot{at: lighting.ClipTime(clip)})))
}

// Aim is a camera's aim in a period; without a white there is none.
func (s *SetUp) Aim(p *Period, camera logbook.ID) Aim {
	if a, ok := p.aims[camera]; ok {
		return a
	}
	a := Aim{Camera: camera, IntendedCast: figure.IntendedCast{From: "none"}, Problem: "no white was chosen"}
	if p.White.Known() {
		a = AimFor(s.book, p.InForce, camera)
	}
	p.aims[camera] = a
	return a
}

// Reading is the one that speaks of a light in a period.
func (s *SetUp) Reading(p *Period, light logbook.ID) *lighting.Reading {
	return s.ReadingAt(p.UpTo, light)
}

func (s *SetUp) ReadingAt(at logbook.Millis, light logbook.ID) *lighting.Reading {
	return lighting.Latest(s.readings, at, func(m *lighting.Reading) bool { return m.Plain() && m.OfLight(light) })
}

// ReadingWithLux is the latest reading of a light at a position that a mix can count with.
func (s *SetUp) ReadingWithLux(light logbook.ID, position string, at logbook.Millis) *lighting.Reading {
	return lighting.Latest(s.readings, at, func(m *lighting.Reading) bool {
		return m.Plain() && m.OfLight(light) && m.Color != nil && m.IlluminanceLux != nil && m.Position == position
	})
}

// ReferenceAt is the reference light, else the mix, as last measured at a time.
func (s *SetUp) ReferenceAt(at logbook.Millis) (*figure.Chromaticity, figure.Origin, error) {
	return referenceWithoutWhite(s.resolver(), s.setUp, at)
}

// MixHere is the mix at the reference position, by all readings.
func (s *SetUp) MixHere() (position string, xy colorimetry.XY, o figure.Origin, err error) {
	r, position := s.resolver(), s.setUp.Text("referencePosition")
	xy, err = r.mix(s.setUp.ID, position, logbook.Ever)
	return position, xy, r.origin, err
}

// TimeOf is when a take of the set-up was.
func (s *SetUp) TimeOf(take logbook.View) logbook.Millis { return s.times[take.ID] }

// RemeasureAfter is the age in minutes beyond which a reading is stale.
func (s *SetUp) RemeasureAfter() float64 { return s.reader.remeasure }

// Moments are the times at which readings are judged for their age: the takes,
// and now as long as somebody works here.
func (s *SetUp) Moments() (all []Moment) {
	for _, take := range s.takes {
		all = append(all, Moment{s.times[take.ID], take})
	}
	if s.Worked() {
		all = append(all, Moment{At: s.now})
	}
	return all
}

// leftAfter is how long nothing happens in a set-up before it counts as left.
const leftAfter = logbook.Millis(12 * 60 * 60 * 1000)

// Worked reports whether somebody works here: a set-up that was left, or whose day
// is closed, does not age.
func (s *SetUp) Worked() bool {
	last := logbook.Beginning
	for _, take := range s.takes {
		last = max(last, s.times[take.ID])
	}
	for _, m := range s.readings {
		last = max(last, m.TakenAt)
	}
	day, ok := s.book.RecordOf(kinds.Day, s.day)
	return !(ok && day.Flag("closed", false)) && s.now-last <= leftAfter
}

// Moment is a time at which readings are judged.
type Moment struct {
	At   logbook.Millis
	Take logbook.View // none: now
}

func remeasureAfter(b *logbook.Book) float64 {
	if p, ok := lighting.ProductionOf(b); ok {
		if f, ok := p.Number("remeasureAfterMinutes"); ok {
			return f
		}
	}
	return 90
}
