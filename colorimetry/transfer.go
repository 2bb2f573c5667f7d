package colorimetry

import (
	"fmt"
	"math"
)

// Transfer names the curve between a linear value and the signal that is
// recorded.
type Transfer int

const (
	// TransferLinear is no curve: the signal is the linear value.
	TransferLinear Transfer = iota
	// TransferSRGB is the piecewise curve of sRGB; 1 is white [IEC61966-2-1].
	TransferSRGB
	// TransferBT1886 is the display curve V^2.4 with black at 0 [BT1886].
	TransferBT1886
	// TransferPower is a plain power of Encoding.Gamma.
	TransferPower
	// TransferPQ is the display curve of ST 2084; 1 is 10 000 cd/m² [ST2084].
	TransferPQ
	// TransferHLG is the inverse camera curve of hybrid log-gamma, without the
	// display's system gamma, which leaves chromaticities alone; 1 is peak
	// [BT2100].
	TransferHLG
	// TransferACEScct is the log curve with a toe; 0.18 is mid grey and the signal
	// goes up to 1.468 [ACES2016].
	TransferACEScct
)

func (t Transfer) String() string {
	names := [...]string{"linear", "sRGB", "BT.1886", "power", "PQ", "HLG", "ACEScct"}
	if t < 0 || int(t) >= len(names) {
		return fmt.Sprintf("Transfer(%d)", int(t))
	}
	return names[t]
}

// Encoding says how a picture's R G B signals are to be read.
type Encoding struct {
	Transfer Transfer
	// Gamma is used by TransferPower alone: the power from signal to linear, 1 to
	// 3.
	Gamma     float64
	Primaries Primaries
}

// Check returns ErrDomain unless the transfer is known, its gamma is in range and
// the primaries span a triangle around a white.
func (e Encoding) Check() error {
	if e.Transfer < TransferLinear || e.Transfer > TransferACEScct {
		return domainError("transfer", float64(e.Transfer), "0 (linear) to 6 (ACEScct)")
	}
	if e.Transfer == TransferPower && !(e.Gamma >= 1 && e.Gamma <= 3) {
		return domainError("gamma", e.Gamma, "1 to 3")
	}
	_, err := e.Primaries.toXYZ()
	return err
}

// The signals that a curve takes. Narrow range leaves room below black and above
// white; linear and ACEScct go further up.
const (
	lowestSignal   = -0.1
	highestSignal  = 1.1
	highestLinear  = 65504
	highestACEScct = 1.468
)

func (e Encoding) highest() float64 {
	switch e.Transfer {
	case TransferLinear:
		return highestLinear
	case TransferACEScct:
		return highestACEScct
	}
	return highestSignal
}

// Decode returns the linear value of a signal. Below black the curves of sRGB,
// BT.1886, power and HLG go on mirrored, so that noise around black averages to
// black; PQ stays at 0. ACEScct ends at 65 504, which its highest signal would
// pass by a rounding [ACES2016]. Domain: a signal from −0.1 to 1.1 (ACEScct 1.468, linear
// 65 504), else ErrDomain.
func (e Encoding) Decode(signal float64) (float64, error) {
	if err := e.Check(); err != nil {
		return 0, err
	}
	if !(signal >= lowestSignal && signal <= e.highest()) {
		return 0, domainError(e.Transfer.String()+" signal", signal, fmt.Sprintf("%v to %v", lowestSignal, e.highest()))
	}
	switch e.Transfer {
	case TransferPQ:
		return decodePQ(max(signal, 0)), nil
	case TransferACEScct:
		return decodeACEScct(signal), nil
	case TransferLinear:
		return signal, nil
	}
	return math.Copysign(e.decodePositive(math.Abs(signal)), signal), nil
}

func (e Encoding) decodePositive(v float64) float64 {
	switch e.Transfer {
	case TransferSRGB:
		if v <= 0.04045 {
			return v / 12.92
		}
		return math.Pow((v+0.055)/1.055, 2.4)
	case TransferHLG:
		if v <= 0.5 {
			return v * v / 3
		}
		return (math.Exp((v-hlgC)/hlgA) + hlgB) / 12
	case TransferPower:
		return math.Pow(v, e.Gamma)
	}
	return math.Pow(v, 2.4)
}

// Encode is the inverse of Decode. Domain: a linear value whose signal Decode
// takes, else ErrDomain. PQ encodes nothing below 0.
func (e Encoding) Encode(linear float64) (float64, error) {
	if err := e.Check(); err != nil {
		return 0, err
	}
	if !finite(linear) || e.Transfer == TransferPQ && linear < 0 {
		return 0, domainError("linear value", linear, "finite, and 0 or above for PQ")
	}
	if e.Transfer == TransferACEScct && linear > highestLinear {
		return 0, domainError("linear value", linear, fmt.Sprintf("at most %d in ACEScct", highestLinear))
	}
	var v float64
	switch e.Transfer {
	case TransferPQ:
		v = encodePQ(linear)
	case TransferACEScct:
		v = encodeACEScct(linear)
	case TransferLinear:
		v = linear
	default:
		v = math.Copysign(e.encodePositive(math.Abs(linear)), linear)
	}
	const slack = 1e-12
	if !(v >= lowestSignal-slack && v <= e.highest()+slack) {
		return 0, domainError(e.Transfer.String()+" signal of linear "+fmt.Sprint(linear), v, fmt.Sprintf("%v to %v", lowestSignal, e.highest()))
	}
	return min(max(v, lowestSignal), e.highest()), nil
}

func (e Encoding) encodePositive(l float64) float64 {
	switch e.Transfer {
	case TransferSRGB:
		return encodeSRGB(l)
	case TransferHLG:
		if l <= 1.0/12 {
			return math.Sqrt(3 * l)
		}
		return hlgA*math.Log(12*l-hlgB) + hlgC
	case TransferPower:
		return math.Pow(l, 1/e.Gamma)
	}
	return math.Pow(l, 1/2.4)
}

// The constants of the hybrid log-gamma curve [BT2100].
const (
	hlgA = 0.17883277
	hlgB = 1 - 4*hlgA
	hlgC = 0.55991073
)

// The constants of the PQ curve are exact fractions [ST2084].
const (
	pqM1 = 2610.0 / 16384
	pqM2 = 2523.0 / 4096 * 128
	pqC1 = 3424.0 / 4096
	pqC2 = 2413.0 / 4096 * 32
	pqC3 = 2392.0 / 4096 * 32
)

func decodePQ(v float64) float64 {
	p := math.Pow(v, 1/pqM2)
	return math.Pow(math.Max(p-pqC1, 0)/(pqC2-pqC3*p), 1/pqM1)
}

func encodePQ(l float64) float64 {
	p := math.Pow(l, pqM1)
	return math.Pow((pqC1+pqC2*p)/(1+pqC3*p), pqM2)
}

// The straight toe of ACEScct ends at a linear value of 1/128 [ACES2016].
const (
	acescctSlope  = 10.5402377416545
	acescctOffset = 0.0729055341958355
	acescctLinear = 0.0078125
	acescctSignal = 0.155251141552511
	acescctStop   = 1 / 17.52
	acescctBlack  = 9.72
)

func decodeACEScct(v float64) float64 {
	if v <= acescctSignal {
		return (v - acescctOffset) / acescctSlope
	}
	return min(math.Exp2(v/acescctStop-acescctBlack), highestLinear)
}

func encodeACEScct(l float64) float64 {
	if l <= acescctLinear {
		return acescctSlope*l + acescctOffset
	}
	return (math.Log2(l) + acescctBlack) * acescctStop
}

// CodeRange says how whole code values stand for a signal.
type CodeRange struct {
	// Bits is 8 to 16.
	Bits int
	// Narrow puts black at 16 and white at 235 (times 2^(Bits−8)); otherwise they
	// are 0 and the highest code [BT709, BT2100].
	Narrow bool
}

// Signal returns the signal of a code value, which may be a mean and so need not
// be whole. Domain: 8 to 16 bits and a code from 0 to the highest, else ErrDomain.
func (c CodeRange) Signal(code float64) (float64, error) {
	if c.Bits < 8 || c.Bits > 16 {
		return 0, domainError("bits", float64(c.Bits), "8 to 16")
	}
	if !(code >= 0 && code <= c.top()) {
		return 0, domainError(fmt.Sprintf("code value at %d bits", c.Bits), code, fmt.Sprintf("0 to %v", c.top()))
	}
	black, white := c.ends()
	return (code - black) / (white - black), nil
}

// Code returns the code value of a signal, not rounded. Domain: as Signal.
func (c CodeRange) Code(signal float64) (float64, error) {
	black, white := c.ends()
	code := black + signal*(white-black)
	_, err := c.Signal(code)
	return code, err
}

// Step returns one code as a difference of signals. It assumes checked bits.
func (c CodeRange) Step() float64 {
	black, white := c.ends()
	return 1 / (white - black)
}

func (c CodeRange) top() float64 { return math.Ldexp(1, c.Bits) - 1 }

func (c CodeRange) ends() (black, white float64) {
	if c.Narrow {
		return math.Ldexp(16, c.Bits-8), math.Ldexp(235, c.Bits-8)
	}
	return 0, c.top()
}
