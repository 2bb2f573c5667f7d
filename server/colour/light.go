package colour

import (
	"fmt"
	"strings"

	"evenwhite/colorimetry"
	"evenwhite/server/command"
)

// The finest digits that are shown of a place in x y and of an illuminance.
const (
	xyDecimals  = 5
	luxDecimals = 3
)

// readPair reads two numbers of which the second may be left out, with its comma:
// it is then exactly 0.
func readPair(first, second, word string) ([]number, error) {
	a, b, both := strings.Cut(word, ",")
	if !both {
		n, err := readNumber(first, a)
		return []number{n, {}}, err
	}
	return readNumbers([]string{first, second}, []string{a, b})
}

// readLight reads KELVIN or KELVIN,DUV.
func readLight(word string) ([]number, error) { return readPair("KELVIN", "DUV", word) }

// checkedLight is the light of two values that readLight began.
func checkedLight(v []float64) (colorimetry.CCTDuv, error) {
	l := colorimetry.CCTDuv{CCT: colorimetry.Kelvin(v[0]), Duv: colorimetry.Duv(v[1])}
	return l, l.Check()
}

func askXY(a asked) (answer, error) {
	in, err := readNumbers([]string{"KELVIN", "DUV"}, a.words)
	if err != nil {
		return answer{}, err
	}
	if len(in) == 1 {
		in = append(in, number{})
	}
	e, err := carried(in, func(v []float64) ([]float64, error) {
		l, err := checkedLight(v)
		if err != nil {
			return nil, err
		}
		xy, err := l.XY()
		return []float64{xy.X, xy.Y}, err
	})
	if err != nil {
		return answer{}, err
	}
	text := fmt.Sprintf("x %s, y %s", e[0].plain(xyDecimals), e[1].plain(xyDecimals))
	return answer{text, map[string]any{"x": e[0].value, "y": e[1].value}}, nil
}

func askMix(a asked) (answer, error) {
	var in []number
	for _, word := range a.words {
		l, lux, found := strings.Cut(word, "@")
		if !found {
			return answer{}, command.Misuse("colour", "%q has no illuminance; allowed is KELVIN@LUX or KELVIN,DUV@LUX", word)
		}
		numbers, err := readLight(l)
		if err != nil {
			return answer{}, err
		}
		at, err := readNumber("LUX", lux)
		if err != nil {
			return answer{}, err
		}
		in = append(append(in, numbers...), at)
	}
	e, err := carried(in, mixed)
	if err != nil {
		return answer{}, err
	}
	members := lightMembers(e)
	members["illuminanceLux"], members["x"], members["y"] = e[3].value, e[4].value, e[5].value
	return answer{lightText(e) + ", " + e[3].plain(luxDecimals) + " lux", members}, nil
}

// mixed mixes lights of three values each: KELVIN, DUV and LUX.
func mixed(v []float64) ([]float64, error) {
	var lights []colorimetry.Lit
	for i := 0; i < len(v); i += 3 {
		l, err := checkedLight(v[i:])
		if err != nil {
			return nil, err
		}
		xy, err := l.XY()
		if err != nil {
			return nil, err
		}
		lights = append(lights, colorimetry.Lit{Light: xy, Lux: colorimetry.Lux(v[i+2])})
	}
	mix, err := colorimetry.Mix(lights)
	if err != nil {
		return nil, err
	}
	l, err := mix.Light.CCTDuv()
	return append(light(l), float64(mix.Lux), mix.Light.X, mix.Light.Y), err
}

func askAim(a asked) (answer, error) {
	in, err := readLight(a.words[0])
	if err != nil {
		return answer{}, err
	}
	intended, err := readPair("MIRED", "DUV", a.words[1])
	if err != nil {
		return answer{}, err
	}
	e, err := carried(append(in, intended...), func(v []float64) ([]float64, error) {
		reference, err := checkedLight(v)
		if err != nil {
			return nil, err
		}
		aim, err := colorimetry.Aim(reference, colorimetry.Cast{Mired: colorimetry.Mired(v[2]), Duv: colorimetry.Duv(v[3])})
		return light(aim), err
	})
	if err != nil {
		return answer{}, err
	}
	return answer{lightText(e), lightMembers(e)}, nil
}
