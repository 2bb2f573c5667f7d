package lighting

import (
	"fmt"
	"sort"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
)

// LampLearnt is how far a lamp lies from the word of its kelvin dial, by the
// readings of all lights that it was: without gel, and the dial's position in the
// log. Duv is that of the light itself, on 0 of the green–magenta dial.
type LampLearnt struct {
	Lamp      logbook.ID   `json:"lamp"`
	Name      string       `json:"name"`
	Family    string       `json:"family"`
	Words     string       `json:"words"`
	Error     *Learnt      `json:"error,omitempty"` // over all positions; absent where nothing was learnt
	Positions []DialLearnt `json:"positions"`       // by rising kelvin
	// MovesMired is what the light does for each mired on the dial, from the first to
	// the last position.
	MovesMired *float64 `json:"movesMired,omitempty"`
	Caveats    []string `json:"caveats,omitempty"`
}

// DialLearnt is what a lamp showed on one position of its kelvin dial.
type DialLearnt struct {
	DialKelvin float64 `json:"dialKelvin"`
	Learnt     Learnt  `json:"learnt"`
}

// LearntOfLamp says what the log teaches about a lamp. Errors wrap ErrNoRecord.
func LearntOfLamp(b *logbook.Book, lamp logbook.ID, now logbook.Millis) (LampLearnt, error) {
	v, err := logbook.FindRecord(b, kinds.Lamp, "record", lamp)
	if err != nil {
		return LampLearnt{}, err
	}
	out := LampLearnt{Lamp: v.ID, Name: v.Text("name"), Family: v.Text("family"), Positions: []DialLearnt{}}
	known := NewLearner(b).Lamp(v)
	if len(known) == 0 {
		out.Words = "nothing was learnt: no reading without gel says what its kelvin dial stood at"
		if v.Value("kelvinDial") == "" {
			out.Words = "it has no kelvin dial, and so nothing that it could be off"
		}
		return out, nil
	}
	var all []lesson
	for _, p := range known {
		all = append(all, p.Lessons...)
		out.Positions = append(out.Positions, DialLearnt{float64(p.dial), learn(p.Lessons, now)})
	}
	sort.Slice(out.Positions, func(i, j int) bool { return out.Positions[i].DialKelvin < out.Positions[j].DialKelvin })
	e := learn(all, now)
	out.Error = &e
	out.Words = fmt.Sprintf("%s: by %s on %s of its dial, spread %g mired, the newest %s old",
		offDial(e), figure.Counted(e.Count, "reading"), figure.Counted(len(known), "position"), e.SpreadMired, figure.AgeWords(e.AgeMinutes))
	points, err := known.Points()
	if slope, ok := SlopeOf(points); ok && err == nil {
		out.MovesMired = figure.Rounded(slope, 2)
	}
	if err != nil {
		out.Caveats = append(out.Caveats, "a plan leaves this out: "+err.Error())
	}
	if n, ok := v.Number("count"); ok && n > 1 {
		out.Caveats = append(out.Caveats, fmt.Sprintf("there are %g of this lamp, which the log does not tell apart", n))
	}
	return out, nil
}

// offDial says of a lamp how its light lies from its dial.
func offDial(e Learnt) string {
	words := "its light is as its dial says"
	switch m := e.Mired; {
	case m > 0:
		words = fmt.Sprintf("its light is %g mired warmer than its dial says", m)
	case m < 0:
		words = fmt.Sprintf("its light is %g mired cooler than its dial says", -m)
	}
	return words + fmt.Sprintf(", Duv %+.4f", e.Duv)
}

// dialPosition is what was read on one position of a kelvin dial.
type dialPosition struct {
	dial    colorimetry.Kelvin
	Lessons []lesson
}

// dialPositions have the position with most readings first, so that it stays where
// two are too near together.
type dialPositions []dialPosition

// Lamp learns from the lights that a lamp was.
func (l *Learner) Lamp(lamp logbook.View) dialPositions {
	var all []lesson
	var dials []float64
	for _, light := range l.book.Referring(kinds.Light, "lamp", lamp.ID) {
		one, at := l.dialled(lamp, light)
		all, dials = append(all, one...), append(dials, at...)
	}
	return byDial(all, dials)
}

// Light learns from one light alone.
func (l *Learner) Light(lamp, light logbook.View) dialPositions {
	return byDial(l.dialled(lamp, light))
}

// dialled lists how far a light was off its dial, with the position.
func (l *Learner) dialled(lamp, light logbook.View) (all []lesson, dials []float64) {
	tint := TintDialOf(lamp)
	for _, m := range l.ofLight(light) {
		dial, ok := m.Snapshot(light, "dialKelvin").Float()
		if !ok || m.Purpose == "meterCompare" || len(gelsAt(m, light)) > 0 {
			continue
		}
		at, _ := m.Snapshot(light, "dialGreenMagenta").Float()
		level, levelled := m.Snapshot(light, "levelPercent").Float()
		if at != 0 && tint.DuvPerUnit == 0 || levelled && level < 100 && lamp.Text("dimsWarmer") == "yes" {
			continue
		}
		t, err := m.Color.CCTDuv()
		if err != nil {
			continue
		}
		t.Duv -= tintDuv(tint, at)
		p := colorimetry.DialPoint{Dial: colorimetry.Kelvin(dial), Light: t}
		all = append(all, lesson{cast: p.Error(), floor: m.floor(), at: m.TakenAt, readings: []logbook.ID{m.Reading}})
		dials = append(dials, dial)
	}
	return all, dials
}

func byDial(all []lesson, dials []float64) (out dialPositions) {
	at := map[float64]int{}
	for i, one := range all {
		n, ok := at[dials[i]]
		if !ok {
			n = len(out)
			at[dials[i]] = n
			out = append(out, dialPosition{dial: colorimetry.Kelvin(dials[i])})
		}
		out[n].Lessons = append(out[n].Lessons, one)
	}
	sort.SliceStable(out, func(i, j int) bool {
		if a, b := len(out[i].Lessons), len(out[j].Lessons); a != b {
			return a > b
		}
		return out[i].dial < out[j].dial
	})
	return out
}

// Points are the positions as a plan can use them.
func (p dialPositions) Points() ([]colorimetry.DialPoint, error) {
	var all []colorimetry.DialPoint
	for _, at := range p {
		off := learn(at.Lessons, 0).Cast
		k, err := (colorimetry.Mired(1e6/float64(at.dial)) + off.Mired).Kelvin()
		if err != nil {
			return nil, err
		}
		all = append(all, colorimetry.DialPoint{Dial: at.dial, Light: colorimetry.CCTDuv{CCT: k, Duv: off.Duv}})
	}
	return colorimetry.DialPoints(all)
}

// SlopeOf is what the light does for each mired on the dial.
func SlopeOf(points []colorimetry.DialPoint) (slope float64, ok bool) {
	if len(points) < 2 {
		return 0, false
	}
	a, b := points[0], points[len(points)-1]
	return float64(b.Light.Mired()-a.Light.Mired()) / (1e6/float64(b.Dial) - 1e6/float64(a.Dial)), true
}

func TintDialOf(lamp logbook.View) colorimetry.TintDial {
	v := lamp.Value("greenMagentaDial")
	plus, _ := v.Member("plusIs").Text()
	number := func(name string) float64 { return logbook.FloatOf(v.Member(name)) }
	return colorimetry.TintDial{
		Min: number("min"), Max: number("max"), Step: number("step"),
		DuvPerUnit: colorimetry.Duv(number("duvPerUnit")), PlusIsGreen: plus == "green",
	}
}

// tintDuv is what a position of a lamp's green–magenta dial adds to its light.
func tintDuv(dial colorimetry.TintDial, at float64) colorimetry.Duv {
	if dial.PlusIsGreen {
		return colorimetry.Duv(at) * dial.DuvPerUnit
	}
	return -colorimetry.Duv(at) * dial.DuvPerUnit
}
