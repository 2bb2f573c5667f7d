package picture

import (
	"fmt"
	"math"
	"time"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/glance"
	"evenwhite/logbook/setup"
)

func recordID(n int) logbook.ID {
	return logbook.ID{0: 1, 6: 0x70, 8: 0x80, 14: byte(n >> 8), 15: byte(n)}
}

func pointer[T any](v T) *T { return &v }

// shown is a colour as an answer has it.
func shown(kelvin, duv float64) figure.Shown {
	xy, err := colorimetry.CCTDuv{CCT: colorimetry.Kelvin(kelvin), Duv: colorimetry.Duv(duv)}.XY()
	if err != nil {
		panic(err)
	}
	uv := xy.UVPrime()
	return figure.Shown{UPrime: math.Round(uv.U*1e4) / 1e4, VPrime: math.Round(uv.V*1e4) / 1e4, CCTKelvin: &kelvin,
		Mired: pointer(math.Round(1e6 / kelvin)), Duv: &duv,
		FloorMired: pointer(3.0), FloorDuv: pointer(0.001), Words: fmt.Sprintf("%.0f K, Duv %+.4f", kelvin, duv)}
}

func coloured(u, v float64) figure.Shown {
	return figure.Shown{UPrime: u, VPrime: v, Words: "coloured, no CCT"}
}

func light(n int, name string, c figure.Shown, within *bool) glance.PlanePoint {
	return glance.PlanePoint{Mark: "light", Key: fmt.Sprint(n), Record: recordID(n), Name: name, Role: "fill", Intent: "match",
		Color: c, Within: within, Words: c.Words}
}

// circle stands for a ring.
func circle(about string, c figure.Shown, steps float64) glance.PlaneRing {
	r := glance.PlaneRing{About: about, Roles: []string{"key"}, Steps: steps, Words: fmt.Sprintf("limit of key: %g steps", steps)}
	for i := range 36 {
		a := float64(i) * math.Pi / 18
		r.UV = append(r.UV, glance.PlaneSpot{UPrime: c.UPrime + steps*0.0011*math.Cos(a), VPrime: c.VPrime + steps*0.0011*math.Sin(a)})
	}
	return r
}

// jetty is a night: the white cool on purpose, a bulb, a beacon, a panel that is off.
func jetty() glance.SetUpPlane {
	white, aim := shown(5600, 0.0012), shown(3870, 0.0012)
	yes, no := pointer(true), pointer(false)
	plane := glance.SetUpPlane{Name: "31 A", StepUV: 0.0011,
		Headline: "panel behind the boat 25 mired too warm; B slightly cool", Old: "old readings: moon (2 h): meter again",
		Words: "white 5600 K, Duv +0.0012; 4 lights and 2 cameras",
		Points: []glance.PlanePoint{
			{Mark: "white", Key: "white", Record: recordID(90), Name: "white", Color: white, Words: "5600 K, Duv +0.0012, moon, measured"},
			light(1, "moon", white, yes), light(2, "bulb in the hut", shown(2510, -0.0004), nil),
			light(3, "red beacon", coloured(0.4507, 0.5228), yes), light(4, "panel behind the boat", shown(4900, -0.004), no),
			{Mark: "mix", Key: "mix", Name: "mix", Color: shown(4100, -0.0101), Words: "4100 K, Duv -0.0101"},
			{Mark: "aim", Key: "aim", Name: "aim of A, B", Color: aim, Words: "3870 K, Duv +0.0012, cool night: the white is to look 80 mired cooler"},
			{Mark: "camera", Key: "A", Record: recordID(91), Name: "camera A", Color: shown(3870, 0.001), Within: yes, Words: "at 3870 K, tint +2, by its label 3870 K, Duv +0.0010"},
			{Mark: "camera", Key: "B", Record: recordID(92), Name: "camera B", Color: shown(3984, 0.0007), Within: no, Words: "at 3900 K, by cards 3984 K, Duv +0.0007 ±1.5 mired"},
		},
		Rings:    []glance.PlaneRing{circle("aim", aim, 4), circle("white", white, 5)},
		Unplaced: []glance.Unplaced{{Record: recordID(5), Name: "lamp on the mast", Problem: "it was not measured"}},
	}
	plane.Points[4].Too, plane.Points[8].Too = "25 mired too warm", "slightly cool"
	return plane
}

var noon = time.Date(2031, 3, 4, 12, 0, 0, 0, time.UTC)

// afternoon is a window that falls and a white that follows it once.
func afternoon() setup.SetUpDrift {
	first, second := shown(5600, 0.003), shown(6100, 0.0035)
	at := noon.Add(70 * time.Minute)
	d := setup.SetUpDrift{Name: "12 A", At: noon.Add(3 * time.Hour), TimeZone: "Europe/Berlin",
		Headline: "window: 13 mired cooler in 60 min, out of limits 13:55 UTC",
		Words:    "lights: 2, readings: 8, whites: 2, takes: 9",
		Whites: []setup.WhiteStep{
			{White: recordID(80), Until: &at, Color: &first, Words: "5600 K, Duv +0.0030, window, measured"},
			{White: recordID(81), From: &at, Color: &second, Words: "6100 K, Duv +0.0035, window, measured"},
		}}
	window := setup.LightDrift{Light: recordID(1), Key: "1", Name: "window", Role: "key", Intent: "match",
		Words:  "13 mired cooler, Duv 0.0004 greener in 60 min, 6 readings",
		Limits: &figure.Limits{Role: "key", Mired: 10, DuvGreen: 0.003, DuvMagenta: 0.003, Steps: 5}}
	for i, k := range []float64{5600, 5640, 5720, 5800, 5930, 6040} {
		c := shown(k, 0.003+0.0001*float64(i))
		window.Readings = append(window.Readings, setup.DriftReading{Reading: recordID(10 + i),
			TakenAt: noon.Add(time.Duration(12*i) * time.Minute), Sky: "sun", Color: &c,
			IlluminanceLux: pointer(640 - 35*float64(i)), StepsOff: pointer(float64(i))})
	}
	leaves := noon.Add(115 * time.Minute)
	window.Trend = &setup.Drift{Words: window.Words, Headline: "13 mired cooler in 60 min, out of limits 13:55 UTC",
		LeavesAt: &leaves, Line: []setup.LinePoint{
			{At: window.Readings[0].TakenAt, Mired: 179, Duv: 0.003}, {At: window.Readings[5].TakenAt, Mired: 166, Duv: 0.0035},
			{At: noon.Add(2 * time.Hour), Mired: 153, Duv: 0.004}}}
	sign := setup.LightDrift{Light: recordID(2), Key: "2", Name: "neon sign", Role: "practical", Intent: "holdOwnColor",
		Words:    "too few readings for a drift: 2 of 4",
		OwnColor: pointer(coloured(0.4507, 0.5228)),
		Limits:   &figure.Limits{Role: "practical", Mired: 15, DuvGreen: 0.005, DuvMagenta: 0.005, Steps: 7}}
	for i, steps := range []float64{0, 3.2} {
		sign.Readings = append(sign.Readings, setup.DriftReading{Reading: recordID(20 + i),
			TakenAt: noon.Add(time.Duration(50*i) * time.Minute), Color: pointer(coloured(0.4507, 0.5228)), StepsOff: &steps})
	}
	sign.Readings[1].Changed = []string{"level from 40 to 25"}
	d.Lights = []setup.LightDrift{window, sign}
	for i, m := range []int{15, 22, 26, 31, 44, 58, 71, 73, 88} {
		d.Takes = append(d.Takes, setup.TakeMark{Take: recordID(40 + i), Name: fmt.Sprintf("take %d", i+1), Key: fmt.Sprint(i + 1),
			At: noon.Add(time.Duration(m) * time.Minute)})
	}
	return d
}

// screens are three lights, two cameras, one light that no display can show.
func screens() glance.SetUpSwatches {
	s := glance.SetUpSwatches{Name: "31 A", Words: "8 predicted pictures, 3 of them stronger than the display can show",
		Neutral: figure.Swatch{R: 170, G: 170, B: 170},
		Display: glance.SwatchDisplay{Name: "sRGB", Standard: "IEC 61966-2-1", White: "D65", GreyPercent: 40, Words: "a grey of 40 % on a display of sRGB (IEC 61966-2-1), white D65; adapted by CAT16"},
		Whites: []glance.SwatchWhite{
			{Key: "aim", White: pointer(shown(3870, 0.0012)), Words: "as it is meant to look, 3870 K, Duv +0.0012"},
			{Key: "A", Camera: recordID(91), White: pointer(shown(3870, 0.001)), Words: "at 3870 K, tint +2, by its label 3870 K, Duv +0.0010"},
			{Key: "B", Camera: recordID(92), White: pointer(shown(3984, 0.0007)), Words: "at 3900 K, by cards 3984 K, Duv +0.0007 ±1.5 mired"},
		}}
	add := func(n int, name string, c figure.Shown, swatches ...figure.Swatch) {
		l := glance.SwatchLight{Light: recordID(n), Key: fmt.Sprint(n), Name: name, Role: "practical", Color: &c}
		for i := range swatches {
			l.Pictures = append(l.Pictures, glance.SwatchCell{Key: s.Whites[i].Key, Swatch: &swatches[i],
				Cast: &figure.Difference{Words: "80 mired cooler"}})
		}
		s.Lights = append(s.Lights, l)
	}
	add(1, "moon", shown(5600, 0.0012),
		figure.Swatch{R: 142, G: 172, B: 214}, figure.Swatch{R: 142, G: 172, B: 213}, figure.Swatch{R: 145, G: 172, B: 209})
	add(2, "bulb in the hut", shown(2510, -0.0004),
		figure.Swatch{R: 211, G: 160, B: 112}, figure.Swatch{R: 210, G: 160, B: 111}, figure.Swatch{R: 212, G: 159, B: 108})
	add(3, "red beacon", coloured(0.4507, 0.5228),
		figure.Swatch{R: 255, G: 134, B: 133, Clipped: true}, figure.Swatch{R: 255, G: 134, B: 133, Clipped: true})
	s.Lights[2].Pictures = append(s.Lights[2].Pictures, glance.SwatchCell{Key: "B", Problem: "the light is too saturated for this white"})
	s.Lights = append(s.Lights, glance.SwatchLight{Light: recordID(4), Key: "4", Name: "lamp on the mast", Problem: "it was not measured"})
	return s
}
