package cameras

import (
	"bytes"
	"cmp"
	"slices"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
)

// A walk goes over the cards of a book by time, so that each is read once.
type walk struct {
	book   *logbook.Book // lent
	counts func(*Card) bool
	order  []*Card // those that count
	of     map[logbook.ID]*Card
	failed map[logbook.ID]error        // why one could not be read
	tints  map[logbook.ID]*tintLessons // by body: what those before teach
	gone   int                         // how many of order they are
	clips  map[logbook.ID]bool         // of which a card was predicted
	labels map[labelOfCard]colorimetry.CCTDuv
}

// labelOfCard is what the label of a card follows from.
type labelOfCard struct {
	card   logbook.ID
	taught *tintLearnt
}

// noTint is what cards teach of a tint unit where they teach nothing.
var noTint = &tintLearnt{}

// readAtOnce is how many cards are read in one call, predictedAtOnce how many are predicted.
const readAtOnce, predictedAtOnce = 100, 10

func newWalk(from logbook.Lender, known Known) *walk {
	w := &walk{counts: known.counts, of: map[logbook.ID]*Card{}, failed: map[logbook.ID]error{},
		tints: map[logbook.ID]*tintLessons{}, clips: map[logbook.ID]bool{}, labels: map[labelOfCard]colorimetry.CCTDuv{}}
	logbook.Sift(from, kinds.Sample, readAtOnce, func(b *logbook.Book, v logbook.View) bool {
		if w.book = b; !lighting.Withdrawn(v) {
			w.read(v)
		}
		return false
	})
	slices.SortFunc(w.order, func(a, c *Card) int {
		return cmp.Or(cmp.Compare(a.At, c.At), bytes.Compare(a.View.ID[:], c.View.ID[:]))
	})
	return w
}

func (w *walk) read(v logbook.View) {
	c, err := cardOf(w.book, v)
	c.labelled = w.label
	if w.of[v.ID] = c; err != nil {
		w.failed[v.ID] = err
	} else if c.Reading != nil && c.Reading.Color != nil {
		if s, err := colorimetry.ReadPatch(c.Patch, c.Encoding, c.Reading.Color.XY); err == nil {
			c.read = &s
		}
	}
	if w.counts(c) {
		w.order = append(w.order, c)
	}
}

// card is a card as it is known at this place of the walk.
func (w *walk) card(v logbook.View) (*Card, error) {
	read := w.of[v.ID]
	if read == nil {
		return cardOf(w.book, v)
	}
	c := *read
	if c.Set.taught = noTint; w.tints[c.Body.ID] != nil && w.tints[c.Body.ID].best != nil {
		c.Set.taught = w.tints[c.Body.ID].best
	}
	return &c, w.failed[v.ID]
}

// label is that of a card, worked out once for what is known of its tint.
func (w *walk) label(c *Card) (colorimetry.CCTDuv, error) {
	of := labelOfCard{c.View.ID, c.Set.taught}
	if label, ok := w.labels[of]; ok {
		return label, nil
	}
	label, _, err := c.Set.dialWhite(c.Body)
	if err == nil {
		w.labels[of] = label
	}
	return label, err
}

// goOn lets the cards before a moment teach what a tint unit does.
func (w *walk) goOn(until logbook.Millis) {
	for ; w.gone < len(w.order) && w.order[w.gone].At < until; w.gone++ {
		c := w.order[w.gone]
		if w.failed[c.View.ID] != nil {
			continue
		}
		t, usable := tintCardOf(c)
		if !usable {
			continue
		}
		if w.tints[c.Body.ID] == nil {
			w.tints[c.Body.ID] = &tintLessons{}
		}
		w.tints[c.Body.ID].add(t)
	}
}

// predict says what the log would have said of the picture of a card before it was shot, and how far
// that is from what it shows; else why nobody can.
func (w *walk) predict(v logbook.View) (r CardRight, why string) {
	c, err := w.card(v)
	label, why := c.triable(err)
	if why != "" {
		return r, why
	}
	if clip := v.Ref("clip"); !clip.IsZero() {
		if w.clips[clip] {
			return r, "the same clip had a card before"
		}
		w.clips[clip] = true
	}
	light := c.Reading.Color.XY
	at, err := light.CCTDuv()
	if err != nil {
		return r, "the light on the card is coloured"
	}
	before := Known{read: w.card, Counts: func(o *Card) bool { return o.At < c.At && w.counts(o) }}
	ask := ErrorQuery{Mode: c.mode, Glass: c.glass, Family: c.family, Light: at, Label: label, At: c.At, Inferred: true, Known: before}
	white := label
	r = CardRight{Sample: v.ID, Basis: FromLabel}
	if e, ok := ErrorByCards(w.book, c.Body, ask); ok && e.Counts() {
		if white, err = e.Moves(label); err != nil {
			return r, "what was predicted has no colour temperature"
		}
		r.Basis, r.From = CardsElsewhere, len(e.Samples)
		if slices.ContainsFunc(e.Samples, func(id logbook.ID) bool { return w.of[id].Set.Key() == c.Set.Key() }) {
			r.Basis = CardOnSetting
		}
	}
	steps, err := c.stepsFrom(light, white)
	if err != nil {
		return r, "what was predicted has no picture"
	}
	r.Steps = figure.RoundTo(steps, figure.StepsDecimals)
	r.Words = figure.PictureDifference(c.read.White, white, c.Reading.Color).Words
	return r, ""
}

// triable is the label of a card that can be held against something; else why it cannot.
func (c *Card) triable(err error) (label colorimetry.CCTDuv, why string) {
	switch {
	case !c.Body.Known():
		return label, "the body of the card is not in the log"
	case err != nil && c.coded:
		return label, "what its code values stand for is not known"
	case err != nil:
		return label, "its values are no colour"
	case !c.Set.OnDial():
		return label, "it was shot on a white that no dial names"
	case c.Reading == nil:
		return label, "the light on the card was not measured"
	case c.Reading.Color == nil:
		return label, "the light on the card was measured, and has no colour"
	case c.read == nil:
		return label, "its patch is clipped, too dark, too bright or no grey"
	}
	if label, err = c.Label(); err != nil {
		return label, "its setting names no white"
	}
	return label, ""
}

// stepsFrom is how far the picture of a card is from that which a white gives in a light.
func (c *Card) stepsFrom(light colorimetry.XY, white colorimetry.CCTDuv) (float64, error) {
	xy, err := white.XY()
	if err != nil {
		return 0, err
	}
	predicted, err := PictureXY(light, xy)
	if err != nil {
		return 0, err
	}
	shown, err := Displayed(c.picture, c.Encoding)
	if err != nil {
		return 0, err
	}
	return shown.UVPrime().Distance(predicted.UVPrime()) / colorimetry.StepUVPrime, nil
}
