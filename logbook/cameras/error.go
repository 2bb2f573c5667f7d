package cameras

import (
	"fmt"
	"math"
	"slices"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
)

// Error is how far a body's white really lies from its label, learnt from
// grey cards: mired + when it is warmer than it says, Duv + greener.
type Error struct {
	Body          logbook.ID `json:"body"`
	RecordingMode string     `json:"recordingMode,omitempty"`
	LampFamily    string     `json:"lampFamily,omitempty"`
	Glass         string     `json:"glass,omitempty"`
	Mired         float64    `json:"mired"`
	Duv           float64    `json:"duv"`
	// SpreadMired and SpreadDuv are how far the cards lie apart, at least what the
	// digits of one can carry.
	SpreadMired float64      `json:"spreadMired"`
	SpreadDuv   float64      `json:"spreadDuv"`
	Samples     []logbook.ID `json:"samples"`
	// AwayMired is how far the nearest card was from the light and setting asked
	// about; beyond 50 it is far.
	AwayMired  float64          `json:"awayMired"`
	AgeMinutes float64          `json:"ageMinutes"` // from the moment asked about to the nearest card in time, before or after
	Confidence string           `json:"confidence"` // good, fair or poor; a poor one is shown and moves nothing
	Words      string           `json:"words"`
	Caveats    []string         `json:"caveats,omitempty"`
	Cast       colorimetry.Cast `json:"-"`
	RestsOn    []Rest           `json:"-"` // Samples with their weights, and what the light on each is known by
	disagree   float64          // mired: the spread with each card as its weight has it
	may        []assumedCast    // what Cast may be, itself first; none where it is certain
}

// A Rest is a record that an answer rests on. Only a card that teaches has a weight.
type Rest struct {
	Record logbook.ID
	Weight float64
}

// ErrorQuery is for what a camera error is wanted.
type ErrorQuery struct {
	Mode, Glass, Family string
	// The light at hand, and either the label of the setting at hand or the white
	// that is wanted: cards are near by both.
	Light, Label, White colorimetry.CCTDuv
	// StandsOn is the label that a camera stands on for which a white is wanted: a card on it
	// shows what the camera does, and is not far however far the dial must go.
	StandsOn colorimetry.CCTDuv
	At       logbook.Millis // the moment asked about: cards are near by time too
	Inferred bool           // also from cards whose light was not measured
	Known
}

// cardLesson is what one card teaches.
type cardLesson struct {
	card    *Card
	cast    colorimetry.Cast
	casts   []assumedCast // what cast may be, itself first
	spread  colorimetry.Cast
	away    float64 // in mired
	far     float64 // away, but for a card on the setting that the camera stands on
	aside   float64 // in Duv
	fit     int     // 0 as asked, 1 other glass, 2 other mode, 3 another family
	notRead bool
	later   float64 // minutes from the moment asked about to the card; below 0: it came before
	weight  float64
	by      []Rest // what the light on the card is known by
}

// Where a card is near, far and old, and how far cards may lie apart before they say
// little, which is what cameras may differ by: common practice, no source.
const (
	nearMired, farMired = 25, 50
	disagreeMired       = 8
	oldMinutes          = 24 * 60
	TogetherMinutes     = 30
)

// mostInferred bounds the cards, newest first, whose light is inferred from another
// camera: each takes as long as learning that camera's error.
const mostInferred = 8

// ErrorByCards learns a body's error from the cards that fit best what is asked.
func ErrorByCards(b *logbook.Book, body logbook.View, ask ErrorQuery) (Error, bool) {
	var all []cardLesson
	best := math.MaxInt
	inferred := 0
	for _, v := range slices.Backward(ask.samples(b, "body", body.ID)) {
		l, ok := learnFrom(b, v, ask)
		if !ok {
			continue
		}
		all = append(all, l)
		best = min(best, l.fit)
		if l.notRead {
			inferred++
			ask.Inferred = ask.Inferred && inferred < mostInferred
		}
	}
	slices.Reverse(all)
	var fitting []cardLesson
	for _, l := range all {
		if l.fit == best {
			fitting = append(fitting, l)
		}
	}
	if ask.Family == "" && ask.Weights == nil {
		fitting = ofNoFamily(fitting)
	}
	weights := 0.0
	for _, l := range fitting {
		weights += l.weight
	}
	if !(weights > 0) {
		return Error{}, false
	}
	e := Error{Body: body.ID, RecordingMode: ask.Mode, LampFamily: ask.Family, Glass: ask.Glass, Samples: []logbook.ID{}}
	e.weigh(fitting)
	e.judge(fitting, best)
	if ask.Weights != nil && !e.Counts() {
		e.Confidence = "fair" // it counted when it was chosen
	}
	e.inWords(fitting)
	return e, true
}

// ofNoFamily are of cards for a light whose family is not known those of such light, where
// there are any: they may be of the same lamps.
func ofNoFamily(all []cardLesson) (some []cardLesson) {
	for _, l := range all {
		if l.card.family == "" && !l.notRead {
			some = append(some, l)
		}
	}
	if len(some) == 0 {
		return all
	}
	return some
}

func learnFrom(b *logbook.Book, v logbook.View, ask ErrorQuery) (l cardLesson, ok bool) {
	c, err := ask.card(b, v)
	if err != nil || !ask.counts(c) {
		return l, false
	}
	label, err := c.Label()
	if err != nil {
		return l, false
	}
	lights, family, by, err := c.lights(b, ask)
	if err != nil {
		return l, false
	}
	casts, s, err := c.castsIn(lights, label)
	if err != nil {
		return l, false
	}
	l = cardLesson{card: c, cast: casts[0].cast, casts: casts, spread: s.Uncertainty, notRead: c.Reading == nil, by: by}
	if t, err := lights[0].xy.CCTDuv(); err == nil {
		l.away = max(apart(t, ask.Light), apart(label, ask.Label), apart(s.White, ask.White))
		l.far = l.away
		if ask.StandsOn.CCT != 0 {
			l.far = max(apart(t, ask.Light), min(apart(s.White, ask.White), apart(label, ask.StandsOn)))
		}
		l.aside = max(aside(t, ask.Light), aside(label, ask.Label), aside(s.White, ask.White))
	}
	l.later = float64(c.At-ask.At) / 60000
	l.weight = l.near()
	if ask.Weights != nil {
		l.weight = ask.Weights[v.ID]
		return l, true
	}
	switch {
	case ask.Family != "" && family != ask.Family:
		l.fit = 3
	case c.mode != ask.Mode:
		l.fit = 2
	case c.glass != ask.Glass:
		l.fit = 1
	}
	return l, true
}

// apart is a distance in mired; 0 where one of the two is not given.
func apart(a, b colorimetry.CCTDuv) float64 {
	if a.CCT == 0 || b.CCT == 0 {
		return 0
	}
	return math.Abs(float64(a.Mired() - b.Mired()))
}

// aside is a distance in Duv; 0 where one of the two is not given.
func aside(a, b colorimetry.CCTDuv) float64 {
	if a.CCT == 0 || b.CCT == 0 {
		return 0
	}
	return math.Abs(float64(a.Duv - b.Duv))
}

// Light is that on the card: measured, or inferred from another camera's card.
func (c *Card) Light(b *logbook.Book, known Known) (colorimetry.XY, error) {
	lights, _, _, err := c.lights(b, ErrorQuery{Inferred: true, Known: known})
	if err != nil {
		return colorimetry.XY{}, err
	}
	return lights[0].xy, nil
}

// lights are those that may have been on the card, the one that is shown first.
func (c *Card) lights(b *logbook.Book, ask ErrorQuery) (all []assumedLight, family string, by []Rest, err error) {
	if c.Reading != nil {
		if c.Reading.Color == nil {
			return nil, "", nil, fmt.Errorf("%w: %s", figure.ErrUnknown, c.Reading.Problem)
		}
		return []assumedLight{{xy: c.Reading.Color.XY}}, c.family, []Rest{{Record: c.Reading.Reading}}, nil
	}
	if !ask.Inferred {
		return nil, "", nil, fmt.Errorf("%w: the light on the card was not measured", figure.ErrUnknown)
	}
	all, _, by, err = c.inferLights(b, ask.Known)
	return all, ask.Family, by, err
}

// inferLights takes the light from the picture and the white of another camera that
// saw the card at the same time: of the set-up's reference camera first.
func (c *Card) inferLights(b *logbook.Book, known Known) (lights []assumedLight, from *Card, by []Rest, err error) {
	setUp, _ := b.RecordOf(kinds.SetUp, c.setUp)
	reference := Reference(b, setUp)
	for _, other := range cardsOf(b, c.setUp, known) {
		if other.Body.ID == c.Body.ID || math.Abs(float64(other.At-c.At)) > TogetherMinutes*60000 {
			continue
		}
		if from == nil || other.Camera == reference {
			from = other
		}
	}
	if from == nil {
		return nil, nil, nil, fmt.Errorf("%w: the light on the card was not measured, and no other camera saw it", figure.ErrUnknown)
	}
	whites, by, err := from.whites(b, known)
	if err != nil {
		return nil, nil, nil, err
	}
	lights, err = from.lightsBehind(whites)
	return lights, from, append(by, Rest{Record: from.View.ID}), err
}

// White is what the camera of a card assumes: its label with its error, as far as
// measured cards say.
func (c *Card) White(b *logbook.Book, known Known) (white colorimetry.CCTDuv, err error) {
	all, _, err := c.whites(b, known)
	if err != nil {
		return white, err
	}
	return all[0].White, nil
}

// whites are what White may be, the one that is shown first.
func (c *Card) whites(b *logbook.Book, known Known) (all []Possible, by []Rest, err error) {
	label, err := c.Label()
	if err != nil {
		return nil, nil, err
	}
	all = c.Set.PossibleWhites(b, c.Body)
	// How near each card is follows from the cards: only those of the question's own body
	// have a weight that was written down.
	if known.Weights != nil {
		known = Known{listed: known.Weights}
	}
	e, ok := ErrorByCards(b, c.Body, ErrorQuery{Mode: c.mode, Glass: c.glass, Family: c.family, Label: label, At: c.At, Known: known})
	if !ok || !e.Counts() {
		return all, nil, nil
	}
	for _, r := range e.RestsOn {
		by = append(by, Rest{Record: r.Record})
	}
	if _, err = e.Moves(label); err != nil {
		return nil, by, err
	}
	return ByCards(all, e), by, nil
}

// LightBehind is the light that a camera on a white shows as this picture.
func (c *Card) LightBehind(white colorimetry.CCTDuv) (colorimetry.XY, error) {
	xy, err := white.XY()
	if err != nil {
		return xy, err
	}
	return colorimetry.LightFrom(c.picture, xy, c.Encoding.Primaries.White, colorimetry.CAT16)
}

// Moves is the white that a label really stands for.
func (e Error) Moves(label colorimetry.CCTDuv) (colorimetry.CCTDuv, error) {
	return movedBy(label, e.Cast)
}

func movedBy(label colorimetry.CCTDuv, cast colorimetry.Cast) (colorimetry.CCTDuv, error) {
	k, err := (label.Mired() + cast.Mired).Kelvin()
	if err != nil {
		return label, err
	}
	white := colorimetry.CCTDuv{CCT: k, Duv: label.Duv + cast.Duv}
	return white, white.Check()
}

// near makes a near card count more, in light, setting and time. How much more is a choice
// of this program: half at 10 mired or 0.003 Duv, a fifth at twice that, and half a day
// before or after. An error changes along the dials: on simulated sensors the card at hand
// must outweigh the one that was far off, or the second step repeats the first.
func (l *cardLesson) near() float64 {
	const halfMired, halfDuv = 10, 0.003
	far := math.Hypot(l.away/halfMired, l.aside/halfDuv)
	return 1 / (1 + far*far) / (1 + math.Abs(l.later)/oldMinutes)
}

// weigh takes the weighted mean.
func (e *Error) weigh(all []cardLesson) {
	var sum, square, squareDuv, weighted float64
	for _, l := range all {
		sum += l.weight
		e.SpreadMired = math.Max(e.SpreadMired, float64(l.spread.Mired))
		e.SpreadDuv = math.Max(e.SpreadDuv, float64(l.spread.Duv))
	}
	e.Cast = meanOf(all, func(l *cardLesson) colorimetry.Cast { return l.cast })
	e.assume(all)
	mired, duv := float64(e.Cast.Mired), float64(e.Cast.Duv)
	for _, l := range all {
		square += math.Pow(float64(l.cast.Mired)-mired, 2)
		weighted += l.weight * math.Pow(float64(l.cast.Mired)-mired, 2)
		squareDuv += math.Pow(float64(l.cast.Duv)-duv, 2)
	}
	e.disagree = math.Sqrt(weighted / sum)
	if n := float64(len(all)); n > 1 {
		e.SpreadMired = math.Max(e.SpreadMired, math.Sqrt(square/(n-1)))
		e.SpreadDuv = math.Max(e.SpreadDuv, math.Sqrt(squareDuv/(n-1)))
	}
	e.Mired = figure.RoundTo(mired, figure.CarriedDecimals(e.SpreadMired, figure.MiredDecimals))
	e.Duv = figure.RoundTo(duv, figure.CarriedDecimals(e.SpreadDuv, figure.DuvDecimals))
	e.SpreadMired, e.SpreadDuv = figure.RoundTo(e.SpreadMired, 1), figure.RoundTo(e.SpreadDuv, figure.DuvDecimals)
}

// judge says how sure it is.
func (e *Error) judge(all []cardLesson, fit int) {
	e.AwayMired, e.AgeMinutes = math.Inf(1), math.Inf(1)
	notRead, families := 0, map[string]bool{}
	for _, l := range all {
		if l.card.family != "" { // an inferred light has none
			families[l.card.family] = true
		}
		e.Samples = append(e.Samples, l.card.View.ID)
		e.RestsOn = append(append(e.RestsOn, Rest{l.card.View.ID, l.weight}), l.by...)
		e.AwayMired, e.AgeMinutes = math.Min(e.AwayMired, l.far), math.Min(e.AgeMinutes, math.Abs(l.later))
		if l.notRead {
			notRead++
		}
	}
	e.AwayMired, e.AgeMinutes = figure.RoundTo(e.AwayMired, figure.MiredDecimals), figure.RoundTo(e.AgeMinutes, 0)
	switch fit {
	case 1:
		e.Caveats = append(e.Caveats, "the cards were shot through other glass")
	case 2:
		e.Caveats = append(e.Caveats, "the cards were shot in another recording mode")
	case 3:
		if len(families) == 0 {
			e.Caveats = append(e.Caveats, "under which family of lamps the cards were shot is not known: a camera may differ there")
			break
		}
		e.Caveats = append(e.Caveats, "the cards were shot under another family of lamps: a camera may differ there")
	}
	several := e.LampFamily == "" && len(families) > 1
	if several {
		e.Caveats = append(e.Caveats, "the cards were shot under several families of lamps, and that of the light at hand is not known")
	}
	if notRead > 0 {
		e.Caveats = append(e.Caveats, fmt.Sprintf("the light on %d of the cards was inferred from the other camera", notRead))
	}
	if len(e.may) > 0 {
		e.Caveats = append(e.Caveats, "not all is known of that camera's dials, so that this may be otherwise: meter the light on a card")
	}
	if e.AwayMired > farMired {
		e.Caveats = append(e.Caveats, fmt.Sprintf("the nearest card is far: %g mired away", e.AwayMired))
	}
	switch {
	case fit == 3 || several || e.AwayMired > farMired || e.disagree > disagreeMired:
		e.Confidence = "poor"
	case fit == 0 && len(all) > 1 && e.AwayMired <= nearMired && e.AgeMinutes <= oldMinutes && e.SpreadMired <= 5 && notRead == 0:
		e.Confidence = "good"
	default:
		e.Confidence = "fair"
	}
}

// inWords sums it up.
func (e *Error) inWords(all []cardLesson) {
	nearest := all[0].later
	for _, l := range all {
		if math.Abs(l.later) <= math.Abs(nearest) {
			nearest = l.later
		}
	}
	when := "the newest " + figure.AgeWords(e.AgeMinutes) + " old"
	if nearest > 0 {
		when = "the nearest in time shot " + figure.AgeWords(e.AgeMinutes) + " later"
	}
	e.Words = fmt.Sprintf("%s: %s, the nearest %g mired away, %s, spread %g mired",
		e.Confidence, figure.Counted(len(all), "card"), e.AwayMired, when, e.SpreadMired)
}

// Counts reports whether anything may rest on the error: cards of another lamp family, far
// from the setting or against each other say too little.
func (e *Error) Counts() bool { return e.Confidence != "poor" }

// Floors is how finely cards say a white.
func (e *Error) Floors(white colorimetry.CCTDuv) figure.Floors {
	k := float64(white.CCT)
	return figure.Floors{Kelvin: e.SpreadMired * k * k / 1e6, Mired: e.SpreadMired, Duv: e.SpreadDuv}
}
