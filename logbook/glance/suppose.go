package glance

import (
	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
	"evenwhite/logbook/setup"
)

// Supposed is what a white or a reading that somebody is about to enter would say of a set-up.
type Supposed struct {
	White *setup.White `json:"white,omitempty"` // the one that would be chosen
	// Lights are judged by that white, or by the reading: then there is one, which stands for
	// the set-up, by its id, where everything was read together.
	Lights   []LightNow  `json:"lights"`
	Cameras  []CameraNow `json:"cameras"` // of a white
	Verdicts Verdicts    `json:"verdicts"`
}

func (s *overview) supposed(lights []LightNow, cameras []CameraNow) Supposed {
	n := SetUpNow{Lights: lights, Cameras: cameras, Limits: append([]figure.Limits{}, s.Limits())}
	return Supposed{Lights: lights, Cameras: cameras, Verdicts: n.Verdicts()}
}

// SupposeWhite says what a white would ask for, were it chosen now. Its record may stand in
// another book. Errors wrap ErrNoRecord.
func SupposeWhite(b *logbook.Book, white logbook.View, now logbook.Millis) (Supposed, error) {
	view, err := logbook.FindRecord(b, kinds.SetUp, "setUp", white.Ref("setUp"))
	if err != nil {
		return Supposed{}, err
	}
	s := newOverview(setup.Read(b, view, now))
	p, lights, cameras := s.Suppose(white), []LightNow{}, []CameraNow{}
	for _, light := range s.Lights() {
		lights = append(lights, s.lightNow(p, light, logbook.Ever))
	}
	for _, camera := range s.Cameras() {
		cameras = append(cameras, s.cameraNow(p, camera))
	}
	out := s.supposed(lights, cameras)
	out.White = &p.InForce
	return out, nil
}

// SupposeReading says how a light, or everything together, lies from its white by a reading
// whose record may stand in another book. Errors wrap ErrNoRecord.
func SupposeReading(b, of *logbook.Book, reading logbook.View, now logbook.Millis) (Supposed, error) {
	view, err := logbook.FindRecord(b, kinds.SetUp, "setUp", reading.Ref("setUp"))
	if err != nil {
		return Supposed{}, err
	}
	s := newOverview(setup.Read(b, view, now))
	m, p := lighting.Read(of, reading), s.Current()
	l := LightNow{Light: view.ID, On: true, Name: "everything", Intent: "match", Limits: s.Limits()}
	id, one := reading.Value("of").Member("light").ID()
	light, known := b.RecordOf(kinds.Light, id)
	if one && known {
		l.Light, l.Name, l.Role, l.Intent = light.ID, light.Text("name"), light.Text("role"), lighting.Intent(light)
		l.Limits = s.RoleLimits(light)
	}
	l.Color, l.Problem, l.IlluminanceLux, l.FloorXY = m.Color, m.Problem, m.IlluminanceLux, &m.FloorXY
	if l.Color != nil {
		s.judge(&l, p, light)
	}
	return s.supposed([]LightNow{l}, []CameraNow{}), nil
}
