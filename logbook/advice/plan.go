package advice

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
	"evenwhite/logbook/setup"
)

// SetUpPlan is what to dial on each lamp of a set-up and which gels to put on, by
// calculation from the readings. A light that is inside its limits stays as it is.
type SetUpPlan struct {
	SetUp logbook.ID `json:"setUp"`
	At    time.Time  `json:"at"`
	Words string     `json:"words"`
	// Reference is what lights are matched to; ReferenceProblem why there is none.
	Reference        *figure.Chromaticity `json:"reference,omitempty"`
	ReferenceProblem string               `json:"referenceProblem,omitempty"`
	Lights           []LightPlan          `json:"lights"`
	Gels             []GelPlan            `json:"gels"`      // of the inventory, those that colour light
	Positions        []PositionPlan       `json:"positions"` // the mix where readings were made
	Reached          int                  `json:"reached"`   // lights inside their limits by calculation
	ToCheck          int                  `json:"toCheck"`   // of these: only a reading afterwards says so
	LossStops        float64              `json:"lossStops"` // sum over the lights
	// Proven says that no other use of the inventory is better; false where the
	// search was cut off.
	Proven       bool         `json:"proven"`
	Alternatives []RankedPlan `json:"alternatives"` // the next best plans, the best first
	Cautions     []string     `json:"cautions"`
}

// RankedPlan is another plan of a set-up, with the meaning that its parts have in
// SetUpPlan.
type RankedPlan struct {
	Rank      int            `json:"rank"` // 2 for the next best
	Words     string         `json:"words"`
	Lights    []LightPlan    `json:"lights"`
	Gels      []GelPlan      `json:"gels"`
	Positions []PositionPlan `json:"positions"`
	Reached   int            `json:"reached"`
	ToCheck   int            `json:"toCheck"`
	LossStops float64        `json:"lossStops"`
}

// mostPlans is how many plans are shown.
const mostPlans = 3

// LightPlan is what to do with one light.
type LightPlan struct {
	Light  logbook.ID `json:"light"`
	Name   string     `json:"name"`
	Role   string     `json:"role"`
	Intent string     `json:"intent"`
	Words  string     `json:"words"` // "dial 4350 K, put on half CTB"
	// Problem says why there is no plan for it: it was not measured, say.
	Problem          string               `json:"problem,omitempty"`
	Stays            bool                 `json:"stays"` // as it is
	Reading          logbook.ID           `json:"reading,omitzero"`
	Read             *figure.Chromaticity `json:"read,omitempty"`
	Target           *figure.Chromaticity `json:"target,omitempty"`
	DialKelvin       *float64             `json:"dialKelvin,omitempty"`
	DialGreenMagenta *float64             `json:"dialGreenMagenta,omitempty"`
	// DialLearnt says what readings taught about the kelvin dial; where it is absent
	// the dial is taken by its word.
	DialLearnt string               `json:"dialLearnt,omitempty"`
	Gels       []logbook.ID         `json:"gels"`
	GelUses    []GelUse             `json:"gelUses"` // the same gels, with the values that were counted
	Expected   *figure.Chromaticity `json:"expected,omitempty"`
	Residual   *figure.Difference   `json:"residual,omitempty"` // of Expected from Target
	LossStops  float64              `json:"lossStops"`          // by the gels
	Reaches    *bool                `json:"reaches,omitempty"`  // inside Limits by calculation
	// CheckWithMeter says that the plan rests on printed or assumed values: only a
	// reading afterwards says that the light is inside its limits.
	CheckWithMeter bool          `json:"checkWithMeter"`
	Limits         figure.Limits `json:"limits"`
	Caveats        []string      `json:"caveats,omitempty"`
	Caution        string        `json:"caution,omitempty"` // by the lamp's family
}

// GelUse is a gel on a light and what it was counted with.
type GelUse struct {
	Gel        logbook.ID `json:"gel"`
	Name       string     `json:"name"`
	ShiftMired float64    `json:"shiftMired"` // + warmer
	CC         float64    `json:"cc"`         // + green
	LossStops  float64    `json:"lossStops"`
	// From is measured (through the gel on the lamp's family), inventory (what its
	// record says) or nominal (what its name says in the trade).
	From string `json:"from"`
}

// GelPlan is a gel of the inventory and how many of it the plan uses.
type GelPlan struct {
	Gel   logbook.ID `json:"gel"`
	Name  string     `json:"name"`
	Used  int        `json:"used"`
	Stock int        `json:"stock"`
}

// PositionPlan is the mix of the lights that are on at one position, as it is and
// as planned.
type PositionPlan struct {
	Position string               `json:"position"` // empty: readings that name none
	Now      *figure.Chromaticity `json:"now,omitempty"`
	NowLux   *float64             `json:"nowLux,omitempty"`
	Planned  *figure.Chromaticity `json:"planned,omitempty"`
	Lux      *float64             `json:"lux,omitempty"`
	Cast     *figure.Difference   `json:"cast,omitempty"`    // of the planned mix against the reference
	Problem  string               `json:"problem,omitempty"` // why there is no mix
}

// planner works out the plans of a set-up.
type planner struct {
	s       *setup.SetUp
	p       *setup.Period
	learner *lighting.Learner
	gels    []*lighting.GelInStock
	tasks   []colorimetry.Task
	of      []*plannedLight // of each task
	all     []*plannedLight
}

// plannedLight is a light with what its plan is made of.
type plannedLight struct {
	view   logbook.View
	m      *lighting.Reading
	target colorimetry.XY
	lamp   colorimetry.Lamp
	rigged colorimetry.Gel // on it when it was read
	dialIs string          // why moving its dial wants a meter; "": it does not
	option *colorimetry.Option
	out    LightPlan
}

// Plan plans all lights of a set-up that are on, over the dials of their lamps and one
// inventory of gels. Errors wrap ErrNoRecord or, for an inventory that is too long,
// colorimetry.ErrDomain. What cannot be planned says why in its place.
func Plan(b *logbook.Book, setUp logbook.ID, now logbook.Millis) (SetUpPlan, error) {
	view, err := logbook.FindRecord(b, kinds.SetUp, "setUp", setUp)
	if err != nil {
		return SetUpPlan{}, err
	}
	s, learner := setup.Read(b, view, now), lighting.NewLearner(b)
	pl := &planner{s: s, p: s.Current(), learner: learner, gels: lighting.Inventory(b, learner.Gels(now))}
	for _, light := range s.Lights() {
		pl.all = append(pl.all, pl.light(light))
	}
	plans := []colorimetry.SetupPlan{{Proven: true}}
	if len(pl.tasks) > 0 {
		if plans, err = colorimetry.Plans(pl.tasks, pl.stock(), mostPlans); err != nil {
			return SetUpPlan{}, err
		}
	}
	best := pl.ranked(plans[0])
	out := SetUpPlan{SetUp: view.ID, At: now.Time(), Words: best.Words, Reference: pl.p.Reference, ReferenceProblem: pl.p.Problem,
		Lights: best.Lights, Gels: best.Gels, Positions: best.Positions, Reached: best.Reached, ToCheck: best.ToCheck, LossStops: best.LossStops,
		Proven: plans[0].Proven, Alternatives: []RankedPlan{}, Cautions: s.Cautions()}
	for i, plan := range plans[1:] {
		next := pl.ranked(plan)
		next.Rank = i + 2
		out.Alternatives = append(out.Alternatives, next)
	}
	return out, nil
}

// ranked writes one plan.
func (pl *planner) ranked(plan colorimetry.SetupPlan) RankedPlan {
	out := RankedPlan{Lights: []LightPlan{}, Gels: []GelPlan{}}
	used := map[*lighting.GelInStock]int{}
	for i, l := range pl.of {
		l.option = &plan.Options[i]
	}
	for _, l := range pl.all {
		light := l.out
		if l.option != nil {
			light = pl.write(l, used)
		}
		if light.Reaches != nil && *light.Reaches {
			out.Reached++
			if light.CheckWithMeter {
				out.ToCheck++
			}
		}
		out.LossStops += light.LossStops
		out.Lights = append(out.Lights, light)
	}
	out.LossStops = figure.RoundTo(out.LossStops, figure.StopsDecimals)
	for _, g := range pl.gels {
		out.Gels = append(out.Gels, GelPlan{g.View.ID, g.View.Text("name"), g.Stays + used[g], g.Count})
	}
	out.Positions = pl.positions()
	out.Words = fmt.Sprintf("%d of %d lights that are to match or to hold their colour will be inside their limits",
		out.Reached-out.ToCheck, pl.judged())
	if out.ToCheck > 0 {
		out.Words += fmt.Sprintf(", %d more by calculation: check with the meter", out.ToCheck)
	}
	return out
}

func (pl *planner) judged() (n int) {
	for _, l := range pl.all {
		if l.out.Intent != "leave" && lighting.IsOn(l.view) {
			n++
		}
	}
	return n
}

// light prepares a light: a task, or a reason why there is none.
func (pl *planner) light(light logbook.View) *plannedLight {
	s := pl.s
	l := &plannedLight{view: light, out: LightPlan{Light: light.ID, Name: light.Text("name"), Role: light.Text("role"),
		Intent: lighting.Intent(light), Gels: []logbook.ID{}, GelUses: []GelUse{}, Limits: s.RoleLimits(light), Caution: s.CautionOf(light)}}
	l.m = s.Reading(pl.p, light.ID)
	problem := func(words string) *plannedLight {
		l.out.Problem, l.out.Words = words, "no plan: "+words
		pl.keepGels(l)
		return l
	}
	switch {
	case !lighting.IsOn(light):
		return problem("it is not lit")
	case l.m == nil:
		return problem("it was not measured")
	case l.m.Color == nil:
		return problem(l.m.Problem)
	}
	l.out.Reading, l.out.Read = l.m.Reading, l.m.Color
	stale, _ := s.StaleBecause(light, l.m, s.Now())
	l.out.Caveats = append(l.out.Caveats, stale...)
	if l.out.Intent == "leave" {
		l.out.Words, l.out.Stays = "leave it as it is", true
		pl.keepGels(l)
		return l
	}
	if words := pl.aim(l); words != "" {
		return problem(words)
	}
	off := l.off(l.m.Color.XY)
	if _, beyond := l.out.Limits.Exceeded(off); !beyond && len(stale) == 0 {
		pl.stays(l, off)
		return l
	}
	if err := pl.rig(l); err != nil {
		return problem(err.Error())
	}
	return l
}

// off is how far a colour lies from the light's target.
func (l *plannedLight) off(xy colorimetry.XY) figure.Difference {
	if l.out.Intent == "holdOwnColor" {
		return figure.ColorDifference(xy, l.target)
	}
	return figure.CastDifference(xy, l.target)
}

// aim finds what the light is brought to.
func (pl *planner) aim(l *plannedLight) (problem string) {
	if l.out.Intent == "holdOwnColor" {
		target, _, _, err := pl.s.OwnColor(l.view)
		if err != nil {
			return err.Error()
		}
		l.target = target
	} else if pl.p.Reference == nil {
		return "what it is to match is not known: " + pl.p.Problem
	} else {
		l.target = pl.p.Reference.XY
	}
	l.out.Target = figure.ChromaticityOf(l.target)
	return ""
}

// stays keeps a light that is inside its limits, with the gels that are on it.
func (pl *planner) stays(l *plannedLight, off figure.Difference) {
	yes := true
	l.out.Stays, l.out.Reaches, l.out.Expected, l.out.Residual = true, &yes, l.m.Color, &off
	l.out.Words = "leave it as it is: " + off.Words
	pl.keepGels(l)
}

// keepGels leaves a light the gels that are on it, and takes them off the stock.
func (pl *planner) keepGels(l *plannedLight) {
	on := l.view.Value("rigged/gels")
	if l.m != nil {
		on = l.m.Snapshot(l.view, "gels")
	}
	for item := range on.Items() {
		id, ok := item.ID()
		if !ok {
			continue
		}
		l.out.Gels = append(l.out.Gels, pl.s.Book().Resolve(id))
		if g := pl.gel(id); g != nil {
			g.Stays++
			use := pl.use(g, l.view)
			l.out.GelUses = append(l.out.GelUses, use)
			l.out.LossStops = figure.RoundTo(l.out.LossStops+use.LossStops, figure.StopsDecimals)
		}
	}
}

// write puts the option of a light into the words of the log.
func (pl *planner) write(l *plannedLight, used map[*lighting.GelInStock]int) LightPlan {
	o, out := l.option, l.out
	out.Caveats, out.Gels, out.GelUses = slices.Clone(out.Caveats), []logbook.ID{}, []GelUse{}
	xy, err := o.Light.XY()
	if err != nil {
		out.Problem = err.Error()
		return out
	}
	out.Expected = figure.ChromaticityOf(xy)
	residual := l.off(xy)
	_, beyond := out.Limits.Exceeded(residual)
	reaches := !beyond
	out.Residual, out.Reaches = &residual, &reaches
	words := []string{}
	if l.lamp.At != 0 {
		k := float64(o.Dial)
		out.DialKelvin = &k
		if o.Dial != l.lamp.At {
			words = append(words, fmt.Sprintf("dial %g K", k))
		}
	}
	if l.lamp.Tint != (colorimetry.TintDial{}) {
		tint := o.Tint
		out.DialGreenMagenta = &tint
		if o.Tint != l.lamp.TintAt {
			words = append(words, fmt.Sprintf("green–magenta %+g", tint))
		}
	}
	out.LossStops = figure.RoundTo(float64(o.Loss), figure.StopsDecimals)
	printed := pl.writeGels(l, &out, used, &words)
	turned := l.lamp.At != 0 && o.Dial != l.lamp.At
	if turned && l.dialIs != "" {
		out.Caveats = append(out.Caveats, l.dialIs)
	}
	if !turned {
		out.DialLearnt = ""
	}
	tinted := o.Tint != l.lamp.TintAt
	if tinted {
		out.Caveats = append(out.Caveats, "what a unit of its green–magenta dial does was typed, not measured")
	}
	out.CheckWithMeter = printed || tinted || turned && l.dialIs != ""
	out.Words = planWords(words, out)
	return out
}

// planWords is a light's part of the plan as a sentence.
func planWords(steps []string, l LightPlan) string {
	out := "change nothing"
	if len(steps) > 0 {
		out = strings.Join(steps, ", ")
	}
	out += ": expect " + l.Residual.Words
	if !*l.Reaches {
		out += "; nothing that is here brings it inside its limits"
	}
	if l.CheckWithMeter {
		out += "; check with the meter"
	}
	if slices.Contains(l.Caveats, dialUnknown) {
		out += "; " + dialUnknown
	}
	return out
}
