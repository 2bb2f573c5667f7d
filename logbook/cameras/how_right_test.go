package cameras_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/cameras"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/stage"
)

// stepsOff is how far the pictures of two whites lie apart in a light, by sums of this test.
func stepsOff(t *testing.T, light, one, other colorimetry.CCTDuv) float64 {
	t.Helper()
	var seen [2]colorimetry.UVPrime
	l, err := light.XY()
	if err != nil {
		t.Fatal(err)
	}
	for i, white := range []colorimetry.CCTDuv{one, other} {
		w, err := white.XY()
		if err != nil {
			t.Fatal(err)
		}
		p, err := colorimetry.Picture(l, w, colorimetry.CAT16)
		if err != nil {
			t.Fatal(err)
		}
		xy, err := p.XY()
		if err != nil {
			t.Fatal(err)
		}
		seen[i] = xy.UVPrime()
	}
	return math.Hypot(seen[0].U-seen[1].U, seen[0].V-seen[1].V) / 0.0011
}

// A body whose white wanders by chance from card to card: how far each card was from what the cards
// before it predicted follows from the wandering alone, and is what is printed. A card that counted
// among its own, or a later one that did, would make the figures smaller.
func TestHowRightItWasIsWhatTheCamerasDid(t *testing.T) {
	for seed := range uint64(12) {
		random := rand.New(rand.NewPCG(seed, 7))
		s := stage.New(t)
		var off []colorimetry.Cast
		var at []float64 // minutes
		var want []float64
		for i := range 2 + random.IntN(6) {
			now := 10 + 300*i + random.IntN(200)
			s.Minute(now)
			cast := colorimetry.Cast{Mired: colorimetry.Mired(6 * random.NormFloat64()), Duv: colorimetry.Duv(0.001 * random.NormFloat64())}
			reading := s.Read(s.Key, stage.CctDuv(5600, 0))
			s.Card(s.B, 5600, stage.Day5600, float64(cast.Mired), float64(cast.Duv), reading)
			// The log weighs cards of one light and setting by time alone: half a day old counts 2/3.
			var sum, mired, duv, disagree float64
			for k := range off {
				w := 1 / (1 + (float64(now)-at[k])/(24*60))
				sum, mired, duv = sum+w, mired+w*float64(off[k].Mired), duv+w*float64(off[k].Duv)
			}
			predicted := stage.Day5600
			if sum > 0 {
				mired, duv = mired/sum, duv/sum
				for k := range off {
					w := 1 / (1 + (float64(now)-at[k])/(24*60))
					disagree += w * math.Pow(float64(off[k].Mired)-mired, 2)
				}
				if math.Sqrt(disagree/sum) <= 8 { // else they say too little
					predicted = stage.Shift(stage.Day5600, mired, duv)
				}
			}
			want = append(want, stepsOff(t, stage.Day5600, stage.Shift(stage.Day5600, float64(cast.Mired), float64(cast.Duv)), predicted))
			off, at = append(off, cast), append(at, float64(now))
		}
		h := cameras.RightAbout(s.Book(), cameras.Known{})
		if len(h.Cameras) != 1 || h.Cameras[0].Tried != len(want) {
			t.Fatalf("seed %d: got %+v, want one camera with %d cards", seed, h, len(want))
		}
		r := h.Cameras[0]
		for i, c := range r.Cards {
			if math.Abs(c.Steps-want[i]) > 0.15 {
				t.Errorf("seed %d, card %d of %d: off by %.2f steps (%s), the camera did %.2f", seed, i+1, len(want), c.Steps, c.Basis, want[i])
			}
		}
		slices.Sort(want)
		n := len(want)
		if middle := (want[(n-1)/2] + want[n/2]) / 2; math.Abs(r.MedianSteps-middle) > 0.15 || math.Abs(r.WorstSteps-want[n-1]) > 0.15 {
			t.Errorf("seed %d: got %.1f and at worst %.1f, want %.2f and %.2f", seed, r.MedianSteps, r.WorstSteps, middle, want[n-1])
		}
	}
}

// One card was predicted by the label, one by a card on its setting, one by cards on others.
func TestHowRightItWasSaysWhatItRestedOn(t *testing.T) {
	s := stage.New(t)
	s.Minute(5)
	reading := s.Read(s.Key, stage.CctDuv(5600, 0))
	for i, kelvin := range []float64{5600, 5600, 5200} {
		s.Minute(10 + 10*i)
		s.Card(s.A, kelvin, stage.Day5600, 9, 0, reading)
	}
	h := cameras.RightAbout(s.Book(), cameras.Known{})
	if len(h.Cameras) != 1 {
		t.Fatalf("got %+v", h)
	}
	r := h.Cameras[0]
	var got []string
	for _, c := range r.Cards {
		got = append(got, fmt.Sprintf("%s %d %.1f", c.Basis, c.From, c.Steps))
	}
	first := stepsOff(t, stage.Day5600, stage.Shift(stage.Day5600, 9, 0), stage.Day5600)
	want := fmt.Sprintf("label 0 %.1f; card on this setting 1 0.0; cards elsewhere 2 0.0", figure.RoundTo(first, 1))
	if strings.Join(got, "; ") != want {
		t.Errorf("got %s, want %s", strings.Join(got, "; "), want)
	}
	if !strings.Contains(r.Words, "camera A, body: ") ||
		!strings.Contains(r.Words, "; predicted from card on this setting 1, cards elsewhere 1, label 1") ||
		r.Worst != r.Cards[0].Sample || len(r.ByBasis) != 3 {
		t.Errorf("got %+v", r)
	}
}

// The tint unit of a body is not learnt from the card that is predicted, nor from a later one.
func TestATintUnitIsLearntFromCardsBefore(t *testing.T) {
	s := stage.New(t)
	s.Set(s.BodyA, "tint", `{"min":-10,"max":10,"step":1,"plusIs":"magenta"}`)
	s.Minute(5)
	reading := s.Read(s.Key, stage.CctDuv(5600, 0))
	const unit = 0.0005
	for i, tint := range []float64{0, 8, 6} {
		s.Minute(10 + 10*i)
		s.Card(s.A, 5600, stage.Day5600, 0, unit*tint, reading,
			"settings", fmt.Sprintf(`{"whiteMode":"kelvin","kelvin":5600,"tint":%g}`, tint))
	}
	h := cameras.RightAbout(s.Book(), cameras.Known{})
	if len(h.Untried) != 1 || h.Untried[0] != (cameras.Untried{Why: "its setting names no white", Cards: 1}) {
		t.Errorf("got %+v, want the second card untried: nothing was known of the tint before it", h.Untried)
	}
	if cards := h.Cameras[0].Cards; len(cards) != 2 || cards[1].Steps > 0.3 {
		t.Errorf("got %+v, want the third card predicted by the unit that the first two taught", cards)
	}
}

func TestWhatCannotBeForetoldIsCountedWithItsReason(t *testing.T) {
	s := stage.New(t)
	if h := cameras.RightAbout(s.Book(), cameras.Known{}); h.Words != "no cards, so nobody can say" || len(h.Cameras)+len(h.Untried) != 0 {
		t.Errorf("without cards: got %+v", h)
	}
	s.Minute(5)
	reading := s.Read(s.Key, stage.CctDuv(5600, 0))
	s.Card(s.A, 5600, stage.Day5600, 2, 0, logbook.ID{})
	if h := cameras.RightAbout(s.Book(), cameras.Known{}); h.Words != "no grey card could be predicted, so nobody can say" {
		t.Errorf("with a card whose light was not measured: got %+v", h)
	}
	_, clip, _ := s.Shoot("5600", "5600")
	s.Card(s.A, 5600, stage.Day5600, 2, 0, reading, "clip", stage.Ref(clip))
	s.Minute(6)
	s.Card(s.A, 5600, stage.Day5600, 2, 0, reading, "clip", stage.Ref(clip))
	s.Card(s.A, 5600, stage.Day5600, 2, 0, reading, "settings", `{"whiteMode":"auto"}`)
	s.Card(s.A, 5600, stage.Day5600, 2, 0, reading, "rgb", `{"as":"codeValues","r":400,"g":410,"b":420,"bits":10,"range":"full","encoding":"log","primaries":"camera"}`)
	struck := s.Card(s.A, 5600, stage.Day5600, 50, 0, reading)
	s.Set(struck, "struckOut", `{"reason":"a thumb"}`)
	h := cameras.RightAbout(s.Book(), cameras.Known{})
	var why []string
	for _, u := range h.Untried {
		why = append(why, fmt.Sprint(u.Cards, " ", u.Why))
	}
	want := "1 it was shot on a white that no dial names; 1 the light on the card was not measured; 1 the same clip had a card before; " +
		"1 what its code values stand for is not known"
	if got := strings.Join(why, "; "); got != want || len(h.Cameras) != 1 || h.Cameras[0].Tried != 1 {
		t.Errorf("got %s; want %s\n%+v", got, want, h)
	}
}

// As of a moment nothing of what is later counts.
func TestHowRightItWasAsOfADay(t *testing.T) {
	s := stage.New(t)
	s.Minute(5)
	reading := s.Read(s.Key, stage.CctDuv(5600, 0))
	s.Card(s.A, 5600, stage.Day5600, 9, 0, reading)
	before := cameras.RightAbout(s.Book(), cameras.Known{})
	at := s.Clock
	s.Minute(90)
	s.Card(s.A, 5600, stage.Day5600, -9, 0, reading)
	until := cameras.Known{Counts: func(c *cameras.Card) bool { return c.At <= at }}
	if then := cameras.RightAbout(s.Book(), until); then.Words != before.Words {
		t.Errorf("got %q, want %q", then.Words, before.Words)
	}
	if now := cameras.RightAbout(s.Book(), cameras.Known{}); now.Cameras[0].Tried != 2 {
		t.Errorf("got %+v, want 2 cards", now)
	}
}

func BenchmarkHowRight(b *testing.B) {
	s := stage.New(&testing.T{})
	reading := s.Read(s.Key, stage.CctDuv(5600, 0))
	for i := range 300 {
		s.Minute(10 + 10*i)
		s.Card(s.A, 5600, stage.Day5600, float64(i%7), 0, reading)
	}
	book := s.Book()
	if n := len(book.Records(kinds.Sample)); n < 300 {
		b.Fatal(n)
	}
	for b.Loop() {
		cameras.RightAbout(book, cameras.Known{})
	}
}
