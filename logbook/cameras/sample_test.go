package cameras_test

import (
	"fmt"
	"strings"
	"testing"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/cameras"
	"evenwhite/logbook/glance"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/setup"
	"evenwhite/logbook/stage"
)

func TestASampleSaysHowFarACameraIsFromItsLabel(t *testing.T) {
	s := stage.New(t)
	id := s.Card(s.B, 5600, stage.Day5600, 12, -0.004, s.Reading)
	got, err := cameras.ColorOfSample(s.Book(), id, s.Clock)
	if err != nil {
		t.Fatal(err)
	}
	// The digits carry a tenth of a mired: three decimals of a percent.
	stage.Near(t, "mired", *got.Error.Mired, 12, 0)
	stage.Near(t, "Duv", *got.Error.Duv, -0.004, 0.00011)
	stage.Near(t, "cast", *got.Cast.Mired, -12, 0) // a white that is too warm makes a cooler picture
	stage.Near(t, "learnt", got.Learnt.Mired, 12, 0)
	if g := got.ToNeutral.Gain; !(g.R > 1 && g.B < 1) || got.ToNeutral.Takes != "codeRatio" {
		t.Errorf("a cool card to neutral: got %+v, want red up and blue down", got.ToNeutral)
	}
	if got.LampFamily != "twoColorLed" || got.Problem != "" {
		t.Errorf("got %+v", got)
	}
}

func TestSamplesThatAreRefusedOrWarnedOf(t *testing.T) {
	rgb := func(r, g, b float64, encoding string) string {
		return fmt.Sprintf(`{"as":"percent","r":%g,"g":%g,"b":%g,"encoding":%q,"primaries":"bt709"}`, r, g, b, encoding)
	}
	for _, c := range []struct {
		name, field, value string
		problem, warning   string
	}{
		{"one channel too bright", "rgb", rgb(95, 85, 85, "bt1886"), "too bright", ""},
		{"one channel too dark", "rgb", rgb(4, 8, 8, "bt1886"), "too dark", ""},
		{"no card at all", "rgb", rgb(10, 80, 10, "bt1886"), "not near neutral", ""},
		{"a curve that is not published", "rgb", rgb(40, 40, 40, "log"), "encoding", ""},
		{"clipped", "clippedPercent", "3", "clipped", ""},
		{"a look was on", "readAt", `"monitorWithLook"`, "", "look"},
		{"paper", "patch", `"paper"`, "", "paper"},
		{"uneven", "spreadPercent", "9", "", "uneven"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := stage.New(t)
			id := s.Card(s.B, 5600, stage.Day5600, 0, 0, s.Reading, c.field, c.value)
			got, err := cameras.ColorOfSample(s.Book(), id, s.Clock)
			if err != nil {
				t.Fatal(err)
			}
			if (c.problem == "") != (got.Problem == "") || !strings.Contains(got.Problem, c.problem) {
				t.Errorf("problem: got %q, want %q", got.Problem, c.problem)
			}
			if warnings := strings.Join(got.Warnings, "; "); !strings.Contains(warnings, c.warning) {
				t.Errorf("warnings: got %q, want %q", warnings, c.warning)
			}
			if c.problem != "" && got.White != nil {
				t.Errorf("a refused sample has a white: %+v", got.White)
			}
		})
	}
}

func TestMatchCountsInWhatCardsTaught(t *testing.T) {
	s := stage.New(t)
	s.Minute(5)
	s.Shoot("5600", "5600")
	s.Minute(6)
	s.Card(s.A, 5600, stage.Day5600, 0, 0, s.Reading)
	// B's 5600 is a white of 178.6 + 54 mired, 4300 K; its 6500 is one of 153.8 + 54, 4812 K.
	s.Card(s.B, 5600, stage.Day5600, 54, 0, s.Reading)
	a := s.Match()
	if a.Basis != "from samples" || a.Matched || a.CameraError == nil || a.CameraError.Mired != 54 || a.ToError == nil || a.ToError.Mired != 0 {
		t.Fatalf("got %+v, errors %+v and %+v", a, a.CameraError, a.ToError)
	}
	// The preset of 7000 K is one of 142.9 + 54 = 196.9: 18 too warm as a white, and the nearest.
	if a.Best.Preset != "shade" {
		t.Errorf("best: got %+v, want the preset shade", a.Best)
	}
	stage.Near(t, "residual", *a.Best.Residual.Mired, -18, 0)
	if a.CameraError.Confidence != "poor" || !strings.Contains(a.CameraError.Words, "1 card, the nearest 54 mired away") {
		t.Errorf("one card: got %q", a.CameraError.Words)
	}
	if a.Cards == nil || a.Cards.Within || *a.Cards.Difference.Mired != -54 {
		t.Errorf("the cards: got %+v, want B 54 mired cooler", a.Cards)
	}
}

func TestMatchedIsSaidOnlyAfterASecondCard(t *testing.T) {
	s := stage.New(t)
	s.Minute(5)
	s.Shoot("5600", "4300")
	s.Minute(6)
	s.Card(s.A, 5600, stage.Day5600, 0, 0, s.Reading)
	s.Card(s.B, 4300, stage.Day5600, -50, 0, s.Reading)
	first := s.Match()
	if first.Matched || first.Cards == nil || !first.Cards.Within || first.Cards.Second || !strings.Contains(first.Words, "a second card is to confirm") {
		t.Errorf("after one card: got %+v, %q", first.Cards, first.Words)
	}
	s.Minute(9)
	second := s.Card(s.B, 4300, stage.Day5600, -50, 0, s.Reading)
	got := s.Match()
	if !got.Matched || got.Cards.Sample != second || !strings.Contains(got.Words, "matched by a second card") {
		t.Errorf("after two: got %+v, %q", got.Cards, got.Words)
	}
	if got.CameraError.Confidence != "good" {
		t.Errorf("two near, new cards that agree: got %q", got.CameraError.Words)
	}
	t.Run("and no more once the camera is set to something else", func(t *testing.T) {
		s.Minute(12)
		s.Shoot("5600", "6500")
		if got := s.Match(); got.Matched || got.Cards != nil {
			t.Errorf("got %+v, %q", got.Cards, got.Words)
		}
	})
}

func TestMatchWithoutAReadingOfTheLight(t *testing.T) {
	s := stage.New(t)
	s.SetUp = s.Add(kinds.SetUp, "day", stage.Ref(s.Day), "name", `"B"`, "cameras/"+s.A.String()+"/inUse", "true", "cameras/"+s.B.String()+"/inUse", "true", "referenceCamera", stage.Ref(s.A))
	tungsten := colorimetry.CCTDuv{CCT: 3000, Duv: 0.002}
	s.Minute(5)
	s.Card(s.A, 3200, tungsten, 0, 0, logbook.ID{})
	// B shows 3200 as a white of 312.5 + 30 mired.
	s.Card(s.B, 3200, tungsten, 30, 0, logbook.ID{})
	a := s.Match()
	if a.Light == nil {
		t.Fatalf("the light was not inferred: %+v", a.Origin)
	}
	stage.Near(t, "the light", *a.Light.CCTKelvin, 3000, 2)
	stage.Near(t, "its Duv", *a.Light.Duv, 0.002, 0.0001)
	stage.Near(t, "B's error", a.CameraError.Mired, 30, 0)
	if a.Basis != "from samples" || a.CameraError.Confidence == "good" {
		t.Errorf("got basis %q, %q", a.Basis, a.CameraError.Words)
	}
}

func TestACameraErrorOfAnotherFamilyIsUsedWithAWarning(t *testing.T) {
	s := stage.New(t)
	lamp := s.Add(kinds.Lamp, "name", `"fresnel"`, "family", `"incandescent"`)
	bulb := s.Light("fresnel", "back", "lamp", stage.Ref(lamp), "intent", `"leave"`)
	reading := s.Read(bulb, stage.OnLocus3200)
	s.Minute(5)
	s.Shoot("5600", "5600")
	s.Card(s.B, 3200, colorimetry.CCTDuv{CCT: 3200}, 10, 0, reading)
	a := s.Match()
	if a.CameraError == nil || a.CameraError.Confidence != "poor" || !strings.Contains(strings.Join(a.CameraError.Caveats, "; "), "another family") ||
		!strings.Contains(strings.Join(a.CameraError.Caveats, "; "), "far: 144 mired") || a.Basis != "from samples and a label" {
		t.Errorf("got %+v, basis %q", a.CameraError, a.Basis)
	}
	s.Card(s.B, 5600, stage.Day5600, 4, 0, s.Reading) // of the lamp at hand: the other is passed over
	if a := s.Match(); len(a.CameraError.Samples) != 1 || a.CameraError.Mired != 4 || len(a.CameraError.Caveats) != 0 {
		t.Errorf("got %+v, want the card of this family alone", a.CameraError)
	}
}

func TestACustomWhiteFromACardWhoseLightWasNotMeasured(t *testing.T) {
	s := stage.New(t)
	s.Minute(4)
	id := s.Card(s.A, 5600, colorimetry.CCTDuv{CCT: 4800, Duv: 0.003}, 0, 0, logbook.ID{})
	white := s.Add(kinds.White, "setUp", stage.Ref(s.SetUp), "from", fmt.Sprintf(`{"as":"customFromCard","sample":%s}`, stage.Ref(id)), "appliesFrom", `{"as":"time","at":`+stage.Stamp(4)+`}`)
	b := s.Book()
	v, _ := b.Record(white)
	got := setup.WhiteOf(b, v)
	if got.Color == nil {
		t.Fatalf("got %+v", got)
	}
	stage.Near(t, "kelvin", *got.Color.CCTKelvin, 4800, 2)
	stage.Near(t, "Duv", *got.Color.Duv, 0.003, 0.0001)
	if got.Origin.Confidence != "label" {
		t.Errorf("confidence: got %q, want label", got.Origin.Confidence)
	}
}

func TestNowSaysWhatToDialByCards(t *testing.T) {
	s := stage.New(t)
	s.Minute(5)
	s.Shoot("5600", "5600")
	before, err := glance.Now(s.Book(), s.SetUp, s.Clock)
	if err != nil {
		t.Fatal(err)
	}
	if c := before.Cameras[1]; c.Letter != "B" || c.CameraError != nil || c.DialByCards != nil {
		t.Fatalf("without cards: got %+v", c)
	}
	s.Card(s.B, 5600, stage.Day5600, 54, 0, s.Reading) // B's whites are 54 mired too warm
	got, err := glance.Now(s.Book(), s.SetUp, s.Clock)
	if err != nil {
		t.Fatal(err)
	}
	c := got.Cameras[1]
	if c.CameraError == nil || c.CameraError.Mired != 54 || c.DialByCards == nil {
		t.Fatalf("got %+v", c)
	}
	if l := c.Last; l == nil || *l.OffAim.Mired != 0 || l.OffAimByCards == nil || *l.OffAimByCards.Mired != -54 {
		t.Errorf("5600 K in light of 5600 K: got %+v, want 0 by the label and 54 mired cooler by cards", l)
	}
	// By the label 5600 K is neutral; by the card the preset of 7000 K is nearest: see TestMatchCountsInWhatCardsTaught.
	if c.Dial.Preset == "shade" || c.DialByCards.Preset != "shade" {
		t.Errorf("got %q by the label and %q by cards, want another setting by cards", c.Dial.Words, c.DialByCards.Words)
	}
}

func TestANearCardOutweighsOneThatWasFarOff(t *testing.T) {
	s := stage.New(t)
	s.Minute(5)
	s.Shoot("5600", "4300")
	s.Card(s.B, 5600, stage.Day5600, 30, 0, s.Reading) // 24 mired from the setting that will be asked about
	s.Card(s.B, 4300, stage.Day5600, -50, 0, s.Reading)
	// The error wanted is that of a white near 5600 K: of the second card, which has one of 5479 K.
	got := s.Match().CameraError
	if got == nil || len(got.Samples) != 2 {
		t.Fatalf("got %+v", got)
	}
	// 30 mired away weigh 1/(1+9), 4 mired away 1/(1+0.16): (3 − 43.1)/0.962 = −41.7,
	// shown in tens because the two are so far apart.
	stage.Near(t, "mired", got.Mired, -40, 0)
	if got.SpreadMired < 50 || got.Confidence == "good" {
		t.Errorf("cards 80 mired apart: got %q", got.Words)
	}
}

// A scope that shows whole percents carries some mired: what is shown says no more.
func TestASampleShowsNoMoreDigitsThanItsSpread(t *testing.T) {
	for _, c := range []struct {
		name, rgb           string
		spread, kelvin, duv float64 // least spread in mired; steps of what is shown
	}{
		{"whole percents", `{"as":"percent","r":42,"g":42,"b":45,"encoding":"bt1886","primaries":"bt709"}`, 2, 10, 0.0001},
		{"tens of percents", `{"as":"percent","r":40,"g":40,"b":5e1,"encoding":"bt1886","primaries":"bt709"}`, 2, 10, 0.0001},
		{"8 bits", `{"as":"codeValues","r":107,"g":107,"b":112,"bits":8,"range":"full","encoding":"bt1886","primaries":"bt709"}`, 0.8, 10, 0.0001},
		{"three decimals", `{"as":"percent","r":42.013,"g":42.051,"b":43.112,"encoding":"bt1886","primaries":"bt709"}`, 0, 1, 0.0001},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := stage.New(t)
			id := s.Card(s.B, 5600, stage.Day5600, 0, 0, s.Reading, "rgb", c.rgb)
			got, err := cameras.ColorOfSample(s.Book(), id, s.Clock)
			if err != nil || got.White == nil {
				t.Fatalf("got %+v, %v", got, err)
			}
			if u := *got.Uncertainty.Mired; u < c.spread {
				t.Errorf("spread: got %v mired, want at least %v", u, c.spread)
			}
			onStep := func(what string, value, step float64) {
				if n := value / step; n-float64(int(n+0.5)) > 1e-6 || float64(int(n+0.5))-n > 1e-6 {
					t.Errorf("%s: got %v, want a multiple of %v (spread %s)", what, value, step, got.Uncertainty.Words)
				}
			}
			onStep("kelvin", *got.White.CCTKelvin, c.kelvin)
			if !strings.Contains(got.Error.Words, got.Uncertainty.Words) || got.FloorMired == nil {
				t.Errorf("the error does not say its spread: %q, floor %v", got.Error.Words, got.FloorMired)
			}
		})
	}
}
