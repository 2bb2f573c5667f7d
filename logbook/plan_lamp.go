package logbook

import (
	"fmt"

	"evenwhite/colorimetry"
)

func (pl *planner) familyOf(light View) string {
	lamp, ok := pl.s.book.RecordOf(KindLamp, light.Ref("lamp"))
	if !ok {
		return ""
	}
	return lamp.Text("family")
}

func isHot(lamp View) bool {
	family := lamp.Text("family")
	return lamp.Flag("hot", family == "incandescent" || family == "discharge")
}

// rig makes the task of a light: the lamp without gels, from a reading that may
// have been made with some.
func (pl *planner) rig(l *plannedLight) error {
	read, err := l.m.Color.cctDuv()
	if err != nil {
		return err
	}
	target, err := l.target.CCTDuv()
	if err != nil {
		return fmt.Errorf("its target: %w", err)
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
	task := colorimetry.Task{Lamp: l.lamp, Target: target, Tolerance: colorimetry.Tolerance{Mired: colorimetry.Mired(limits.Mired),
		Green: colorimetry.Duv(limits.DuvGreen), Magenta: colorimetry.Duv(limits.DuvMagenta), Steps: limits.Steps}}
	if _, err := task.Options(nil); err != nil {
		return err
	}
	pl.tasks, pl.of = append(pl.tasks, task), append(pl.of, l)
	return nil
}

// riggedGels is the stack that was on the light when it was read.
func (pl *planner) riggedGels(l *plannedLight) (stack colorimetry.Gel, err error) {
	for item := range l.m.snapshot(l.view, "gels").Items() {
		id, _ := item.ID()
		g := pl.gel(id)
		if g == nil {
			v, _ := pl.s.book.Record(id)
			switch v.Text("gelKind") {
			case "neutral", "diffusion":
				continue
			}
			return stack, fmt.Errorf("%w: it was read through a gel whose values are not in the log", ErrUnknown)
		}
		stack = colorimetry.Stack(stack, g.on(pl.s.book, pl.familyOf(l.view)).Gel)
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

// dials reads the lamp's dials and where they stood at the reading. A kelvin dial
// whose position is not in the log cannot be used.
func (pl *planner) dials(l *plannedLight) {
	lamp, ok := pl.s.book.RecordOf(KindLamp, l.view.Ref("lamp"))
	if !ok {
		return
	}
	dial := kelvinDialOf(lamp)
	at, known := l.m.snapshot(l.view, "dialKelvin").Float()
	switch {
	case len(dial.Ranges)+len(dial.List) == 0:
	case !known:
		l.out.Caveats = append(l.out.Caveats, "what its kelvin dial stood at when it was read is not in the log: the dial was left out")
	default:
		l.lamp.Dial, l.lamp.At = dial, colorimetry.Kelvin(at)
		l.lamp.Slope, l.dialIs = pl.slope(l)
	}
	v := lamp.Value("greenMagentaDial")
	if v == "" {
		return
	}
	plus, _ := v.Member("plusIs").Text()
	l.lamp.Tint = colorimetry.TintDial{Min: floatOf(v.Member("min")), Max: floatOf(v.Member("max")), Step: floatOf(v.Member("step")),
		DuvPerUnit: colorimetry.Duv(floatOf(v.Member("duvPerUnit"))), PlusIsGreen: plus == "green"}
	l.lamp.TintAt, known = l.m.snapshot(l.view, "dialGreenMagenta").Float()
	if !known {
		l.out.Caveats = append(l.out.Caveats, "what its green–magenta dial stood at when it was read is not in the log: 0 was assumed")
	}
}

func kelvinDialOf(lamp View) (d colorimetry.KelvinDial) {
	v := lamp.Value("kelvinDial")
	if as, _ := v.Member("as").Text(); as == "range" {
		d.Ranges = []colorimetry.KelvinRange{{Min: colorimetry.Kelvin(floatOf(v.Member("min"))), Max: colorimetry.Kelvin(floatOf(v.Member("max"))), Step: colorimetry.Kelvin(floatOf(v.Member("step")))}}
		return d
	}
	for item := range v.Member("values").Items() {
		d.List = append(d.List, colorimetry.Kelvin(floatOf(item)))
	}
	return d
}

// slope learns how far the lamp moves for each mired on its dial, from the newest
// earlier reading of the light on another position, gels and level being the
// same. dialIs says why there is none.
func (pl *planner) slope(l *plannedLight) (slope float64, dialIs string) {
	dialIs = "the lamp is taken by its word: no two readings on two positions of its dial are in the log"
	here, err := l.m.Color.cctDuv()
	if err != nil {
		return 0, dialIs
	}
	same := func(m *Measurement, field string) bool {
		a, b := m.snapshot(l.view, field), l.m.snapshot(l.view, field)
		return a == b || a.Equal(b)
	}
	for i := len(pl.s.readings) - 1; i >= 0; i-- {
		m := pl.s.readings[i]
		if m == l.m || m.Color == nil || !m.plain() || !m.ofLight(l.view.ID) || !same(m, "gels") || !same(m, "levelPercent") || !same(m, "dialGreenMagenta") {
			continue
		}
		at, ok := m.snapshot(l.view, "dialKelvin").Float()
		there, err := m.Color.cctDuv()
		if !ok || err != nil {
			continue
		}
		if slope, err := colorimetry.DialSlope(here, l.lamp.At, there, colorimetry.Kelvin(at)); err == nil {
			l.out.Caveats = append(l.out.Caveats, fmt.Sprintf("its light moves %.2f mired for each mired on its dial, learnt from two readings", slope))
			return slope, ""
		}
	}
	return 0, dialIs
}

// cautionOf is the one caution that fits the lamp of a light.
func (s *situation) cautionOf(light View) string {
	lamp, ok := s.book.RecordOf(KindLamp, light.Ref("lamp"))
	if !ok {
		return ""
	}
	for _, c := range caution {
		if c.hot && isHot(lamp) && lamp.Text("family") != "discharge" {
			return c.words
		}
		for _, family := range c.families {
			if family == lamp.Text("family") {
				return c.words
			}
		}
	}
	return ""
}
