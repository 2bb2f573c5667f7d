package stage

import (
	"fmt"
	"slices"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/advice"
	"evenwhite/logbook/kinds"
)

// PictureOf is the R G B in percent that a camera on a white records of a grey in
// a light: bt1886, bt709, near 42 %.
func (s *Stage) PictureOf(light, white colorimetry.CCTDuv) string {
	s.T.Helper()
	l, err := light.XY()
	if err != nil {
		s.T.Fatal(err)
	}
	w, err := white.XY()
	if err != nil {
		s.T.Fatal(err)
	}
	p, err := colorimetry.Picture(l, w, colorimetry.CAT16)
	if err != nil {
		s.T.Fatal(err)
	}
	xy, err := p.XY()
	if err != nil {
		s.T.Fatal(err)
	}
	e := colorimetry.Encoding{Transfer: colorimetry.TransferBT1886, Primaries: colorimetry.BT709}
	c, err := e.Correct([3]float64{0.42, 0.42, 0.42}, xy) // from neutral to the picture
	if err != nil {
		s.T.Fatal(err)
	}
	return fmt.Sprintf(`{"as":"percent","r":%.3f,"g":%.3f,"b":%.3f,"encoding":"bt1886","primaries":"bt709"}`, 42*c.Ratio[0], 42*c.Ratio[1], 42*c.Ratio[2])
}

// Card logs a grey card at the diary's time: on kelvin, in a light, by a camera
// whose white is off its label by mired and Duv. No reading: not measured.
func (s *Stage) Card(
	camera logbook.ID, kelvin float64, light colorimetry.CCTDuv, mired, duv float64, reading logbook.ID, more ...string,
) logbook.ID {
	s.T.Helper()
	body := s.BodyA
	if camera == s.B {
		body = s.BodyB
	}
	of := `{"as":"notMeasured"}`
	if !reading.IsZero() {
		of = fmt.Sprintf(`{"as":"reading","reading":%s}`, Ref(reading))
	}
	white := Shift(colorimetry.CCTDuv{CCT: colorimetry.Kelvin(kelvin)}, mired, duv)
	fields := append([]string{}, more...)
	for _, f := range [][2]string{
		{"setUp", Ref(s.SetUp)}, {"camera", Ref(camera)}, {"body", Ref(body)}, {"rgb", s.PictureOf(light, white)},
		{"settings", fmt.Sprintf(`{"whiteMode":"kelvin","kelvin":%g}`, kelvin)}, {"light", of}, {"takenAt", stamp(s.Clock)},
	} {
		if !slices.Contains(more, f[0]) {
			fields = append(fields, f[0], f[1])
		}
	}
	return s.Add(kinds.Sample, fields...)
}

// Match is what takes B to where A is.
func (s *Stage) Match() advice.Matched {
	s.T.Helper()
	a, err := advice.Match(s.Book(), advice.MatchQuery{SetUp: s.SetUp, Camera: s.B, To: s.A, Follow: true}, s.Clock)
	if err != nil {
		s.T.Fatal(err)
	}
	return a
}

// Shift moves a light by mired and Duv.
func Shift(t colorimetry.CCTDuv, mired, duv float64) colorimetry.CCTDuv {
	return colorimetry.CCTDuv{CCT: colorimetry.Kelvin(1e6 / (float64(t.Mired()) + mired)), Duv: t.Duv + colorimetry.Duv(duv)}
}

var Day5600 = colorimetry.CCTDuv{CCT: 5600}
