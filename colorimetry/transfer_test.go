package colorimetry

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"
)

func encodingOf(t Transfer) Encoding { return Encoding{t, 2.2, BT709} }

func TestDecodeAtThePublishedPoints(t *testing.T) {
	for _, row := range checkRows(t, "transfer.json") {
		t.Run(row.Name, func(t *testing.T) {
			got, err := encodingOf(Transfer(row.in[0])).Decode(row.in[1])
			if err != nil {
				t.Fatal(err)
			}
			row.compare(t, got)
		})
	}
}

func TestSignalOfCodeValues(t *testing.T) {
	for _, row := range checkRows(t, "code-range.json") {
		t.Run(row.Name, func(t *testing.T) {
			c := CodeRange{int(row.in[0]), row.in[1] == 1}
			got, err := c.Signal(row.in[2])
			if err != nil {
				t.Fatal(err)
			}
			row.compare(t, got)
			if back, err := c.Code(got); err != nil || !within(back, row.in[2], 1e-9) {
				t.Errorf("back: got code %v (%v), want %v", back, err, row.in[2])
			}
		})
	}
}

func TestEncodeUndoesDecodeAndBothRise(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := encodingOf(rapid.SampledFrom([]Transfer{
			TransferLinear, TransferSRGB, TransferBT1886, TransferPower, TransferPQ, TransferHLG, TransferACEScct,
		}).Draw(t, "transfer"))
		v := rapid.Float64Range(0.02, 1.09).Draw(t, "signal")
		linear, err := e.Decode(v)
		if err != nil {
			t.Fatal(err)
		}
		back, err := e.Encode(linear)
		if err != nil {
			t.Fatal(err)
		}
		// The published pieces of sRGB and HLG meet to some 1e-8 only.
		if !within(back, v, 1e-7) {
			t.Fatalf("got %v back, want %v", back, v)
		}
		if next, err := e.Decode(v + 0.01); err != nil || !(next > linear) {
			t.Fatalf("got %v (%v) for a greater signal, want above %v", next, err, linear)
		}
	})
}

func TestTransferRefusesWhatIsOffTheCurve(t *testing.T) {
	for name, err := range map[string]error{
		"an unknown transfer":         second(encodingOf(7).Decode(0.5)),
		"a gamma of 0":                second(Encoding{TransferPower, 0, BT709}.Decode(0.5)),
		"primaries on one line":       second(Encoding{TransferSRGB, 0, Primaries{D65, D65, D65, D65}}.Decode(0.5)),
		"a code taken for a signal":   second(encodingOf(TransferSRGB).Decode(118)),
		"NaN":                         second(encodingOf(TransferPQ).Decode(math.NaN())),
		"negative light in PQ":        second(encodingOf(TransferPQ).Encode(-0.1)),
		"light above the curve":       second(encodingOf(TransferSRGB).Encode(2)),
		"a code above the highest":    second(CodeRange{8, false}.Signal(256)),
		"7 bits":                      second(CodeRange{7, false}.Signal(20)),
		"a negative code":             second(CodeRange{10, true}.Signal(-1)),
		"a signal above the top code": second(CodeRange{10, true}.Code(1.2)),
	} {
		t.Run(name, func(t *testing.T) {
			if !errors.Is(err, ErrDomain) {
				t.Errorf("got %v, want ErrDomain", err)
			}
		})
	}
}

func FuzzDecodeIsANumberOrAnError(f *testing.F) {
	f.Add(1, 0.5, 2.2)
	f.Add(4, -0.1, 0.0)
	f.Add(6, 1.468, math.Inf(1))
	f.Fuzz(func(t *testing.T, transfer int, signal, gamma float64) {
		e := Encoding{Transfer(transfer), gamma, BT2020}
		linear, err := e.Decode(signal)
		if err == nil && !finite(linear) || err != nil && !errors.Is(err, ErrDomain) {
			t.Fatalf("got %v, %v", linear, err)
		}
		if _, err := e.Encode(signal); err != nil && !errors.Is(err, ErrDomain) {
			t.Fatal(err)
		}
	})
}

func TestEncodeAtThePublishedPoints(t *testing.T) {
	for _, row := range checkRows(t, "transfer.json") {
		t.Run(row.Name, func(t *testing.T) {
			e := encodingOf(Transfer(row.in[0]))
			got, err := e.Encode(row.want[0])
			if err != nil {
				t.Fatal(err)
			}
			// What the printed digits of the linear value leave open.
			low, err := e.Encode(max(row.want[0]-row.tolerance[0], 0))
			if err != nil {
				t.Fatal(err)
			}
			if open := got - low + 1e-9; !within(got, row.in[1], max(2*open, halfUnit(row.In[1].String()))) {
				t.Errorf("got %v, want %v within %v", got, row.in[1], 2*open)
			}
		})
	}
}

func TestEncodeAtTheNominalSignalLevels(t *testing.T) {
	for _, row := range checkRows(t, "bt2408.json") {
		t.Run(row.Name, func(t *testing.T) {
			got, err := encodingOf(Transfer(row.in[0])).Encode(row.in[1])
			if err != nil {
				t.Fatal(err)
			}
			row.compare(t, 100*got)
		})
	}
}

func TestCodeValuesRiseEvenlyAndComeBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := CodeRange{rapid.IntRange(8, 16).Draw(t, "bits"), rapid.Bool().Draw(t, "narrow")}
		code := float64(rapid.IntRange(0, int(c.top())-1).Draw(t, "code"))
		signal, err := c.Signal(code)
		if err != nil {
			t.Fatal(err)
		}
		next, err := c.Signal(code + 1)
		if err != nil {
			t.Fatal(err)
		}
		if !within(next-signal, c.Step(), 1e-12) {
			t.Errorf("%v: from code %v to the next: got %v, want a step of %v", c, code, next-signal, c.Step())
		}
		if back, err := c.Code(signal); err != nil || !within(back, code, 1e-7) {
			t.Errorf("%v: got code %v (%v), want %v", c, back, err, code)
		}
	})
}

func TestEveryNameIsItsOwn(t *testing.T) {
	names := map[string]bool{}
	for c := TransferLinear; c <= TransferACEScct; c++ {
		names[c.String()] = true
	}
	if len(names) != 7 || names[""] {
		t.Errorf("got the names %v, want seven of curves", names)
	}
	if name := Transfer(7).String(); name != "Transfer(7)" {
		t.Errorf("an unknown one: got %q, want Transfer(7)", name)
	}
}

func TestStepsBetweenBlackAndWhite(t *testing.T) {
	for _, row := range checkRows(t, "code-step.json") {
		t.Run(row.Name, func(t *testing.T) { row.compare(t, 1/CodeRange{int(row.in[0]), row.in[1] == 1}.Step()) })
	}
}

// The curve ends at the greatest half float, between two signals of four decimals [ACES2016].
func TestACEScctEndsAtTheGreatestHalfFloat(t *testing.T) {
	e := Encoding{TransferACEScct, 0, ACES1}
	if got, err := e.Decode(highestACEScct); got != 65504 || err != nil {
		t.Errorf("decoded: got %v, %v, want 65504", got, err)
	}
	if got, err := e.Encode(65504); !within(got, 1.4679963, 1e-7) || err != nil {
		t.Errorf("encoded: got %v, %v, want 1.4679963", got, err)
	}
	if got, err := e.Encode(65505); !errors.Is(err, ErrDomain) {
		t.Errorf("beyond it: got %v, %v, want ErrDomain", got, err)
	}
}
