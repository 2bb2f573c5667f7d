package advice_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/advice"
	"evenwhite/logbook/cameras"
	"evenwhite/logbook/stage"
)

// The log footage of these tests is invented: 0.07 of the signal a stop, with a foot below which
// it is none, in the primaries of no maker, at 10 bits.
const (
	logStop, logFoot, logGrey = 0.07, 0.004, 0.40 // the last of a linear 0.18
	wideXY                    = `"primariesXY":{"redX":0.76,"redY":0.31,"greenX":0.21,"greenY":0.93,"blueX":0.09,"blueY":-0.07,"whiteX":0.3127,"whiteY":0.3290}`
)

var wide = colorimetry.Encoding{Primaries: colorimetry.Primaries{
	R: colorimetry.XY{X: 0.76, Y: 0.31}, G: colorimetry.XY{X: 0.21, Y: 0.93}, B: colorimetry.XY{X: 0.09, Y: -0.07}, White: colorimetry.D65}}

func logSignal(linear float64) float64 {
	return logGrey + logStop*(math.Log2(linear+logFoot)-math.Log2(0.18+logFoot))
}

func fromLog(signal float64) float64 {
	return math.Exp2((signal-logGrey)/logStop+math.Log2(0.18+logFoot)) - logFoot
}

// wideGrey is the linear R G B of a grey in a light, by a camera on a white.
func wideGrey(t *testing.T, level float64, light, white colorimetry.CCTDuv) (rgb [3]float64) {
	t.Helper()
	c, err := wide.Correct([3]float64{level, level, level}, pictureIn(t, light, white))
	if err != nil {
		t.Fatal(err)
	}
	for i := range rgb {
		rgb[i] = level * c.Gain[i]
	}
	return rgb
}

func pictureIn(t *testing.T, light, white colorimetry.CCTDuv) colorimetry.XY {
	t.Helper()
	l, err := light.XY()
	if err != nil {
		t.Fatal(err)
	}
	w, err := white.XY()
	if err != nil {
		t.Fatal(err)
	}
	xy, err := cameras.PictureXY(l, w)
	if err != nil {
		t.Fatal(err)
	}
	return xy
}

// stepsFrom is how far linear R G B lies from a picture.
func stepsFrom(t *testing.T, rgb [3]float64, picture colorimetry.XY) float64 {
	t.Helper()
	xy, err := wide.Chromaticity(rgb)
	if err != nil {
		t.Fatal(err)
	}
	return xy.UVPrime().Distance(picture.UVPrime()) / colorimetry.StepUVPrime
}

// logCard logs a card by B, on 4300 K in 5600 K, in the invented log.
func logCard(s *stage.Stage, clip logbook.ID, primaries string) {
	s.T.Helper()
	rgb := wideGrey(s.T, 0.18, stage.Day5600, colorimetry.CCTDuv{CCT: 4300})
	var codes [3]float64
	for i, v := range rgb {
		codes[i] = math.Round(1023 * logSignal(v))
	}
	s.Card(s.B, 4300, stage.Day5600, 0, 0, s.Reading, "clip", stage.Ref(clip), "rgb", fmt.Sprintf(
		`{"as":"codeValues","r":%g,"g":%g,"b":%g,"bits":10,"range":"full","encoding":"log","primaries":"camera"%s}`, codes[0], codes[1], codes[2], primaries))
}

// added is a grey with what a correction adds to its codes.
func added(c cameras.Correction, rgb [3]float64) (out [3]float64) {
	for i, more := range [...]float64{c.CodeOffset.R, c.CodeOffset.G, c.CodeOffset.B} {
		out[i] = fromLog((math.Round(1023*logSignal(rgb[i])) + more) / 1023)
	}
	return out
}

// The codes of a card in log go to neutral by themselves: no curve and no primaries are asked.
func TestTheCodesOfALogCardGoToNeutral(t *testing.T) {
	s := stage.New(t)
	s.Set(s.BodyB, "recordingModes/main", `{"name":"main","white":"baked","encoding":"log","primaries":"camera"}`)
	s.Minute(5)
	_, _, clip := s.Shoot("5600", "4300")
	logCard(s, clip, "")
	got := correctionsOf(s, clip)
	n := got.ToNeutral
	if got.Basis != "card" || n.Takes != "offset" || n.CodeOffset == nil || n.CodeOffset.G != 0 || n.Gain != nil || n.Stops != nil ||
		!strings.Contains(n.InWords(), "offsets in codes R ") {
		t.Fatalf("got basis %q, %+v", got.Basis, n)
	}
	for _, level := range []float64{0.18, 0.36, 0.72} {
		rgb := wideGrey(t, level, stage.Day5600, colorimetry.CCTDuv{CCT: 4300})
		before, after := stepsFrom(t, rgb, colorimetry.D65), stepsFrom(t, added(n, rgb), colorimetry.D65)
		t.Logf("linear %g: %.1f steps from neutral, %.2f after it", level, before, after)
		if before < 20 || after >= 1 {
			t.Errorf("linear %g: %.1f steps from neutral, %.2f after it; want below 1", level, before, after)
		}
	}
	if i := got.ToIntent; i.Takes != "" || !strings.Contains(i.Problem, "primaries") || *i.Cast.Mired != -54 {
		t.Errorf("to intent: got %+v, want only how far it is off", i)
	}
}

// With typed primaries and the codes of one stop a log card goes to the intent too.
func TestALogCardGoesToTheIntentByStops(t *testing.T) {
	s := stage.New(t)
	s.Set(s.BodyB, "recordingModes/main",
		fmt.Sprintf(`{"name":"main","white":"baked","encoding":"log","primaries":"camera","bits":12,"range":"full","stopCodes":%.3f}`, logStop*4095))
	s.Minute(3)
	s.Add("white", "setUp", stage.Ref(s.SetUp), "from", `{"as":"nominal","kelvin":5600,"locus":"blackBody"}`,
		"appliesFrom", `{"as":"time","at":`+stage.Stamp(3)+`}`, "intendedCast", `{"mired":-40}`)
	s.Minute(5)
	_, _, clip := s.Shoot("5600", "4300")
	logCard(s, clip, ","+wideXY)
	got := correctionsOf(s, clip)
	i := got.ToIntent
	if i.Takes != "offset" || i.CodeOffset == nil {
		t.Fatalf("got %+v", i)
	}
	wanted := pictureIn(t, stage.Day5600, stage.Shift(stage.Day5600, 40, 0))
	for _, level := range []float64{0.18, 0.36, 0.72} {
		rgb := added(i, wideGrey(t, level, stage.Day5600, colorimetry.CCTDuv{CCT: 4300}))
		if off := stepsFrom(t, rgb, wanted); off >= 1 {
			t.Errorf("linear %g: %.2f steps from the intent, want below 1", level, off)
		}
	}
}

// Factors without a card are those of the typed primaries; in others they would leave a cast.
func TestFactorsAreThoseOfTheTypedPrimaries(t *testing.T) {
	s := stage.New(t)
	s.Minute(5)
	_, _, clip := s.Shoot("5600", "4300")
	rgb := wideGrey(t, 0.18, stage.Day5600, colorimetry.CCTDuv{CCT: 4300})
	left := func(mode string) float64 {
		t.Helper()
		s.Set(s.BodyB, "recordingModes/main", `{"name":"main","white":"baked",`+mode+`}`)
		n := correctionsOf(s, clip).ToNeutral
		if n.Gain == nil {
			t.Fatalf("%s: got %+v", mode, n)
		}
		return stepsFrom(t, [3]float64{rgb[0] * n.Gain.R, rgb[1] * n.Gain.G, rgb[2] * n.Gain.B}, colorimetry.D65)
	}
	if off := left(`"encoding":"linear","primaries":"camera",` + wideXY); off > 0.1 {
		t.Errorf("by the typed primaries: %.2f steps are left", off)
	}
	if off := left(`"encoding":"linear","primaries":"bt709"`); off < 5 {
		t.Errorf("by those of bt709: %.2f steps are left; the typed ones were none worth typing", off)
	}
	// In log of which a stop is known the factors are offsets, also without a card.
	s.Set(s.BodyB, "recordingModes/main", fmt.Sprintf(
		`{"name":"main","white":"baked","encoding":"log","primaries":"camera","bits":10,"range":"full","stopCodes":%.3f,%s}`, logStop*1023, wideXY))
	n := correctionsOf(s, clip).ToNeutral
	if n.Takes != "offset" || n.CodeOffset == nil {
		t.Fatalf("got %+v", n)
	}
	bright := wideGrey(t, 0.72, stage.Day5600, colorimetry.CCTDuv{CCT: 4300}) // away from the foot
	if off := stepsFrom(t, added(n, bright), colorimetry.D65); off >= 1 {
		t.Errorf("by offsets of stops: %.2f steps are left, want below 1", off)
	}
}

// A card whose curve is of no log goes to neutral at its level, and a clipped one nowhere.
func TestCodesOfOtherCurvesAreARatio(t *testing.T) {
	for _, c := range []struct{ encoding, clipped, takes string }{
		{"other", "0", "codeRatio"}, {"bt1886", "0", "codeRatio"}, {"linear", "0", "slope"}, {"acesCct", "0", "offset"}, {"log", "2", ""},
	} {
		s := stage.New(t)
		s.Minute(5)
		_, _, clip := s.Shoot("5600", "4300")
		id := s.Card(s.B, 4300, stage.Day5600, 0, 0, s.Reading, "clip", stage.Ref(clip), "clippedPercent", c.clipped, "rgb",
			fmt.Sprintf(`{"as":"percent","r":30,"g":40,"b":50,"encoding":%q,"primaries":"camera"}`, c.encoding))
		got, err := advice.Correct(s.Book(), clip, s.Clock)
		if err != nil {
			t.Fatal(err)
		}
		n := got.ToNeutral
		var red, blue float64
		switch {
		case n.Offset != nil:
			red, blue = 0.3+n.Offset.R, 0.5+n.Offset.B
		case n.Ratio != nil:
			red, blue = 0.3*n.Ratio.R, 0.5*n.Ratio.B
		case n.Gain != nil:
			red, blue = 0.3*n.Gain.R, 0.5*n.Gain.B
		}
		if n.Takes != c.takes || c.takes != "" && (math.Abs(red-0.4) > 1e-4 || math.Abs(blue-0.4) > 1e-4) || c.takes == "" && n.Problem == "" {
			t.Errorf("%s, %s %% clipped: got %+v, red to %g and blue to %g; want %q and 0.4", c.encoding, c.clipped, n, red, blue, c.takes)
		}
		said, err := cameras.ColorOfSample(s.Book(), id, s.Clock)
		if err != nil || said.Problem == "" || said.ToNeutral == nil || said.ToNeutral.Takes != c.takes {
			t.Errorf("%s: the card says %+v, %v", c.encoding, said, err)
		}
	}
}
