package colorimetry

import (
	"math"
	"sort"
)

// rigging finds, for one lamp, the best dial positions behind a given gel. As in
// search, positions of one kelvin form a column in which tint moves the light
// along a line; here the line stays straight in the picture, because it is the
// light and not the white that moves.
type rigging struct {
	task    Task
	columns []rigColumn // sorted by mired
	picture matrix      // from the light's tristimulus values to the picture's
	aim     UVPrime     // where the picture is to lie
	target  float64     // mired
	tints   []float64
	nodes   ccNodesKept
	node    func(int) (Duv, error) // of the gel at hand
}

// ccNodesKept holds, by CC, the nodes of ccDuv that a plan has come by; the
// numbers are the same without it.
type ccNodesKept map[float64]*[ccNodes]ccValue

type ccValue struct {
	duv   Duv
	err   error
	known bool
}

// of returns the nodes of one CC.
func (k ccNodesKept) of(cc float64) func(node int) (Duv, error) {
	values := k[cc]
	if values == nil {
		values = new([ccNodes]ccValue)
		k[cc] = values
	}
	return func(node int) (Duv, error) {
		v := &values[node]
		if !v.known {
			v.duv, v.err = ccModel(cc, ccMired(node))
			v.known = true
		}
		return v.duv, v.err
	}
}

type rigColumn struct {
	dial  Kelvin
	mired float64
	duv   Duv // on the tint of the reading
}

func newRigging(t Task, nodes ccNodesKept) (*rigging, error) {
	white, err := t.Target.XY()
	if err != nil {
		return nil, err
	}
	r := &rigging{task: t, target: float64(t.Target.Mired()), nodes: nodes}
	if err := r.lookFrom(white); err != nil {
		return nil, err
	}
	dials := append(t.Lamp.Dial.values(), t.Lamp.At)
	for _, d := range dials {
		by := t.Lamp.dialMoves(d)
		r.columns = append(r.columns, rigColumn{d, float64(t.Lamp.Reading.Mired() + by.Mired), t.Lamp.Reading.Duv + by.Duv})
	}
	sort.SliceStable(r.columns, func(i, j int) bool { return r.columns[i].mired < r.columns[j].mired })
	r.tints = t.Lamp.tints()
	return r, nil
}

// lookFrom says how a light is judged: as the picture of a camera on the white,
// or, where it is to hold a colour, as a light.
func (r *rigging) lookFrom(white XY) error {
	if r.task.AsLight {
		r.picture, r.aim = matrix{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}, white.UVPrime()
		return nil
	}
	r.aim = neutral
	w, err := CAT16.responses(white)
	if err != nil {
		return err
	}
	cone, back := coneMatrices[CAT16], inverseConeMatrices[CAT16]
	gain := [3]float64{d65Responses.X / w.X, d65Responses.Y / w.Y, d65Responses.Z / w.Z}
	for i := range 3 {
		for k := range 3 {
			for n := range 3 {
				r.picture[i][k] += back[i][n] * gain[n] * cone[n][k]
			}
		}
	}
	return nil
}

// tints returns the positions of the tint dial, the one of the reading included,
// from magenta to green.
func (l Lamp) tints() []float64 {
	all := []float64{l.TintAt}
	if l.Tint.DuvPerUnit > 0 {
		for i := range l.Tint.axis().count() {
			all = append(all, l.Tint.axis().at(i))
		}
	}
	sort.SliceStable(all, func(i, j int) bool { return l.tintDuv(all[i]) < l.tintDuv(all[j]) })
	return all
}

// ray is the picture of the lights of one temperature: (a, b)/c in u'v', each of
// them linear in Duv.
type ray struct {
	a0, a1, b0, b1, c0, c1 float64
	aim                    UVPrime
	// most is the Duv beyond which there is no such light: Z would be negative.
	most float64
}

func (r *rigging) ray(mired float64) ray {
	p := locusAt(mired)
	nu, nv := p.normal()
	// Tristimulus values up to a factor, linear in u and v.
	at := r.picture.apply(XYZ{3 * p.u, 2 * p.v, 4 - p.u - 10*p.v})
	by := r.picture.apply(XYZ{3 * nu, 2 * nv, -nu - 10*nv})
	most := float64(MaxDuv)
	if fall := nu + 10*nv; fall > 0 {
		most = min(most, (4-p.u-10*p.v)/fall)
	}
	return ray{4 * at.X, 4 * by.X, 9 * at.Y, 9 * by.Y, at.X + 15*at.Y + 3*at.Z, by.X + 15*by.Y + 3*by.Z, r.aim, most}
}

var neutral = D65.UVPrime()

func (l ray) steps(duv float64) float64 {
	c := l.c0 + l.c1*duv
	if !(c > 0) || !(l.b0+l.b1*duv > 0) {
		return math.Inf(1)
	}
	return UVPrime{(l.a0 + l.a1*duv) / c, (l.b0 + l.b1*duv) / c}.Distance(l.aim) / StepUVPrime
}

// foot returns the Duv at which the line comes nearest to its aim: where the way
// there is perpendicular to it.
func (l ray) foot() float64 {
	du, dv := l.a1*l.c0-l.a0*l.c1, l.b1*l.c0-l.b0*l.c1
	at := du*(l.a0-l.aim.U*l.c0) + dv*(l.b0-l.aim.V*l.c0)
	by := du*(l.a1-l.aim.U*l.c1) + dv*(l.b1-l.aim.V*l.c1)
	return -at / by
}

// found is the best position so far, of those that reach and of all.
type found struct{ reaching, nearest Option }

func (r *rigging) best(gel Gel) (Option, bool) {
	f := found{Option{Steps: math.Inf(1)}, Option{Steps: math.Inf(1)}}
	shift := float64(gel.Shift)
	r.node = r.nodes.of(gel.CC)
	start := sort.Search(len(r.columns), func(i int) bool { return r.columns[i].mired+shift >= r.target })
	for i := start; i < len(r.columns) && r.visit(r.columns[i], gel, &f); i++ {
	}
	for i := start - 1; i >= 0 && r.visit(r.columns[i], gel, &f); i-- {
	}
	if f.reaching.Reaches {
		return f.reaching, true
	}
	return f.nearest, !math.IsInf(f.nearest.Steps, 1)
}

// visit tries a column and says whether to go on outwards.
func (r *rigging) visit(c rigColumn, gel Gel, f *found) bool {
	mired := c.mired + float64(gel.Shift)
	if !(mired >= 1e6/maxCCT*(1-rounding) && mired <= 1e6/minCCT*(1+rounding)) {
		return false
	}
	line := r.ray(mired)
	foot := line.foot()
	tolerance := r.task.Tolerance
	bound := line.steps(foot) - 1e-9
	canReach := math.Abs(mired-r.target) <= float64(tolerance.Mired)+1e-9 && bound <= tolerance.Steps && bound <= f.reaching.Steps
	canBeNearest := !f.reaching.Reaches && bound <= f.nearest.Steps
	if !canReach && !canBeNearest {
		return false
	}
	if !(c.mired >= 1e6/maxCCT*(1-rounding) && c.mired <= 1e6/minCCT*(1+rounding)) {
		return true
	}
	base := float64(c.duv)
	if gel.CC != 0 {
		duv, err := ccDuv(gel.CC, mired, r.node)
		if err != nil {
			return true
		}
		base += float64(duv)
	}
	target := float64(r.task.Target.Duv)
	inWindow := min(max(foot, target-float64(tolerance.Magenta)), target+float64(tolerance.Green))
	inDomain := min(max(foot, -float64(MaxDuv)), line.most)
	tints := r.tintsOn(c)
	for _, wanted := range [...]float64{inDomain, inWindow} {
		i := sort.Search(len(tints), func(i int) bool { return base+float64(r.task.Lamp.tintDuv(tints[i])) >= wanted })
		for k := max(i-1, 0); k <= min(i, len(tints)-1); k++ {
			r.try(c, tints[k], base, mired, line, f)
		}
	}
	return true
}

// tintsOn are the tints that keep the bare light of a column in the domain.
func (r *rigging) tintsOn(c rigColumn) []float64 {
	duv := func(i int) Duv { return c.duv + r.task.Lamp.tintDuv(r.tints[i]) }
	from := sort.Search(len(r.tints), func(i int) bool { return duv(i) >= -MaxDuv })
	to := sort.Search(len(r.tints), func(i int) bool { return duv(i) > MaxDuv })
	return r.tints[from:to]
}

func (r *rigging) try(c rigColumn, tint, base, mired float64, line ray, f *found) {
	duv := base + float64(r.task.Lamp.tintDuv(tint))
	if !(duv >= -float64(MaxDuv) && duv <= line.most) {
		return
	}
	o := Option{Dial: c.dial, Tint: tint, Light: CCTDuv{Kelvin(min(max(1e6/mired, minCCT), maxCCT)), Duv(duv)}, Steps: line.steps(duv)}
	o.Residual = CastOf(o.Light, r.task.Target)
	o.Reaches = r.task.Tolerance.holds(o.Residual, o.Steps)
	if o.Steps < f.nearest.Steps {
		f.nearest = o
	}
	if o.Reaches && o.Steps < f.reaching.Steps {
		f.reaching = o
	}
}
