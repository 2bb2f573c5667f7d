package rebuild

import (
	"fmt"
	"math"

	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
	"evenwhite/logbook/rigging"
)

// LevelRatio is how much a light gives against the key, both at one position and at the levels at
// which they stood.
type LevelRatio struct {
	Key        logbook.ID `json:"key"` // the light
	KeyName    string     `json:"keyName"`
	StopsUnder float64    `json:"stopsUnder"` // how far it lies under the key; less than 0: above
	Lux        float64    `json:"lux"`
	KeyLux     float64    `json:"keyLux"`
	Position   string     `json:"position,omitempty"` // absent: nobody named one
	Reading    logbook.ID `json:"reading"`
	KeyReading logbook.ID `json:"keyReading"`
	Words      string     `json:"words"` // "2 stops under key (4 : 1)"
}

// keyAmong is the light that the others are compared with: the reference light, else the first key,
// where it was on.
func (s *side) keyAmong(all []rigging.RiggedLight) (key logbook.View, ok bool) {
	reference := s.View().Ref("referenceLight")
	for _, l := range all {
		if l.On && (l.Light == reference || l.Role == "key" && !ok) {
			key, ok = s.Book().RecordOf(kinds.Light, l.Light)
		}
		if ok && key.ID == reference {
			return key, true
		}
	}
	return key, ok
}

// levelOf is how much a light gives against the key, or why that is not known.
func (s *side) levelOf(id logbook.ID, key logbook.View) (*LevelRatio, string) {
	light, _ := s.Book().RecordOf(kinds.Light, id)
	if !s.Course(light).OnAt(s.at) {
		return nil, ""
	}
	of := s.LightWithLux(key, s.View().Text("referencePosition"), s.at)
	if of.Reading == nil {
		return nil, key.Text("name") + " has no lux at this level"
	}
	l := s.LightWithLux(light, of.Reading.Position, s.at)
	if l.Reading == nil {
		where := ""
		if of.Reading.Position != "" {
			where = " at " + of.Reading.Position
		}
		return nil, "no lux" + where + " at this level"
	}
	keyLux, lux := luxOf(of), luxOf(l)
	if keyLux <= 0 || lux <= 0 {
		return nil, "a light of 0 lux has no ratio"
	}
	ratio := &LevelRatio{
		Key: key.ID, KeyName: key.Text("name"), StopsUnder: figure.RoundTo(math.Log2(keyLux/lux), figure.StopsDecimals),
		Lux: lux, KeyLux: keyLux, Position: of.Reading.Position, Reading: l.Reading.Reading, KeyReading: of.Reading.Reading,
	}
	ratio.Words = ratio.inWords()
	return ratio, ""
}

func luxOf(s lighting.Spoken) float64 {
	if s.Lux != nil {
		return *s.Lux
	}
	return *s.Reading.IlluminanceLux
}

func (l *LevelRatio) inWords() string {
	ratio := figure.RoundTo(l.KeyLux/l.Lux, 1)
	switch {
	case l.StopsUnder > 0:
		return fmt.Sprintf("%s under %s (%g : 1)", stops(l.StopsUnder), l.KeyName, ratio)
	case l.StopsUnder < 0:
		return fmt.Sprintf("%s over %s (1 : %g)", stops(-l.StopsUnder), l.KeyName, figure.RoundTo(l.Lux/l.KeyLux, 1))
	}
	return "as much as " + l.KeyName
}

func stops(f float64) string {
	if f == 1 {
		return "1 stop"
	}
	return fmt.Sprintf("%g stops", f)
}
