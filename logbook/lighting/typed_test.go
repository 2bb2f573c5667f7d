package lighting_test

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/lighting"
	"evenwhite/logbook/stage"
)

// TestEveryFormOfAReadingIsTheSameColour: illuminant A is x 0.44758, y 0.40745 by
// CIE 15:2004; the other forms are that point by the definitions of the planes.
func TestEveryFormOfAReadingIsTheSameColour(t *testing.T) {
	const x, y = 0.44758, 0.40745
	d := -2*x + 12*y + 3
	for _, form := range []string{
		fmt.Sprintf(`{"as":"xy","x":%v,"y":%v}`, x, y),
		fmt.Sprintf(`{"as":"uvPrime","u":%v,"v":%v}`, 4*x/d, 9*y/d),
		fmt.Sprintf(`{"as":"uv","u":%v,"v":%v}`, 4*x/d, 6*y/d),
		fmt.Sprintf(`{"as":"xyz","x":%v,"y":1,"z":%v}`, x/y, (1-x-y)/y),
	} {
		got := stage.TypedColor(t, form)
		stage.Near(t, form+" x", got.X, x, 1e-9)
		stage.Near(t, form+" y", got.Y, y, 1e-9)
	}
	// 2856 K: the temperature that CIE 15 gives to illuminant A, with today's c2.
	got := stage.TypedColor(t, `{"as":"cctDuv","cctKelvin":2855.5,"duv":0}`)
	stage.Near(t, "x from CCT", got.X, x, 2e-5)
	stage.Near(t, "y from CCT", got.Y, y, 2e-5)
}

func TestAFlatSpectrumIsEqualEnergy(t *testing.T) {
	// Equal energy is x = y = 1/3 by the normalisation of the CIE 1931 observer.
	nm, values := "360", "1"
	for i := 365; i <= 830; i += 5 {
		nm, values = fmt.Sprint(nm, ",", i), values+",1"
	}
	got := stage.TypedColor(t, fmt.Sprintf(`{"as":"spectrum","wavelengthsNm":[%s],"values":[%s]}`, nm, values))
	stage.Near(t, "x", got.X, 1.0/3, 1e-4)
	stage.Near(t, "y", got.Y, 1.0/3, 1e-4)
}

func TestTheSignOfACCReading(t *testing.T) {
	for _, c := range []struct {
		means, color string
		sign         float64
	}{
		{"lightIs", "green", +1}, {"lightIs", "magenta", -1},
		{"filterNeeded", "green", -1}, {"filterNeeded", "magenta", +1},
	} {
		xy := stage.TypedColor(t, fmt.Sprintf(`{"as":"cctCc","cctKelvin":4000,"density":10,"color":%q,"means":%q}`, c.color, c.means))
		got, err := xy.CCTDuv()
		if err != nil {
			t.Fatal(err)
		}
		if float64(got.Duv)*c.sign <= 0.001 {
			t.Errorf("%s %s: got Duv %+.4f, want sign %+g", c.means, c.color, got.Duv, c.sign)
		}
		stage.Near(t, "CCT", float64(got.CCT), 4000, 0.01)
	}
}

// A light of which a meter says that it needs a filter has Duv 0 behind exactly that
// filter. Turning the sign before the model is not the same: 0.0047 off for CC 30 green.
func TestALightIsNeutralBehindTheFilterThatItNeeds(t *testing.T) {
	for _, kelvin := range []float64{2700, 3200, 5600, 10000} {
		for _, cc := range []float64{-15, -5, 5, 15, 30} {
			color := "green"
			if cc < 0 {
				color = "magenta"
			}
			xy := stage.TypedColor(t, fmt.Sprintf(`{"as":"cctCc","cctKelvin":%g,"density":%g,"color":%q,"means":"filterNeeded"}`,
				kelvin, math.Abs(cc), color))
			light, err := xy.CCTDuv()
			if err != nil {
				t.Fatal(err)
			}
			moved, err := colorimetry.CCToDuv(cc, light)
			if err != nil {
				t.Fatal(err)
			}
			stage.Near(t, fmt.Sprintf("%g K behind CC %g %s", kelvin, math.Abs(cc), color), float64(light.Duv+moved), 0, 2e-6)
		}
	}
}

func TestAReadingThatSaysTooLittle(t *testing.T) {
	for _, measured := range []logbook.Value{`{"as":"xy","x":0.3}`, `{"as":"glow"}`, `{"as":"cctCc","cctKelvin":4000}`, ""} {
		if xy, err := lighting.ColorOf(measured); !errors.Is(err, figure.ErrUnknown) {
			t.Errorf("%s: got %v, %v, want ErrUnknown", measured, xy, err)
		}
	}
	for _, measured := range []logbook.Value{`{"as":"xy","x":0.9,"y":0.9}`, `{"as":"cctDuv","cctKelvin":900,"duv":0}`, `{"as":"spectrum","values":[1],"wavelengthsNm":[500]}`} {
		if xy, err := lighting.ColorOf(measured); !errors.Is(err, colorimetry.ErrDomain) {
			t.Errorf("%s: got %v, %v, want ErrDomain", measured, xy, err)
		}
	}
}

func TestFootCandles(t *testing.T) {
	// 1 fc = 10.763910 lx: 1 / 0.3048² by the definition of the foot.
	lux, ok := lighting.IlluminanceOf(`{"unit":"footCandle","value":100}`)
	stage.Near(t, "lux", lux, 100/(0.3048*0.3048), 1e-4)
	if !ok {
		t.Error("got no illuminance")
	}
}
