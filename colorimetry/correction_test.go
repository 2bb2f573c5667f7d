package colorimetry

import (
	"errors"
	"testing"

	"pgregory.net/rapid"
)

var drawSignal = rapid.Custom(func(t *rapid.T) [3]float64 {
	v := rapid.Float64Range(0.35, 0.6)
	return [3]float64{v.Draw(t, "R"), v.Draw(t, "G"), v.Draw(t, "B")}
})

func TestCorrectionLandsOnTheTargetAtTheSameLuminance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := drawEncoding.Draw(t, "encoding")
		signal := drawSignal.Draw(t, "signal")
		p, err := Picture(drawWhiteXY(t, "light"), XY{0.38, 0.377}, CAT16)
		if err != nil {
			t.Fatal(err)
		}
		target, err := p.XY()
		if err != nil {
			t.Skip(err)
		}
		c, err := e.Correct(signal, target)
		if err != nil {
			t.Skip(err)
		}
		m := mustXYZ(e.Primaries)
		before, err := e.Linear(signal)
		if err != nil {
			t.Fatal(err)
		}
		was := m.apply(XYZ{before[0], before[1], before[2]})
		is := m.apply(XYZ{before[0] * c.Gain[0], before[1] * c.Gain[1], before[2] * c.Gain[2]})
		if !within(is.Y, was.Y, 1e-12*(1+was.Y)) {
			t.Fatalf("luminance: got %v, want %v", is.Y, was.Y)
		}
		onDisplay, err := CAT16.Adapt(is, e.Primaries.White, D65)
		if err != nil {
			t.Fatal(err)
		}
		if got, err := onDisplay.XY(); err != nil || !within(got.X, target.X, 1e-9) || !within(got.Y, target.Y, 1e-9) {
			t.Fatalf("got %v (%v), want %v", got, err, target)
		}
		for i, v := range signal {
			if got := mustDecode(t, e, v*c.Ratio[i]); !within(got, before[i]*c.Gain[i], 1e-7*(1+got)) {
				t.Fatalf("by ratio, channel %d: got %v, want %v", i, got, before[i]*c.Gain[i])
			}
			if e.Transfer == TransferACEScct {
				if got := mustDecode(t, e, v+c.Offset[i]); !within(got, before[i]*c.Gain[i], 1e-9*(1+got)) {
					t.Fatalf("by offset, channel %d: got %v, want %v", i, got, before[i]*c.Gain[i])
				}
			} else if c.Offset[i] != 0 {
				t.Fatalf("offset of a curve that is no log: got %v, want 0", c.Offset[i])
			}
		}
	})
}

func mustDecode(t *rapid.T, e Encoding, v float64) float64 {
	l, err := e.Decode(v)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

func TestCorrectionToNeutralEvensTheChannels(t *testing.T) {
	e := Encoding{TransferLinear, 0, BT709}
	c, err := e.Correct([3]float64{0.30, 0.20, 0.10}, D65)
	if err != nil {
		t.Fatal(err)
	}
	// BT.709 luminance: 0.2126·0.30 + 0.7152·0.20 + 0.0722·0.10 = 0.21404.
	for i, want := range []float64{0.21404 / 0.30, 0.21404 / 0.20, 0.21404 / 0.10} {
		if !within(c.Gain[i], want, 5e-4) {
			t.Errorf("channel %d: got a gain of %v, want %v", i, c.Gain[i], want)
		}
	}
	if !c.LiftsHighlights {
		t.Errorf("got no warning about a gain of %v, want one", c.Gain[2])
	}
	if c, err := e.Correct([3]float64{0.20, 0.20, 0.20}, D65); err != nil || c.LiftsHighlights || !within(c.Gain[0], 1, 1e-9) {
		t.Errorf("a neutral patch: got %+v (%v), want gains of 1", c, err)
	}
}

func TestOneStopOfACEScctIsItsOffset(t *testing.T) {
	e := Encoding{TransferACEScct, 0, ACES1}
	grey, err := e.Encode(0.18)
	if err != nil {
		t.Fatal(err)
	}
	brighter, err := e.Encode(0.36)
	if err != nil {
		t.Fatal(err)
	}
	// ACES S-2016-001: 17.52 stops in one unit of signal.
	if !within(brighter-grey, 1/17.52, 1e-12) {
		t.Errorf("got %v, want %v", brighter-grey, 1/17.52)
	}
}

func TestCorrectionRefusesWhatItCannotReach(t *testing.T) {
	e := Encoding{TransferSRGB, 0, BT709}
	grey := [3]float64{0.46, 0.46, 0.46}
	for name, err := range map[string]error{
		"a target outside the primaries": second(e.Correct(grey, XY{0.70, 0.29})),
		"a target that is no colour":     second(e.Correct(grey, XY{})),
		"a black channel":                second(e.Correct([3]float64{0.46, 0, 0.46}, D65)),
		"a signal off the curve":         second(e.Correct([3]float64{0.46, 46, 0.46}, D65)),
		"the toe of a log curve":         second(Encoding{TransferACEScct, 0, ACES1}.Correct([3]float64{0.12, 0.4, 0.4}, D65)),
	} {
		t.Run(name, func(t *testing.T) {
			if !errors.Is(err, ErrDomain) {
				t.Errorf("got %v, want ErrDomain", err)
			}
		})
	}
}

func FuzzCorrectIsACorrectionOrAnError(f *testing.F) {
	f.Add(1, 0.46, 0.45, 0.47, 0.3127, 0.3290)
	f.Add(6, 0.156, 1.4, 0.2, 0.64, 0.33)
	f.Fuzz(func(t *testing.T, transfer int, r, g, b, x, y float64) {
		c, err := Encoding{Transfer(transfer), 2.2, BT2020}.Correct([3]float64{r, g, b}, XY{x, y})
		if err != nil {
			if !errors.Is(err, ErrDomain) {
				t.Fatal(err)
			}
			return
		}
		for i := range 3 {
			if !finite(c.Gain[i], c.Offset[i], c.Ratio[i]) {
				t.Fatalf("got %+v", c)
			}
		}
	})
}
