package cameras

import (
	"bytes"
	"cmp"
	"fmt"
	"slices"
	"strings"

	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
)

// What an answer about a picture rests on, in words, the surest first.
const (
	CardInClip     = "card in the clip"
	CardOnSetting  = "card on this setting"
	CardsElsewhere = "cards elsewhere"
	FromLabel      = "label"
)

// HowRight is how right the log was about its own grey cards: the picture of each was predicted from the
// cards shot before it, never from itself or a later one, and held against what it then showed.
type HowRight struct {
	Cameras []CameraRight `json:"cameras"` // by label of the body
	Untried []Untried     `json:"untried,omitempty"`
	Words   string        `json:"words"`
}

// CameraRight is how right it was about one body.
type CameraRight struct {
	Body    logbook.ID `json:"body"`
	Label   string     `json:"label,omitempty"`
	Letters []string   `json:"letters,omitempty"` // of the cameras that it filled at its cards
	Tried   int        `json:"tried"`             // cards
	// MedianSteps and WorstSteps are how far the pictures of the cards were from what was predicted, in
	// steps of 0.0011 u'v' in the picture.
	MedianSteps float64      `json:"medianSteps"`
	WorstSteps  float64      `json:"worstSteps"`
	Worst       logbook.ID   `json:"worst"` // the sample
	ByBasis     []BasisRight `json:"byBasis"`
	Words       string       `json:"words"`
	Cards       []CardRight  `json:"cards"` // each, by time
}

// BasisRight is the same of the cards that were predicted from one basis: in words, as a correction has it.
type BasisRight struct {
	Basis       string  `json:"basis"` // card on this setting, cards elsewhere, or label
	Tried       int     `json:"tried"`
	MedianSteps float64 `json:"medianSteps"`
	WorstSteps  float64 `json:"worstSteps"`
}

// CardRight is one card that was predicted.
type CardRight struct {
	Sample logbook.ID `json:"sample"`
	Steps  float64    `json:"steps"`
	Basis  string     `json:"basis"`
	From   int        `json:"from"`  // so many cards
	Words  string     `json:"words"` // how what it showed lies from what was predicted
}

// Untried says why cards could not be held against anything.
type Untried struct {
	Why   string `json:"why"`
	Cards int    `json:"cards"`
}

// RightAbout looks at the cards that count: of these alone it predicts, and by these alone. It borrows the
// book, which must stay the same until it ends, for a few cards at a time.
func RightAbout(from logbook.Lender, known Known) HowRight {
	w := newWalk(from, known)
	untried, of := map[string]int{}, map[logbook.ID]*CameraRight{}
	for some := range slices.Chunk(w.order, predictedAtOnce) {
		from.Read(func(b *logbook.Book) {
			w.book = b
			for _, c := range some {
				w.goOn(c.At)
				if card, why := w.predict(c.View); why != "" {
					untried[why]++
				} else {
					c.rightIn(b, of, card)
				}
			}
		})
	}
	out := HowRight{Cameras: []CameraRight{}}
	for _, r := range of {
		r.sum()
		out.Cameras = append(out.Cameras, *r)
	}
	slices.SortFunc(out.Cameras, func(a, c CameraRight) int {
		return cmp.Or(cmp.Compare(a.Label, c.Label), bytes.Compare(a.Body[:], c.Body[:]))
	})
	for why, count := range untried {
		out.Untried = append(out.Untried, Untried{why, count})
	}
	slices.SortFunc(out.Untried, func(a, c Untried) int { return cmp.Or(c.Cards-a.Cards, cmp.Compare(a.Why, c.Why)) })
	out.inWords()
	return out
}

// rightIn puts what came of a card beside others of its body.
func (c *Card) rightIn(b *logbook.Book, of map[logbook.ID]*CameraRight, card CardRight) {
	r := of[c.Body.ID]
	if r == nil {
		r = &CameraRight{Body: c.Body.ID, Label: c.Body.Text("label"), Letters: []string{}}
		of[c.Body.ID] = r
	}
	r.Cards = append(r.Cards, card)
	if camera, ok := b.RecordOf(kinds.Camera, c.Camera); ok && !slices.Contains(r.Letters, camera.Text("letter")) {
		r.Letters = append(r.Letters, camera.Text("letter"))
	}
}

// sum works out what its cards come to.
func (r *CameraRight) sum() {
	slices.Sort(r.Letters)
	all := map[string][]float64{}
	var steps []float64
	for _, c := range r.Cards {
		steps = append(steps, c.Steps)
		all[c.Basis] = append(all[c.Basis], c.Steps)
		if r.Worst.IsZero() || c.Steps > r.WorstSteps {
			r.Worst, r.WorstSteps = c.Sample, c.Steps
		}
	}
	r.Tried, r.MedianSteps = len(steps), median(steps)
	var parts []string
	for _, basis := range []string{CardOnSetting, CardsElsewhere, FromLabel} {
		if of := all[basis]; len(of) > 0 {
			r.ByBasis = append(r.ByBasis, BasisRight{basis, len(of), median(of), slices.Max(of)})
			parts = append(parts, fmt.Sprintf("%s %d", basis, len(of)))
		}
	}
	r.Words = fmt.Sprintf("%s: %s; predicted from %s", r.Name(), within(r.Tried, r.MedianSteps, r.WorstSteps), strings.Join(parts, ", "))
}

// Name is how a person knows the camera.
func (r *CameraRight) Name() string {
	if len(r.Letters) == 0 {
		return "body: " + r.Label
	}
	return "camera " + strings.Join(r.Letters, " and ") + ", body: " + r.Label
}

func within(cards int, middle, worst float64) string {
	if cards == 1 {
		return fmt.Sprintf("1 card, off by %.1f steps", worst)
	}
	return fmt.Sprintf("%d cards, half of them off by %.1f steps or less, the worst by %.1f", cards, middle, worst)
}

// median is the middle of some numbers, or the mean of the two in the middle, as it is shown.
func median(all []float64) float64 {
	all = slices.Sorted(slices.Values(all))
	return figure.RoundTo((all[(len(all)-1)/2]+all[len(all)/2])/2, figure.StepsDecimals)
}

func (h *HowRight) inWords() {
	var steps []float64
	for _, r := range h.Cameras {
		for _, c := range r.Cards {
			steps = append(steps, c.Steps)
		}
	}
	switch {
	case len(steps) > 0:
		h.Words = "each grey card was predicted from those shot before it: " + within(len(steps), median(steps), slices.Max(steps)) +
			"; about 2 steps are at the edge of what is noticed"
	case len(h.Untried) > 0:
		h.Words = "no grey card could be predicted, so nobody can say"
	default:
		h.Words = "no cards, so nobody can say"
	}
}
