package advice

import (
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
	// ToTurn are those of which only a turn of their green–magenta dial and a reading say
	// more; they are not Reached.
	ToTurn    int     `json:"toTurn"`
	LossStops float64 `json:"lossStops"` // sum over the lights
	// Proven says that no other use of the inventory is better; false where gels are so
	// scarce that the plan was found by exchange between lights, and another might be better.
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
	ToTurn    int            `json:"toTurn"`
	LossStops float64        `json:"lossStops"`
	Proven    bool           `json:"proven"`
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
	CheckWithMeter bool `json:"checkWithMeter"`
	// TurnTowards is green or magenta: which way to turn its green–magenta dial before it is
	// read again. Nobody knows what a unit does, and so Expected, Residual and Reaches are absent.
	TurnTowards string        `json:"turnTowards,omitempty"`
	Limits      figure.Limits `json:"limits"`
	Caveats     []string      `json:"caveats,omitempty"`
	Caution     string        `json:"caution,omitempty"` // by the lamp's family
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
	goal   colorimetry.CCTDuv // of the target
	lamp   colorimetry.Lamp
	rigged colorimetry.Gel       // on it when it was read
	dialIs string                // why moving its dial wants a meter; "": it does not
	turn   *colorimetry.TintDial // its green–magenta dial, where nobody knows what a unit does
	strong []string              // gels that are too strong for it
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
		for i, l := range pl.of {
			l.strong = pl.tooStrong(l, plans[0].LeftOut[i])
		}
	}
	best := pl.ranked(plans[0])
	out := SetUpPlan{SetUp: view.ID, At: now.Time(), Words: best.Words, Reference: pl.p.Reference, ReferenceProblem: pl.p.Problem,
		Lights: best.Lights, Gels: best.Gels, Positions: best.Positions, Reached: best.Reached, ToCheck: best.ToCheck, ToTurn: best.ToTurn,
		LossStops: best.LossStops, Proven: best.Proven, Alternatives: []RankedPlan{}, Cautions: s.Cautions()}
	for i, plan := range plans[1:] {
		next := pl.ranked(plan)
		next.Rank = i + 2
		out.Alternatives = append(out.Alternatives, next)
	}
	return out, nil
}

// ranked writes one plan.
func (pl *planner) ranked(plan colorimetry.SetupPlan) RankedPlan {
	out := RankedPlan{Lights: []LightPlan{}, Gels: []GelPlan{}, Proven: plan.Proven}
	used := map[*lighting.GelInStock]int{}
	for i, l := range pl.of {
		l.option = &plan.Options[i]
	}
	for _, l := range pl.all {
		light := l.out
		if l.option != nil {
			light = pl.write(l, used)
		}
		switch {
		case light.TurnTowards != "":
			out.ToTurn++
		case light.Reaches != nil && *light.Reaches:
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
	out.Words = pl.words(out)
	return out
}
