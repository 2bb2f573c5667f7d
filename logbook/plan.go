package logbook

import (
	"fmt"
	"time"

	"evenwhite/colorimetry"
)

// SetUpPlan is what to dial on each lamp of a set-up and which gels to put on, by
// calculation from the readings. A light that is inside its limits stays as it is.
type SetUpPlan struct {
	SetUp ID        `json:"setUp"`
	At    time.Time `json:"at"`
	Words string    `json:"words"`
	// Reference is what lights are matched to; ReferenceProblem why there is none.
	Reference        *Chromaticity  `json:"reference,omitempty"`
	ReferenceProblem string         `json:"referenceProblem,omitempty"`
	Lights           []LightPlan    `json:"lights"`
	Gels             []GelPlan      `json:"gels"`      // of the inventory, those that colour light
	Positions        []PositionPlan `json:"positions"` // the mix where readings were made
	Reached          int            `json:"reached"`   // lights inside their limits by calculation
	LossStops        float64        `json:"lossStops"` // sum over the lights
	// Proven says that no other use of the inventory is better; false where the
	// search was cut off.
	Proven   bool     `json:"proven"`
	Cautions []string `json:"cautions"`
}

// LightPlan is what to do with one light.
type LightPlan struct {
	Light  ID     `json:"light"`
	Name   string `json:"name"`
	Role   string `json:"role"`
	Intent string `json:"intent"`
	Words  string `json:"words"` // "dial 4350 K, put on half CTB"
	// Problem says why there is no plan for it: it was not measured, say.
	Problem          string        `json:"problem,omitempty"`
	Stays            bool          `json:"stays"` // as it is
	Reading          ID            `json:"reading,omitzero"`
	Read             *Chromaticity `json:"read,omitempty"`
	Target           *Chromaticity `json:"target,omitempty"`
	DialKelvin       *float64      `json:"dialKelvin,omitempty"`
	DialGreenMagenta *float64      `json:"dialGreenMagenta,omitempty"`
	Gels             []ID          `json:"gels"`
	Expected         *Chromaticity `json:"expected,omitempty"`
	Residual         *Difference   `json:"residual,omitempty"` // of Expected from Target
	LossStops        float64       `json:"lossStops"`          // by the gels
	Reaches          *bool         `json:"reaches,omitempty"`  // inside Limits by calculation
	// CheckWithMeter says that the plan rests on printed or assumed values: only a
	// reading afterwards says that the light is inside its limits.
	CheckWithMeter bool     `json:"checkWithMeter"`
	Limits         Limits   `json:"limits"`
	Caveats        []string `json:"caveats,omitempty"`
	Caution        string   `json:"caution,omitempty"` // by the lamp's family
}

// GelPlan is a gel of the inventory and how many of it the plan uses.
type GelPlan struct {
	Gel   ID     `json:"gel"`
	Name  string `json:"name"`
	Used  int    `json:"used"`
	Stock int    `json:"stock"`
}

// PositionPlan is the mix of the lights that are on at one position, as it is and
// as planned.
type PositionPlan struct {
	Position string        `json:"position"` // empty: readings that name none
	Now      *Chromaticity `json:"now,omitempty"`
	NowLux   *float64      `json:"nowLux,omitempty"`
	Planned  *Chromaticity `json:"planned,omitempty"`
	Lux      *float64      `json:"lux,omitempty"`
	Cast     *Difference   `json:"cast,omitempty"`    // of the planned mix against the reference
	Problem  string        `json:"problem,omitempty"` // why there is no mix
}

// planner works out one plan.
type planner struct {
	s     *situation
	p     *period
	gels  []*gelInStock
	tasks []colorimetry.Task
	of    []*plannedLight // of each task
	all   []*plannedLight
}

// plannedLight is a light with what its plan is made of.
type plannedLight struct {
	view   View
	m      *Measurement
	target colorimetry.XY
	lamp   colorimetry.Lamp
	rigged colorimetry.Gel // on it when it was read
	dialIs string          // "" or why moving its dial wants a meter
	option *colorimetry.Option
	out    LightPlan
}

// PlanSetUp plans all lights of a set-up that are on, over the dials of their
// lamps and one inventory of gels. Errors wrap ErrNoRecord or, for an inventory
// that is too long, colorimetry.ErrDomain. What cannot be planned says why in its
// place.
func PlanSetUp(b *Book, setUp ID, now Millis) (SetUpPlan, error) {
	view, err := recordOf(b, KindSetUp, "setUp", setUp)
	if err != nil {
		return SetUpPlan{}, err
	}
	s := situationOf(b, view, now)
	pl := &planner{s: s, p: s.current, gels: inventory(b)}
	out := SetUpPlan{SetUp: view.ID, At: now.Time(), Reference: pl.p.reference, ReferenceProblem: pl.p.problem,
		Lights: []LightPlan{}, Gels: []GelPlan{}, Positions: []PositionPlan{}, Proven: true, Cautions: s.cautions()}
	for _, light := range s.lights {
		pl.all = append(pl.all, pl.light(light))
	}
	if err := pl.solve(&out); err != nil {
		return SetUpPlan{}, err
	}
	for _, l := range pl.all {
		if l.out.Reaches != nil && *l.out.Reaches {
			out.Reached++
		}
		out.LossStops += l.out.LossStops
		out.Lights = append(out.Lights, l.out)
	}
	out.LossStops = roundTo(out.LossStops, stopsDecimals)
	for _, g := range pl.gels {
		out.Gels = append(out.Gels, GelPlan{g.view.ID, g.view.Text("name"), g.used, g.count})
	}
	out.Positions = pl.positions()
	out.Words = fmt.Sprintf("%d of %d lights that are to match or to hold their colour are inside their limits by calculation", out.Reached, pl.judged())
	return out, nil
}

const stopsDecimals = 1

func (pl *planner) judged() (n int) {
	for _, l := range pl.all {
		if l.out.Intent != "leave" && lightIsOn(l.view) {
			n++
		}
	}
	return n
}

// light prepares a light: a task, or a reason why there is none.
func (pl *planner) light(light View) *plannedLight {
	s := pl.s
	l := &plannedLight{view: light, out: LightPlan{Light: light.ID, Name: light.Text("name"), Role: light.Text("role"),
		Intent: lightIntent(light), Gels: []ID{}, Limits: s.roleLimits(light), Caution: s.cautionOf(light)}}
	l.m = s.reading(pl.p, light.ID)
	problem := func(words string) *plannedLight {
		l.out.Problem, l.out.Words = words, "no plan: "+words
		return l
	}
	switch {
	case !lightIsOn(light):
		return problem("it is not lit")
	case l.m == nil:
		return problem("it was not measured")
	case l.m.Color == nil:
		return problem(l.m.Problem)
	}
	l.out.Reading, l.out.Read = l.m.Reading, l.m.Color
	stale, _ := s.staleBecause(light, l.m, s.now)
	l.out.Caveats = append(l.out.Caveats, stale...)
	if l.out.Intent == "leave" {
		l.out.Words, l.out.Stays = "leave it as it is", true
		return l
	}
	if words := pl.aim(l); words != "" {
		return problem(words)
	}
	off := l.off(l.m.Color.XY)
	if _, beyond := l.out.Limits.exceeded(off); !beyond && len(stale) == 0 {
		pl.stays(l, off)
		return l
	}
	if err := pl.rig(l); err != nil {
		return problem(err.Error())
	}
	return l
}

// off is how far a colour lies from the light's target.
func (l *plannedLight) off(xy colorimetry.XY) Difference {
	if l.out.Intent == "holdOwnColor" {
		return colorDifference(xy, l.target)
	}
	return castDifference(xy, l.target)
}

// aim finds what the light is brought to.
func (pl *planner) aim(l *plannedLight) (problem string) {
	if l.out.Intent == "holdOwnColor" {
		target, _, _, err := pl.s.ownColor(l.view)
		if err != nil {
			return err.Error()
		}
		l.target = target
	} else if pl.p.reference == nil {
		return "what it is to match is not known: " + pl.p.problem
	} else {
		l.target = pl.p.reference.XY
	}
	l.out.Target = chromaticityOf(l.target)
	return ""
}

// stays keeps a light that is inside its limits, with the gels that are on it.
func (pl *planner) stays(l *plannedLight, off Difference) {
	yes := true
	l.out.Stays, l.out.Reaches, l.out.Expected, l.out.Residual = true, &yes, l.m.Color, &off
	l.out.Words = "leave it as it is: " + off.Words
	for item := range l.m.snapshot(l.view, "gels").Items() {
		if id, ok := item.ID(); ok {
			l.out.Gels = append(l.out.Gels, pl.s.book.Resolve(id))
			if g := pl.gel(id); g != nil {
				g.used++
				l.out.LossStops += float64(g.on(pl.s.book, pl.familyOf(l.view)).Gel.Loss)
			}
		}
	}
	l.out.LossStops = roundTo(l.out.LossStops, stopsDecimals)
}

// solve plans the tasks together and writes each light's part.
func (pl *planner) solve(out *SetUpPlan) error {
	if len(pl.tasks) == 0 {
		return nil
	}
	plan, err := colorimetry.Plan(pl.tasks, pl.stock())
	if err != nil {
		return err
	}
	out.Proven = plan.Proven
	for i, l := range pl.of {
		pl.tell(l, plan.Options[i])
	}
	return nil
}

// tell writes an option in the words of the log.
func (pl *planner) tell(l *plannedLight, o colorimetry.Option) {
	l.option = &o
	xy, err := o.Light.XY()
	if err != nil {
		l.out.Problem = err.Error()
		return
	}
	l.out.Expected = chromaticityOf(xy)
	residual := l.off(xy)
	_, beyond := l.out.Limits.exceeded(residual)
	reaches := !beyond
	l.out.Residual, l.out.Reaches = &residual, &reaches
	words := []string{}
	if l.lamp.At != 0 {
		k := float64(o.Dial)
		l.out.DialKelvin = &k
		if o.Dial != l.lamp.At {
			words = append(words, fmt.Sprintf("dial %g K", k))
		}
	}
	if l.lamp.Tint != (colorimetry.TintDial{}) {
		tint := o.Tint
		l.out.DialGreenMagenta = &tint
		if o.Tint != l.lamp.TintAt {
			words = append(words, fmt.Sprintf("green–magenta %+g", tint))
		}
	}
	l.out.LossStops = roundTo(float64(o.Loss), stopsDecimals)
	nominal := pl.tellGels(l, o, &words)
	moved := l.lamp.At != 0 && o.Dial != l.lamp.At || o.Tint != l.lamp.TintAt
	if moved && l.dialIs != "" {
		l.out.Caveats = append(l.out.Caveats, l.dialIs)
	}
	l.out.CheckWithMeter = nominal || moved && l.dialIs != ""
	l.out.Words = planWords(words, l.out)
}

// planWords is a light's part of the plan as a sentence.
func planWords(steps []string, l LightPlan) string {
	out := "change nothing"
	for i, step := range steps {
		if i == 0 {
			out = step
		} else {
			out += ", " + step
		}
	}
	out += ": expect " + l.Residual.Words
	if !*l.Reaches {
		out += "; nothing that is here brings it inside its limits"
	}
	if l.CheckWithMeter {
		out += "; check with the meter"
	}
	return out
}
