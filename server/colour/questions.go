package colour

import (
	"fmt"
	"strings"

	"evenwhite/colorimetry"
	"evenwhite/server/command"
)

// The finest digits that are shown of each quantity.
const (
	kelvinDecimals = 0
	miredDecimals  = 0
	duvDecimals    = 4
)

// light is how a light is computed inside carried: CCT, Duv and mired.
func light(l colorimetry.CCTDuv) []float64 {
	return []float64{float64(l.CCT), float64(l.Duv), float64(l.Mired())}
}

// lightText shows the estimates that light began.
func lightText(e []estimate) string {
	return fmt.Sprintf("%s K, Duv %s, %s mired", e[0].plain(kelvinDecimals), e[1].signed(duvDecimals), e[2].plain(miredDecimals))
}

func lightMembers(e []estimate) map[string]any {
	return map[string]any{"cctKelvin": e[0].value, "duv": e[1].value, "mired": e[2].value}
}

func askCCT(a asked) (answer, error) {
	names := []string{"X", "Y"}
	toXY := func(v []float64) (colorimetry.XY, error) { return colorimetry.XY{X: v[0], Y: v[1]}, nil }
	switch {
	case a.uv && a.uvPrime:
		return answer{}, command.Misuse("colour", "-uv and -uvprime exclude each other")
	case a.uv:
		names = []string{"U", "V"}
		toXY = func(v []float64) (colorimetry.XY, error) { return colorimetry.UV{U: v[0], V: v[1]}.XY() }
	case a.uvPrime:
		names = []string{"U'", "V'"}
		toXY = func(v []float64) (colorimetry.XY, error) { return colorimetry.UVPrime{U: v[0], V: v[1]}.XY() }
	}
	in, err := readNumbers(names, a.words)
	if err != nil {
		return answer{}, err
	}
	e, err := carried(in, func(v []float64) ([]float64, error) {
		xy, err := toXY(v)
		if err != nil {
			return nil, err
		}
		l, err := xy.CCTDuv()
		return light(l), err
	})
	if err != nil {
		return answer{}, err
	}
	return answer{lightText(e), lightMembers(e)}, nil
}

func askMired(a asked) (answer, error) {
	in, err := readNumbers([]string{"KELVIN1", "KELVIN2"}, a.words)
	if err != nil {
		return answer{}, err
	}
	e, err := carried(in, func(v []float64) ([]float64, error) {
		white, err := colorimetry.Kelvin(v[0]).Mired()
		if err != nil {
			return nil, err
		}
		light, err := colorimetry.Kelvin(v[1]).Mired()
		return []float64{float64(light - white)}, err
	})
	if err != nil {
		return answer{}, err
	}
	text := fmt.Sprintf("%s mired, %s", e[0].signed(miredDecimals), look(e[0].rounded(miredDecimals), 0))
	return answer{text, map[string]any{"shiftMired": e[0].value}}, nil
}

// look says in words how a light differs in the picture, by the values shown.
func look(mired, duv float64) string {
	var words []string
	switch {
	case mired > 0:
		words = append(words, "warmer")
	case mired < 0:
		words = append(words, "cooler")
	}
	switch {
	case duv > 0:
		words = append(words, "greener")
	case duv < 0:
		words = append(words, "more magenta")
	}
	if len(words) == 0 {
		return "no difference in the picture"
	}
	return strings.Join(words, " and ") + " in the picture"
}
