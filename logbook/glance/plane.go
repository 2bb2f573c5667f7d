package glance

import (
	"fmt"
	"slices"
	"sort"
	"strconv"
	"time"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
	"evenwhite/logbook/setup"
)

// SetUpPlane is where the colours of a set-up lie in the CIE 1976 u' v' plane.
type SetUpPlane struct {
	SetUp     logbook.ID   `json:"setUp"`
	Name      string       `json:"name"` // of scene and set-up
	At        time.Time    `json:"at"`
	Headline  string       `json:"headline"` // what is off: "panel 25 mired too warm; B slightly green"
	Words     string       `json:"words"`
	Old       string       `json:"old,omitempty"` // which readings are old; absent where none is
	StepUV    float64      `json:"stepUV"`        // of u' v', in which limits are counted in the picture
	Points    []PlanePoint `json:"points"`
	Rings     []PlaneRing  `json:"rings"`
	Unplaced  []Unplaced   `json:"unplaced"` // what has no place in the plane, and why
	reference colorimetry.XY
	old       []oldReading
}

// PlanePoint is one colour in the plane.
type PlanePoint struct {
	Mark   string       `json:"mark"` // white, light, mix, aim or camera
	Key    string       `json:"key"`  // short and unique: "white", "1", "mix", "aim", "A"
	Record logbook.ID   `json:"record,omitzero"`
	Name   string       `json:"name"`
	Role   string       `json:"role,omitempty"`   // of a light
	Intent string       `json:"intent,omitempty"` // of a light: match, holdOwnColor or leave
	Color  figure.Shown `json:"color"`
	// Off is what is judged: of a light its cast against the white, or how far it
	// is from its own colour; of a camera how far its picture is from its aim.
	Off    *figure.Difference `json:"off,omitempty"`
	Within *bool              `json:"within,omitempty"` // absent where it is not judged
	Too    string             `json:"too,omitempty"`    // of one outside its limits: "25 mired too warm"
	Words  string             `json:"words"`
}

// PlaneRing is where the limit in steps of some roles lies about a point: a colour
// on it is so many steps away in the picture, which is no circle in this plane.
type PlaneRing struct {
	About string      `json:"about"` // the key of the point
	Roles []string    `json:"roles"`
	Steps float64     `json:"steps"`
	Words string      `json:"words"`
	UV    []PlaneSpot `json:"uv"` // its corners
}

// PlaneSpot is a place in the plane.
type PlaneSpot struct {
	UPrime float64 `json:"uPrime"`
	VPrime float64 `json:"vPrime"`
}

// Unplaced is what has no place in the plane.
type Unplaced struct {
	Record  logbook.ID `json:"record,omitzero"`
	Name    string     `json:"name"`
	Problem string     `json:"problem"`
}

// Plane is where the colours of a set-up lie. Errors wrap ErrNoRecord. What has no
// colour says why in Unplaced.
func Plane(b *logbook.Book, setUp logbook.ID, now logbook.Millis) (SetUpPlane, error) {
	view, err := logbook.FindRecord(b, kinds.SetUp, "setUp", setUp)
	if err != nil {
		return SetUpPlane{}, err
	}
	s := newOverview(setup.NewReader(b).ReadToWrap(view, now))
	p := s.Current()
	out := SetUpPlane{SetUp: view.ID, Name: lighting.SetUpName(b, view), At: min(now, s.Moment()).Time(), StepUV: colorimetry.StepUVPrime,
		Points: []PlanePoint{}, Rings: []PlaneRing{}, Unplaced: []Unplaced{}}
	out.placeWhite(s, p)
	for i, light := range s.Lights() {
		out.placeLight(s, p, strconv.Itoa(i+1), light)
	}
	out.placeMix(s, p)
	out.placeCameras(s, p)
	out.ringLights(s, p)
	out.Headline, out.Old = out.headline(), out.oldWords()
	out.Words = out.sentence(p)
	return out, nil
}

func (l *SetUpPlane) lacks(id logbook.ID, name, problem string) {
	l.Unplaced = append(l.Unplaced, Unplaced{id, name, problem})
}

func (l *SetUpPlane) placeWhite(s *overview, p *setup.Period) {
	if p.Reference == nil {
		l.lacks(p.White.ID, "white", p.Problem)
		return
	}
	l.reference = p.Reference.XY
	w := PlanePoint{Mark: "white", Key: "white", Record: p.White.ID, Name: "white",
		Color: *figure.ShownAs(p.Reference.XY, lighting.FloorBehind(s.Book(), p.Origin))}
	w.Words = w.Color.Words
	if !p.White.Known() {
		w.Words += ", not chosen: " + p.Origin.Method
	} else if p.InForce.Words != "" {
		w.Words += ", " + p.InForce.Words
	}
	l.Points = append(l.Points, w)
}

func (l *SetUpPlane) placeLight(s *overview, p *setup.Period, key string, light logbook.View) {
	now := s.lightNow(p, light, s.Moment())
	if now.Color == nil {
		l.lacks(light.ID, now.Name, now.Problem)
		return
	}
	m := s.LightHere(light).Reading
	at := PlanePoint{Mark: "light", Key: key, Record: light.ID, Name: now.Name, Role: now.Role, Intent: now.Intent,
		Color: *figure.ShownAs(now.Color.XY, m.FloorXY), Off: now.Cast, Within: now.Within}
	at.Words = at.Color.Words
	from := "the white"
	if now.OffOwnColor != nil {
		at.Off, from = now.OffOwnColor, "its own colour"
	}
	at.Words += judgedWords(at.Off, from, at.Within)
	if !now.On {
		at.Words += "; not lit"
	}
	if at.Within != nil && at.Off != nil {
		limit, beyond := now.Limits.Exceeded(*at.Off)
		at.Words += s.FloorWords(limit, m)
		if beyond {
			at.Too = now.Limits.Too(*at.Off)
		}
	}
	if len(now.StaleBecause) > 0 && now.AgeMinutes != nil {
		l.old = append(l.old, oldReading{now.Name, figure.AgeWords(*now.AgeMinutes)})
	}
	l.Points = append(l.Points, at)
}

// judgedWords says how far something is from what it is judged by.
func judgedWords(off *figure.Difference, from string, within *bool) string {
	if off == nil {
		return ""
	}
	words := "; from " + from + ": " + off.Words
	if off.Steps != nil && off.Mired != nil {
		words += fmt.Sprintf(", %g steps", *off.Steps)
	}
	switch {
	case within == nil:
	case *within:
		words += ": inside its limits"
	default:
		words += ": OUTSIDE its limits"
	}
	return words
}

// mixName is what the mix at a position is called; readings may name none.
func mixName(position string) string {
	if position == "" {
		return "mix"
	}
	return "mix at " + position
}

func (l *SetUpPlane) placeMix(s *overview, p *setup.Period) {
	if len(s.LightsOn()) < 2 {
		return
	}
	position, xy, origin, err := s.MixHere()
	name := mixName(position)
	if err != nil {
		l.lacks(logbook.ID{}, name, err.Error())
		return
	}
	m := PlanePoint{Mark: "mix", Key: "mix", Name: name, Color: *figure.ShownAs(xy, lighting.FloorBehind(s.Book(), origin))}
	m.Words = m.Color.Words
	if p.Reference != nil {
		off := figure.CastDifference(xy, p.Reference.XY)
		m.Off = &off
		m.Words += judgedWords(m.Off, "the white", nil)
	}
	m.Words += "; " + origin.Method
	l.Points = append(l.Points, m)
}

// placeCameras places each camera's white, and an aim where it is not the white.
func (l *SetUpPlane) placeCameras(s *overview, p *setup.Period) {
	aims, atWhite := map[[2]float64]int{}, false
	for _, camera := range s.Cameras() {
		aim := s.Aim(p, camera.ID)
		letter := camera.Text("letter")
		switch {
		case aim.Aim == nil:
		case aim.IntendedCast.Cast() == colorimetry.Cast{}:
			atWhite = true
		default:
			l.placeAim(s, aim, letter, aims)
		}
		w := s.whiteOfCamera(p, camera)
		if w.shown == nil {
			l.lacks(camera.ID, "camera "+letter, w.problem)
			continue
		}
		at := PlanePoint{Mark: "camera", Key: letter, Record: camera.ID, Name: "camera " + letter, Color: *w.shown, Words: w.words}
		if aim.Aim != nil {
			if want, err := aim.Aim.CCTDuv(); err == nil {
				off := figure.PictureDifference(w.white, want, p.Reference)
				at.Off = &off
				at.judgeCamera(s, s.OffAim(p, camera.ID, w.possible))
			}
		}
		l.Points = append(l.Points, at)
	}
	if atWhite {
		l.ringCameras(s, "white", l.reference)
	}
}

// judgeCamera takes the verdict on a camera by each white that it may have, as deviations do.
func (at *PlanePoint) judgeCamera(s *overview, may []figure.Difference) {
	if len(may) == 0 {
		return
	}
	judged := s.Limits().Judge(may)
	at.Off.Words = judged.Words
	if judged.Verdict != figure.CantTell {
		within := judged.Verdict == figure.Inside
		at.Within = &within
	}
	if judged.Verdict == figure.Beyond {
		at.Too = s.Limits().Too(judged.Least)
	}
	at.Words += judgedWords(at.Off, "its aim, in the picture", at.Within)
	if at.Within == nil {
		at.Words += ": can't tell whether inside its limits"
	}
}

// placeAim places an aim once for all cameras that have it.
func (l *SetUpPlane) placeAim(s *overview, aim setup.Aim, letter string, placed map[[2]float64]int) {
	c := aim.IntendedCast
	if i, ok := placed[[2]float64{c.Mired, c.Duv}]; ok {
		l.Points[i].Name += ", " + letter
		return
	}
	key := "aim"
	if len(placed) > 0 {
		key += " " + letter
	}
	placed[[2]float64{c.Mired, c.Duv}] = len(l.Points)
	a := PlanePoint{Mark: "aim", Key: key, Name: "aim of " + letter, Color: *figure.ShownAs(aim.Aim.XY, 0)}
	a.Words = a.Color.Words
	if c.Name != "" {
		a.Words += ", " + c.Name
	}
	d := figure.Difference{Mired: figure.Rounded(c.Mired, figure.MiredDecimals), Duv: figure.Rounded(c.Duv, figure.DuvDecimals)}
	a.Words += ": the white is to look " + d.InWords()
	l.Points = append(l.Points, a)
	l.ringCameras(s, key, aim.Aim.XY)
}

// ringCameras draws the limit of cameras about what they aim at.
func (l *SetUpPlane) ringCameras(s *overview, about string, aim colorimetry.XY) {
	l.ring(about, []string{"camera"}, s.Limits().Steps, aim, func(white colorimetry.XY) (float64, error) {
		return whitesApart(white, aim, l.reference)
	})
}

// ringLights draws a ring for each limit of the lights that are to match.
func (l *SetUpPlane) ringLights(s *overview, p *setup.Period) {
	if p.Reference == nil {
		return
	}
	roles := map[float64][]string{}
	add := func(steps float64, role string) {
		if !slices.Contains(roles[steps], role) {
			roles[steps] = append(roles[steps], role)
		}
	}
	for _, light := range s.Lights() {
		if limits := s.RoleLimits(light); lighting.Intent(light) == "match" {
			add(limits.Steps, limits.Role)
		}
	}
	all := make([]float64, 0, len(roles))
	for steps := range roles {
		all = append(all, steps)
	}
	sort.Float64s(all)
	for _, steps := range all {
		l.ring("white", roles[steps], steps, l.reference, func(light colorimetry.XY) (float64, error) {
			picture, err := colorimetry.Picture(light, l.reference, colorimetry.CAT16)
			if err != nil {
				return 0, err
			}
			return colorimetry.StepsFromNeutral(picture), nil
		})
	}
}
