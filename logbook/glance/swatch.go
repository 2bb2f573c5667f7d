package glance

import (
	"fmt"
	"strconv"
	"time"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
	"evenwhite/logbook/setup"
)

// SetUpSwatches is the predicted picture of each light in the white that is aimed
// at and in that of each camera.
type SetUpSwatches struct {
	SetUp   logbook.ID    `json:"setUp"`
	Name    string        `json:"name"` // of scene and set-up
	At      time.Time     `json:"at"`
	Words   string        `json:"words"`
	Display SwatchDisplay `json:"display"`
	// Neutral is what a light looks like that is exactly the white: to hold the others against.
	Neutral figure.Swatch `json:"neutral"`
	// Whites are the columns: first what is aimed at, then the cameras.
	Whites []SwatchWhite `json:"whites"`
	Lights []SwatchLight `json:"lights"`
}

// SwatchDisplay says what the code values are for.
type SwatchDisplay struct {
	Name        string  `json:"name"`
	Standard    string  `json:"standard"`
	White       string  `json:"white"`
	GreyPercent float64 `json:"greyPercent"` // reflectance of the grey that is shown
	Words       string  `json:"words"`
}

// SwatchWhite is a white that the lights are seen in.
type SwatchWhite struct {
	Key     string        `json:"key"` // "aim", "A"
	Camera  logbook.ID    `json:"camera,omitzero"`
	White   *figure.Shown `json:"white,omitempty"`
	Words   string        `json:"words"`
	Problem string        `json:"problem,omitempty"` // why there is none
	xy      colorimetry.XY
}

// SwatchLight is one light, or the mix, seen in each of the whites.
type SwatchLight struct {
	Light    logbook.ID    `json:"light,omitzero"` // absent: the mix
	Key      string        `json:"key"`            // "1", "mix"
	Name     string        `json:"name"`
	Role     string        `json:"role,omitempty"`
	Color    *figure.Shown `json:"color,omitempty"`
	Problem  string        `json:"problem,omitempty"` // why it has no colour
	Pictures []SwatchCell  `json:"pictures"`          // one a white, in their order
}

// SwatchCell is the picture of a light in one white.
type SwatchCell struct {
	Key     string             `json:"key"` // of the white
	Swatch  *figure.Swatch     `json:"swatch,omitempty"`
	Cast    *figure.Difference `json:"cast,omitempty"` // of the light in that white
	Problem string             `json:"problem,omitempty"`
}

// Swatches predicts the pictures. Errors wrap ErrNoRecord. What cannot be
// predicted says why in its place.
func Swatches(b *logbook.Book, setUp logbook.ID, now logbook.Millis) (SetUpSwatches, error) {
	view, err := logbook.FindRecord(b, kinds.SetUp, "setUp", setUp)
	if err != nil {
		return SetUpSwatches{}, err
	}
	s := newOverview(setup.NewReader(b).ReadToWrap(view, now))
	p := s.Current()
	out := SetUpSwatches{SetUp: view.ID, Name: lighting.SetUpName(b, view), At: min(now, s.Moment()).Time(), Lights: []SwatchLight{},
		Display: SwatchDisplay{Name: "sRGB", Standard: "IEC 61966-2-1", White: "D65", GreyPercent: colorimetry.SwatchGrey * 100}}
	out.Display.Words = fmt.Sprintf("a grey of %g %% on a display of %s (%s), white %s; adapted by CAT16",
		out.Display.GreyPercent, out.Display.Name, out.Display.Standard, out.Display.White)
	neutral := colorimetry.Preview(colorimetry.D65.XYZ(1))
	out.Neutral = figure.Swatch{R: int(neutral.R), G: int(neutral.G), B: int(neutral.B)}
	out.Whites = append(out.Whites, s.aimedAt(p))
	for _, camera := range s.Cameras() {
		w := s.whiteOfCamera(p, camera)
		out.Whites = append(out.Whites, SwatchWhite{w.letter, w.camera, w.shown, w.words, w.problem, w.xy})
	}
	for i, light := range s.Lights() {
		l := SwatchLight{Light: light.ID, Key: strconv.Itoa(i + 1), Name: light.Text("name"), Role: light.Text("role")}
		if spoken := s.LightHere(light); spoken.Reading == nil {
			l.Problem = spoken.Problem
		} else {
			l.Color = figure.ShownAs(spoken.Color.XY, spoken.Reading.FloorXY)
			l.see(spoken.Color.XY, out.Whites)
		}
		out.add(l)
	}
	out.addMix(s)
	out.Words = out.sentence()
	return out, nil
}

// aimedAt is the white in which the picture is as it was asked for; without a
// chosen white it is the reference.
func (s *overview) aimedAt(p *setup.Period) SwatchWhite {
	w := SwatchWhite{Key: "aim"}
	if p.Reference == nil {
		w.Problem = p.Problem
		w.Words = w.Problem
		return w
	}
	w.xy = s.WantedWhite(p)
	w.White = figure.ShownAs(w.xy, lighting.FloorBehind(s.Book(), p.Origin))
	w.Words = "as it is meant to look, " + w.White.Words
	return w
}

func (t *SetUpSwatches) add(l SwatchLight) {
	if l.Pictures == nil {
		l.Pictures = []SwatchCell{}
	}
	t.Lights = append(t.Lights, l)
}

func (t *SetUpSwatches) addMix(s *overview) {
	if len(s.Lights()) < 2 {
		return
	}
	position, xy, origin, err := s.MixHere()
	l := SwatchLight{Key: "mix", Name: mixName(position)}
	if err != nil {
		l.Problem = err.Error()
	} else {
		l.Color = figure.ShownAs(xy, lighting.FloorBehind(s.Book(), origin))
		l.see(xy, t.Whites)
	}
	t.add(l)
}

// see predicts a light in every white.
func (l *SwatchLight) see(light colorimetry.XY, whites []SwatchWhite) {
	for _, w := range whites {
		c := SwatchCell{Key: w.Key}
		if w.White == nil {
			c.Problem = w.Problem
			l.Pictures = append(l.Pictures, c)
			continue
		}
		cast := figure.CastDifference(light, w.xy)
		c.Cast = &cast
		picture, err := colorimetry.Picture(light, w.xy, colorimetry.CAT16)
		if err != nil {
			c.Problem = figure.DomainWords(err)
		} else {
			seen := colorimetry.Preview(picture)
			c.Swatch = &figure.Swatch{R: int(seen.R), G: int(seen.G), B: int(seen.B), Clipped: seen.Clipped}
		}
		l.Pictures = append(l.Pictures, c)
	}
}

func (t *SetUpSwatches) sentence() string {
	swatches, clipped := 0, 0
	for _, l := range t.Lights {
		for _, c := range l.Pictures {
			if c.Swatch != nil {
				swatches++
				if c.Swatch.Clipped {
					clipped++
				}
			}
		}
	}
	if clipped == 0 {
		return "nothing is stronger than the display can show"
	}
	return fmt.Sprintf("%d of %s stronger than the display can show: paler here than in the picture",
		clipped, figure.Counted(swatches, "field"))
}
