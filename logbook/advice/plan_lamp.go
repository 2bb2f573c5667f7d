package advice

import (
	"errors"
	"fmt"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
)

// rig makes the task of a light: the lamp without gels, from a reading that may
// have been made with some.
func (pl *planner) rig(l *plannedLight) error {
	read, err := l.m.Color.CCTDuv()
	if err != nil {
		return errors.New("it is a coloured light, without a colour temperature to plan with")
	}
	if l.goal, err = l.target.CCTDuv(); err != nil {
		return fmt.Errorf("what it is to match is a colour without a colour temperature: %s", figure.DomainWords(err))
	}
	if l.rigged, err = pl.riggedGels(l); err != nil {
		return err
	}
	if l.lamp.Reading, err = withoutGels(read, l.rigged); err != nil {
		return err
	}
	pl.dials(l)
	l.lamp.Own = pl.own(l.view)
	limits := l.out.Limits
	task := colorimetry.Task{Lamp: l.lamp, Target: l.goal, AsLight: l.out.Intent == "holdOwnColor", Tolerance: colorimetry.Tolerance{
		Mired: colorimetry.Mired(limits.Mired), Green: colorimetry.Duv(limits.DuvGreen), Magenta: colorimetry.Duv(limits.DuvMagenta),
		Steps: limits.Steps,
	}}
	if _, err := task.Options(nil); err != nil {
		return err
	}
	pl.tasks, pl.of = append(pl.tasks, task), append(pl.of, l)
	return nil
}

// riggedGels is the stack that was on the light when it was read.
func (pl *planner) riggedGels(l *plannedLight) (stack colorimetry.Gel, err error) {
	for item := range l.m.Snapshot(l.view, "gels").Items() {
		id, _ := item.ID()
		g := pl.gel(id)
		if g == nil {
			v, _ := pl.s.Book().Record(id)
			switch v.Text("gelKind") {
			case "neutral", "diffusion":
				continue
			}
			return stack, fmt.Errorf("%w: it was read through a gel whose values are not in the log", figure.ErrUnknown)
		}
		on := pl.on(g, l.view)
		if on.Nominal && g.From == "" {
			return stack, fmt.Errorf("%w: what %s does on this family of lamps is not in the log", figure.ErrUnknown, g.View.Text("name"))
		}
		stack = colorimetry.Stack(stack, on.Gel)
	}
	return stack, nil
}

// withoutGels undoes colorimetry.Through: CC was counted at the temperature behind
// the gel.
func withoutGels(read colorimetry.CCTDuv, gel colorimetry.Gel) (colorimetry.CCTDuv, error) {
	if gel == (colorimetry.Gel{}) {
		return read, nil
	}
	k, err := (read.Mired() - gel.Shift).Kelvin()
	if err != nil {
		return read, fmt.Errorf("without its gels: %w", err)
	}
	duv, err := colorimetry.CCToDuv(gel.CC, colorimetry.CCTDuv{CCT: read.CCT})
	if err != nil {
		return read, fmt.Errorf("without its gels: %w", err)
	}
	bare := colorimetry.CCTDuv{CCT: k, Duv: read.Duv - duv}
	if err := bare.Check(); err != nil {
		return read, fmt.Errorf("without its gels: %w", err)
	}
	return bare, nil
}

const dialUnknown = "what its kelvin dial stood at when it was read is not in the log: the dial was left out"

// dials reads the lamp's dials and where they stood at the reading. A kelvin dial
// whose position is not in the log cannot be used.
func (pl *planner) dials(l *plannedLight) {
	lamp, ok := pl.s.Book().RecordOf(kinds.Lamp, l.view.Ref("lamp"))
	if !ok {
		return
	}
	dial := kelvinDialOf(lamp)
	at, known := l.m.Snapshot(l.view, "dialKelvin").Float()
	switch {
	case len(dial.Ranges)+len(dial.List) == 0:
	case !known:
		l.out.Caveats = append(l.out.Caveats, dialUnknown)
	default:
		l.lamp.Dial, l.lamp.At = dial, colorimetry.Kelvin(at)
		l.lamp.Shown, l.dialIs = pl.shown(l, lamp)
	}
	if lamp.Value("greenMagentaDial") != "" {
		pl.greenMagentaDial(l, lamp)
	}
}

func (pl *planner) greenMagentaDial(l *plannedLight, lamp logbook.View) {
	dial := lighting.TintDialOf(lamp)
	at, known := l.m.Snapshot(l.view, "dialGreenMagenta").Float()
	if dial.DuvPerUnit == 0 {
		l.assume(dial, at, known)
		return
	}
	l.lamp.Tint, l.lamp.TintAt = dial, at
	if !known {
		l.out.Caveats = append(l.out.Caveats, "what its green–magenta dial stood at when it was read is not in the log: 0 was assumed")
	}
}

// A green–magenta dial of which nobody knows what a unit does is used before gels all the
// same: the plan counts on its turning the light as far as it has to go, in these steps, and
// says the way alone. A choice of this program.
const (
	assumedUnit  = 0.0005 // Duv
	assumedUnits = 100
)

// assume takes such a dial, but not beyond the end at which it is known to stand.
func (l *plannedLight) assume(dial colorimetry.TintDial, at float64, known bool) {
	assumed := colorimetry.TintDial{Min: -assumedUnits, Max: assumedUnits, Step: 1, DuvPerUnit: assumedUnit, PlusIsGreen: true}
	if known && (at >= dial.Max && dial.PlusIsGreen || at <= dial.Min && !dial.PlusIsGreen) {
		assumed.Max = 0
	}
	if known && (at <= dial.Min && dial.PlusIsGreen || at >= dial.Max && !dial.PlusIsGreen) {
		assumed.Min = 0
	}
	if assumed.Min < assumed.Max {
		l.lamp.Tint, l.turn = assumed, &dial
	}
}

// turnWords says which way to turn: "turn the green–magenta dial towards magenta (down), read
// again".
func (l *plannedLight) turnWords(way string) string {
	turn := "down"
	if l.turn.PlusIsGreen == (way == "green") {
		turn = "up"
	}
	return fmt.Sprintf("turn the green–magenta dial towards %s (%s), read again", way, turn)
}

// unturned is what an option makes of a light: where its green–magenta dial was assumed, before
// anybody turns that, and which way it wants turning; "" where that is not needed.
func (l *plannedLight) unturned(o *colorimetry.Option) (light colorimetry.CCTDuv, way string, err error) {
	light = o.Light
	if l.turn == nil {
		return light, "", nil
	}
	light.Duv -= colorimetry.Duv(o.Tint * assumedUnit)
	xy, err := light.XY()
	if err != nil {
		return light, "", err
	}
	off := l.off(xy)
	if _, beyond := l.out.Limits.Exceeded(off); !beyond || o.Tint == 0 {
		return light, "", nil
	}
	if off.Duv != nil && *off.Duv <= l.out.Limits.DuvGreen && *off.Duv >= -l.out.Limits.DuvMagenta && !o.Reaches {
		return light, "", nil // it is not the green that keeps it off
	}
	if o.Tint > 0 {
		return light, "green", nil
	}
	return light, "magenta", nil
}

func kelvinDialOf(lamp logbook.View) (d colorimetry.KelvinDial) {
	v := lamp.Value("kelvinDial")
	kelvin := func(name string) colorimetry.Kelvin { return colorimetry.Kelvin(logbook.FloatOf(v.Member(name))) }
	if as, _ := v.Member("as").Text(); as == "range" {
		d.Ranges = []colorimetry.KelvinRange{{Min: kelvin("min"), Max: kelvin("max"), Step: kelvin("step")}}
		return d
	}
	for item := range v.Member("values").Items() {
		d.List = append(d.List, colorimetry.Kelvin(logbook.FloatOf(item)))
	}
	return d
}

// shown is what the lamp did on positions of its dial: by the light itself, where it was
// read on two of them, else by all lights that the lamp was. dialIs says why nothing is
// known.
func (pl *planner) shown(l *plannedLight, lamp logbook.View) (points []colorimetry.DialPoint, dialIs string) {
	learnt := pl.learner.Light(lamp, l.view)
	points, err := learnt.Points()
	if err != nil || len(points) < 2 {
		learnt = pl.learner.Lamp(lamp)
		points, err = learnt.Points()
	}
	slope, ok := lighting.SlopeOf(points)
	switch {
	case err != nil:
		return nil, "the lamp is taken by its word: what it was read as on positions of its dial makes no sense (" + err.Error() + ")"
	case !ok:
		return nil, "the lamp is taken by its word: no two readings without gel on two positions of its dial are in the log"
	}
	readings := 0
	for _, p := range learnt {
		readings += len(p.Lessons)
	}
	first, last := points[0], points[len(points)-1]
	l.out.DialLearnt = fmt.Sprintf("its light moves %.2f mired for each mired on its dial from %.0f K (%s) to %.0f K (%s), learnt from %s",
		slope, float64(first.Dial), offWords(first), float64(last.Dial), offWords(last), figure.Counted(readings, "reading"))
	return points, ""
}

// offWords says how far a lamp was off its dial: "3 mired warmer than it says".
func offWords(p colorimetry.DialPoint) string {
	switch m := figure.RoundTo(float64(p.Error().Mired), figure.MiredDecimals); {
	case m > 0:
		return fmt.Sprintf("%g mired warmer than it says", m)
	case m < 0:
		return fmt.Sprintf("%g mired cooler than it says", -m)
	}
	return "as it says"
}
