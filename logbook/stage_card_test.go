package logbook

import (
	"evenwhite/colorimetry"
	"fmt"
	"slices"
)

// pictureOf is the R G B in percent that a camera on a white records of a grey in
// a light: bt1886, bt709, near 42 %.
func (s *stage) pictureOf(light, white colorimetry.CCTDuv) string {
	s.t.Helper()
	l, err := light.XY()
	if err != nil {
		s.t.Fatal(err)
	}
	w, err := white.XY()
	if err != nil {
		s.t.Fatal(err)
	}
	p, err := colorimetry.Picture(l, w, colorimetry.CAT16)
	if err != nil {
		s.t.Fatal(err)
	}
	xy, err := p.XY()
	if err != nil {
		s.t.Fatal(err)
	}
	e := colorimetry.Encoding{Transfer: colorimetry.TransferBT1886, Primaries: colorimetry.BT709}
	c, err := e.Correct([3]float64{0.42, 0.42, 0.42}, xy) // from neutral to the picture
	if err != nil {
		s.t.Fatal(err)
	}
	return fmt.Sprintf(`{"as":"percent","r":%.3f,"g":%.3f,"b":%.3f,"encoding":"bt1886","primaries":"bt709"}`, 42*c.Ratio[0], 42*c.Ratio[1], 42*c.Ratio[2])
}

// card logs a grey card at the diary's time: on kelvin, in a light, by a camera
// whose white is off its label by mired and Duv. No reading: not measured.
func (s *stage) card(camera ID, kelvin float64, light colorimetry.CCTDuv, mired, duv float64, reading ID, more ...string) ID {
	s.t.Helper()
	body := s.bodyA
	if camera == s.b {
		body = s.bodyB
	}
	of := `{"as":"notMeasured"}`
	if !reading.IsZero() {
		of = fmt.Sprintf(`{"as":"reading","reading":%s}`, ref(reading))
	}
	white := shift(colorimetry.CCTDuv{CCT: colorimetry.Kelvin(kelvin)}, mired, duv)
	fields := append([]string{}, more...)
	for _, f := range [][2]string{{"setUp", ref(s.setUp)}, {"camera", ref(camera)}, {"body", ref(body)}, {"rgb", s.pictureOf(light, white)},
		{"settings", fmt.Sprintf(`{"whiteMode":"kelvin","kelvin":%g}`, kelvin)}, {"light", of}, {"takenAt", `"` + s.clock.Time().Format("2006-01-02T15:04:05Z") + `"`}} {
		if !slices.Contains(more, f[0]) {
			fields = append(fields, f[0], f[1])
		}
	}
	return s.add(KindSample, fields...)
}

func (s *stage) match() MatchAnswer {
	s.t.Helper()
	a, err := AnswerMatch(s.book(), Match{SetUp: s.setUp, Camera: s.b, To: s.a}, s.clock)
	if err != nil {
		s.t.Fatal(err)
	}
	return a
}

// shift moves a light by mired and Duv.
func shift(t colorimetry.CCTDuv, mired, duv float64) colorimetry.CCTDuv {
	return colorimetry.CCTDuv{CCT: colorimetry.Kelvin(1e6 / (float64(t.Mired()) + mired)), Duv: t.Duv + colorimetry.Duv(duv)}
}

var day5600 = colorimetry.CCTDuv{CCT: 5600}
