package setup

import (
	"fmt"
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
	meters    map[meterPair]logbook.Rested[*lighting.MeterDifference]
	lastClips map[logbook.ID]logbook.Rested[map[logbook.ID]logbook.Millis] // of the set-ups of a day
	named     map[logbook.ID]logbook.Rested[map[clipName][]logbook.View]   // by day
	byClock   bool
	leans     Leans
}

// ByClock reports whether something that was asked since it was last asked depends on the time
// by the wall clock.
func (r *Reader) ByClock() bool {
	was := r.byClock
	r.byClock = false
	return was
}

// Book is the book that it reads.
func (r *Reader) Book() *logbook.Book { return r.book }

func NewReader(b *logbook.Book) *Reader {
	return &Reader{book: b, memo: cameras.NewMemo(b), meters: map[meterPair]logbook.Rested[*lighting.MeterDifference]{},
		lastClips: map[logbook.ID]logbook.Rested[map[logbook.ID]logbook.Millis]{},
		named:     map[logbook.ID]logbook.Rested[map[clipName][]logbook.View]{}}
}

// SetUp is a set-up read once, cut into periods of one white each.
type SetUp struct {
	*Measured
	reader   *Reader
	memo     *cameras.Memo
	now      logbook.Millis // by the wall clock: for ages and forecasts alone
	upTo     logbook.Millis // what is in the book up to here is asked: Ever, or the wrap
	scene    logbook.ID
	day      logbook.ID
	takes    []logbook.View // by time
	times    map[logbook.ID]logbook.Millis
	clips    []logbook.View // that rolled, by time; tests left out
	cameras  []logbook.View
	periods  []*Period
	current  *Period
	byWhites map[string]*Period         // by all that count
	unwhite  map[logbook.Millis]*Period // without a white, at moments, once looked up
	history  *history
	resolved map[logbook.ID]White          // whites, once resolved
	whites   map[logbook.ID][]logbook.View // of takes, once looked up: all that count
	spots    map[logbook.ID]spot           // of clips, once looked up
	alike    map[[2]logbook.ID]bool        // of whites, once looked up
	learnt   map[clipLesson]*cameras.Error // by cards, once looked up
	families map[string]string             // by the records of an origin, once looked up
	stands   map[logbook.ID]Standing       // of cameras, once looked up
	// cards and codedCards are those that were shot here, once looked up.
	cards, codedCards []*cameras.Card
	cardsSeen         bool
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
	Recorded  bool // something other than charts was recorded in it
	aims      map[logbook.ID]Aim
	byEach    map[logbook.ID][]Aim // by each white that counts, once looked up
}

// Read reads a set-up as it is now: by all that is in the book.
func Read(b *logbook.Book, setUp logbook.View, now logbook.Millis) *SetUp {
	return NewReader(b).Read(setUp, now)
}

// None stands for what belongs to no set-up.
func (r *Reader) None(now logbook.Millis) *SetUp {
	return &SetUp{Measured: measuredBy(r.book, logbook.View{}, nil, nil, nil), reader: r, memo: r.memo, now: now,
		alike: map[[2]logbook.ID]bool{}}
}

// Read reads a set-up as it is now: by all that is in the book.
func (r *Reader) Read(setUp logbook.View, now logbook.Millis) *SetUp {
	s := r.read(setUp, now)
	s.asOf(logbook.Ever)
	return s
}

// ReadToWrap reads a set-up as it was at its last clip, once it was wrapped; until then as it
// is now.
func (r *Reader) ReadToWrap(setUp logbook.View, now logbook.Millis) *SetUp {
	s, moment := r.read(setUp, now), logbook.Ever
	if at, wrapped := s.wrap(); wrapped {
		moment = at
	}
	s.asOf(moment)
	return s
}

// ReadAsLeft is ReadToWrap of a set-up in which something was read or shot. Nobody left one that
// is only planned: it is read as it is now, however long nothing was entered.
func (r *Reader) ReadAsLeft(setUp logbook.View, now logbook.Millis) *SetUp {
	s := r.ReadToWrap(setUp, now)
	if len(s.readings)+len(s.takes)+len(s.clips) == 0 && !s.Worked() {
		return r.Read(setUp, now)
	}
	return s
}

// ReadForRows reads a set-up as it was at its last clip, wrapped or not: what is said of
// clips does not depend on when it is asked.
func (r *Reader) ReadForRows(setUp logbook.View) *SetUp {
	s := r.read(setUp, logbook.Beginning)
	at, _ := s.wrap()
	s.now = at
	for _, t := range s.times { // of a series that rolled on after the last clip had begun
		s.now = max(s.now, t)
	}
	s.asOf(at)
	return s
}

func (r *Reader) read(setUp logbook.View, now logbook.Millis) *SetUp {
	b := r.book
	takes := b.Referring(kinds.Take, "setUp", setUp.ID)
	s := &SetUp{
		reader: r, memo: r.memo, now: now, scene: setUp.Ref("scene"), day: setUp.Ref("day"),
		takes: takes, cameras: cameras.InUse(b, setUp), times: takeMoments(b, takes),
		byWhites: map[string]*Period{}, unwhite: map[logbook.Millis]*Period{},
		resolved: map[logbook.ID]White{}, whites: map[logbook.ID][]logbook.View{},
		spots: map[logbook.ID]spot{}, clipLights: map[logbook.ID]ClipLight{}, families: map[string]string{},
		alike: map[[2]logbook.ID]bool{}, learnt: map[clipLesson]*cameras.Error{},
		reference: setUp.Ref("referenceCamera"), limits: LimitsOf(b, setUp, "camera"),
	}
	s.Measured = measuredBy(b, setUp, lighting.ReadingsOf(b, setUp.ID), takes, s.TimeOf)
	if s.reference.IsZero() {
		s.reference = cameras.ReferenceAmong(s.cameras)
	}
	sort.SliceStable(s.takes, func(i, j int) bool { return s.times[s.takes[i].ID] < s.times[s.takes[j].ID] })
	for _, clip := range b.Referring(kinds.Clip, "setUp", setUp.ID) {
		if clip.Flag("rolled", true) && clip.Text("clipKind") != "test" {
			s.clips = append(s.clips, clip)
		}
	}
	sort.SliceStable(s.clips, func(i, j int) bool { return s.MomentOf(s.clips[i]) < s.MomentOf(s.clips[j]) })
	s.history = historyOf(b, WhitesOf(b, setUp.ID), s.takes, s.TimeOf, s.colour)
	return s
}

// asOf sets the moment that is asked for, once, and cuts the set-up into its periods.
func (s *SetUp) asOf(moment logbook.Millis) {
	s.upTo = moment
	for _, take := range s.takes {
		p := s.PeriodOfTake(take)
		p.Takes = append(p.Takes, take)
		p.Recorded = p.Recorded || take.Text("takeKind") != "chart"
	}
	for _, clip := range s.clips {
		p := s.CountedIn(clip)
		p.Recorded = p.Recorded || !s.IsChart(clip)
	}
	if moment != logbook.Ever && len(s.clips) > 0 {
		s.current = s.CountedIn(s.clips[len(s.clips)-1])
		return
	}
	next := s.history.coming(moment)
	if moment == logbook.Ever {
		next = s.history.comingNow(s.Now())
	}
	s.current = s.period(s.history.apart(s.history.count(next)))
}

func newPeriod() *Period { return &Period{aims: map[logbook.ID]Aim{}, byEach: map[logbook.ID][]Aim{}} }

// choose puts a white in force.
func (p *Period) choose(v logbook.View, w White) {
	p.White, p.InForce, p.Reference, p.Origin, p.Problem = v, w, w.Color, w.Origin, w.Problem
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
	p := newPeriod()
	s.byWhites[key] = p
	s.periods = append(s.periods, p)
	if len(whites) > 0 {
		p.choose(whites[0], s.colour(whites[0]))
		for _, v := range whites[1:] {
			p.Contested = append(p.Contested, s.colour(v))
		}
		p.InForce.contest(p.Contested)
		return p
	}
	p.setReference(s.ReferenceAt(s.upTo))
	return p
}

// colour resolves a white, once.
func (s *SetUp) colour(white logbook.View) White {
	w, ok := s.resolved[white.ID]
	if !ok {
		w = whiteBy(newResolver(s.book), white)
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

// MomentOf is when a clip of the set-up was: the moment as of which all is said about it.
func (s *SetUp) MomentOf(clip logbook.View) logbook.Millis { return s.spotOf(clip).at }

// spot is where and when a clip belongs.
type spot struct {
	takes  []logbook.View
	at     logbook.Millis
	period *Period // nil: not looked up
}

func (s *SetUp) spotOf(clip logbook.View) spot {
	found, ok := s.spots[clip.ID]
	if !ok {
		found.takes = s.namedBy(clip)
		found.at = s.clipMoment(clip, found.takes)
		s.spots[clip.ID] = found
	}
	return found
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
func (s *SetUp) PeriodOf(clip logbook.View) *Period {
	return s.at(s.CountedIn(clip), s.MomentOf(clip))
}

// at is a period at one of its moments: without a white the light itself is what things are
// judged by, as it was then.
func (s *SetUp) at(p *Period, moment logbook.Millis) *Period {
	if p.White.Known() || moment == s.upTo {
		return p
	}
	then, ok := s.unwhite[moment]
	if !ok {
		copied := *p
		then = &copied
		then.setReference(s.ReferenceAt(moment))
		s.unwhite[moment] = then
	}
	return then
}

func (p *Period) setReference(color *figure.Chromaticity, o figure.Origin, err error) {
	p.Reference, p.Origin, p.Problem = color, o, ""
	if err != nil {
		p.Problem = err.Error()
	}
}

// CountedIn is the one of the periods in which a clip is counted.
func (s *SetUp) CountedIn(clip logbook.View) *Period {
	found := s.spotOf(clip)
	if found.period == nil {
		found.period = s.periodBy(found)
		s.spots[clip.ID] = found
	}
	return found.period
}

func (s *SetUp) periodBy(clip spot) *Period {
	if len(clip.takes) > 0 {
		return s.PeriodOfTake(clip.takes[0])
	}
	return s.period(s.history.apart(s.history.count(whiteSpot{at: clip.at})))
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

// LightHere is a light at the moment for which the set-up was read.
func (s *SetUp) LightHere(light logbook.View) lighting.Spoken { return s.Light(light, s.upTo) }

// LastReading is the last one of a light, whatever was set or typed since: what a plan counts
// on from; nil where there is none, or where something was changed that nobody typed.
func (s *SetUp) LastReading(light logbook.View) *lighting.Reading {
	return s.Course(light).Last(s.upTo)
}

// LastWithLux is LastReading of those at a position that a mix can count with; "" stands for
// any.
func (s *SetUp) LastWithLux(light logbook.View, position string) *lighting.Reading {
	return s.Course(light).LastWhere(s.upTo, func(m *lighting.Reading) bool { return m.IlluminanceLux != nil && atPosition(m, position) })
}

// ReferenceAt is the reference light, else the mix, as it was at a moment.
func (s *SetUp) ReferenceAt(moment logbook.Millis) (*figure.Chromaticity, figure.Origin, error) {
	var o figure.Origin
	asked := s.asked(moment)
	if id := s.setUp.Ref("referenceLight"); !id.IsZero() {
		spoken := s.LightByID(id, moment)
		if spoken.Reading == nil {
			return nil, o, fmt.Errorf("%w: the reference light: %s", figure.ErrUnknown, spoken.Problem)
		}
		spoken.NoteIn(&o, asked)
		o.Method, o.Confidence = "the reading of the reference light", "measured"
		return spoken.Color, o, nil
	}
	xy, o, err := s.mixWithOrigin(s.setUp.Text("referencePosition"), moment)
	if err != nil {
		return nil, figure.Origin{}, err
	}
	return figure.ChromaticityOf(xy), o, nil
}

func (s *SetUp) mixWithOrigin(position string, moment logbook.Millis) (xy colorimetry.XY, o figure.Origin, err error) {
	mix, err := s.Mix(position, moment)
	if err != nil {
		return xy, o, err
	}
	mix.NoteIn(&o, s.asked(moment))
	return mix.Light.Light, o, nil
}

// MixHere is the mix at the reference position.
func (s *SetUp) MixHere() (position string, xy colorimetry.XY, o figure.Origin, err error) {
	position = s.setUp.Text("referencePosition")
	xy, o, err = s.mixWithOrigin(position, s.upTo)
	return position, xy, o, err
}

// TimeOf is when a take of the set-up was.
func (s *SetUp) TimeOf(take logbook.View) logbook.Millis { return s.times[take.ID] }

// Worked reports whether the set-up was read as it is now, and somebody works here.
func (s *SetUp) Worked() bool { return s.upTo == logbook.Ever }

func remeasureAfter(b *logbook.Book) float64 {
	if p, ok := lighting.ProductionOf(b); ok {
		if f, ok := p.Number("remeasureAfterMinutes"); ok {
			return f
		}
	}
	return 90
}
