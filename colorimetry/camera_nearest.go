package colorimetry

import (
	"math"
	"sort"
)

// Choice is a setting with what it gives.
type Choice struct {
	Setting Setting
	// White is the white that the setting really has: its label plus the camera
	// error.
	White CCTDuv
	// Residual is how the picture on this setting differs from the picture on
	// the aim; + is warmer and greener.
	Residual Cast
	// Steps is the distance between the two pictures of the light at hand, in
	// steps of StepUVPrime; DeltaE the same as ΔE00 on a mid grey.
	Steps, DeltaE float64
	// ZeroAssumed says that nobody knows where the body's tint 0 lies, and that
	// the black body was assumed. TintUnknown says that the body has a tint dial
	// whose unit is unknown, so that it was left at 0.
	ZeroAssumed, TintUnknown bool
}

// Nearest returns the setting whose picture of the light is nearest to the
// picture that a camera on the aim makes of it, and the next best one with a
// different white (the zero Choice where there is none). It counts in the
// picture with CAT16, because the setting that is nearest as a light can be 1.35
// ΔE00 worse under tungsten. The camera error is the actual white minus the
// label's. It is as good as trying every setting. Domain: possible dials, aim in
// the domain of CCTDuv, a light that Picture takes, a finite error, and a setting
// whose white stays in the domain; else ErrDomain.
func (d Dials) Nearest(aim CCTDuv, light XY, cameraError Cast) (best, second Choice, err error) {
	w, err := d.Whites()
	if err != nil {
		return Choice{}, Choice{}, err
	}
	return w.Nearest(d, aim, light, cameraError)
}

// Whites are the whites of a body's kelvin values and presets at tint 0 and fine
// 0, worked out once for many calls of Nearest.
type Whites struct{ columns []column } // sorted by mired

// Whites works out the whites of the dials. Domain: possible dials, else
// ErrDomain.
func (d Dials) Whites() (Whites, error) {
	if err := d.Check(); err != nil {
		return Whites{}, err
	}
	kelvins := d.Kelvin.values()
	columns := make([]column, 0, len(kelvins)+len(d.Presets))
	add := func(setting Setting) error {
		white, err := d.base(setting)
		columns = append(columns, column{setting, float64(white.Mired()), float64(white.Duv)})
		return err
	}
	for _, k := range kelvins {
		if err := add(Setting{Kelvin: k}); err != nil {
			return Whites{}, err
		}
	}
	for _, p := range d.Presets {
		if err := add(Setting{Preset: p.Name}); err != nil {
			return Whites{}, err
		}
	}
	sort.SliceStable(columns, func(i, j int) bool { return columns[i].mired < columns[j].mired })
	return Whites{columns}, nil
}

// Nearest is Dials.Nearest with the whites at hand. They must be those of d, or
// of dials that differ from it in Tint and Fine alone. Domain: that of
// Dials.Nearest.
func (w Whites) Nearest(d Dials, aim CCTDuv, light XY, cameraError Cast) (best, second Choice, err error) {
	if err := d.Check(); err != nil {
		return Choice{}, Choice{}, err
	}
	if !finite(float64(cameraError.Mired), float64(cameraError.Duv)) {
		return Choice{}, Choice{}, domainError("camera error", float64(cameraError.Mired)+float64(cameraError.Duv), "finite")
	}
	white, err := aim.XY()
	if err != nil {
		return Choice{}, Choice{}, err
	}
	target, err := Picture(light, white, CAT16)
	if err != nil {
		return Choice{}, Choice{}, err
	}
	s := search{dials: d, error: cameraError, view: viewOf(light), target: target.UVPrime(), columns: w.columns}
	s.run(float64(aim.Mired()))
	if !s.best.found {
		return Choice{}, Choice{}, domainError("camera error in mired (with this body's dials)", float64(cameraError.Mired),
			"such that one setting at least has a white of 1000 to 100000 K within 0.05 of the black body")
	}
	if best, err = s.choice(s.best, aim, light, target); err != nil || !s.second.found {
		return best, Choice{}, err
	}
	second, err = s.choice(s.second, aim, light, target)
	return best, second, err
}

// search holds the settings in columns: all settings of one column have the same
// mireds and differ in tint. In the picture the whites of one temperature lie on
// a curve, and these curves do not cross. So the distance of the target from the
// whole curve grows on either side of the aim's own temperature, and once it
// exceeds the second best found, no column beyond can hold anything better.
type search struct {
	dials        Dials
	error        Cast
	view         view
	target       UVPrime
	columns      []column
	best, second candidate
}

type column struct {
	setting Setting
	mired   float64 // of the label, at fine 0
	duv     float64 // of the label, at tint 0
}

type candidate struct {
	setting Setting
	white   CCTDuv
	steps   float64
	found   bool
}

func (k KelvinDial) values() []Kelvin {
	values := append([]Kelvin(nil), k.List...)
	for _, r := range k.Ranges {
		for i := range r.axis().count() {
			values = append(values, Kelvin(r.axis().at(i)))
		}
	}
	return values
}

// Nearest returns the value on the dial that is fewest mired from a temperature; of two
// the first. Domain: a temperature above 0 and a dial with values, else ErrDomain.
func (k KelvinDial) Nearest(to Kelvin) (best Kelvin, err error) {
	want, err := to.Mired()
	if err != nil {
		return 0, err
	}
	off := math.Inf(1)
	if err := (Dials{Kelvin: k}).Check(); err != nil {
		return 0, err
	}
	for _, value := range k.values() {
		if d := math.Abs(1e6/float64(value) - float64(want)); d < off {
			best, off = value, d
		}
	}
	return best, nil
}

// run goes over the fine positions and, for each, outwards from the aim.
func (s *search) run(aim float64) {
	fine := s.dials.Fine.axis()
	for f := range fine.count() {
		shift := float64(s.dials.fineMired(fine.at(f)) + s.error.Mired)
		start := sort.Search(len(s.columns), func(i int) bool { return s.columns[i].mired+shift >= aim })
		for i := start; i < len(s.columns) && s.visit(s.columns[i], fine.at(f), shift); i++ {
		}
		for i := start - 1; i >= 0 && s.visit(s.columns[i], fine.at(f), shift); i-- {
		}
	}
}

// visit tries the settings of a column that can be best or second, and says
// whether to go on outwards.
func (s *search) visit(c column, fine, shift float64) bool {
	mired := c.mired + shift
	if !(mired >= 1e6/maxCCT*(1-rounding) && mired <= 1e6/minCCT*(1+rounding)) {
		// The aim is inside the domain, so that all columns beyond are outside.
		return false
	}
	line := s.view.line(mired)
	nearest, distance := s.nearestDuv(line)
	if s.second.found && distance-1e-9 > s.second.steps {
		return false
	}
	c.setting.Fine = fine
	tint := s.dials.Tint.axis()
	unit := float64(s.dials.tintDuv(1))
	if unit == 0 {
		s.try(c, 0, mired)
		return true
	}
	shifted := float64(s.error.Duv)
	index := func(duv float64) float64 { return ((duv-c.duv-shifted)/unit - tint.min) / tint.step }
	// What is in the domain both with the camera error and without.
	a, b := index(-float64(MaxDuv)+max(shifted, 0)), index(float64(MaxDuv)+min(shifted, 0))
	first := int(max(math.Ceil(min(a, b)-onStep), 0))
	last := int(min(math.Floor(max(a, b)+onStep), float64(tint.count()-1)))
	// Near the target the distance along the curve has one minimum: the best two
	// tints are the nearest ones or, out of reach, those at the end. Far from it
	// the curve bends as much as a circle around the target, and all are tried.
	i := int(min(max(math.Floor(index(nearest)), float64(first)), float64(last)))
	least := math.Inf(1)
	for j := max(i-1, first); j <= min(i+2, last); j++ {
		least = min(least, s.try(c, tint.at(j), mired))
	}
	if least > farSteps {
		for j := first; j <= last; j++ {
			s.try(c, tint.at(j), mired)
		}
	}
	return true
}

// farSteps is a distance from the target, in steps, well below the radius of a
// curve of one temperature: a second minimum was first met at 75 steps.
const farSteps = 20

// try enters a setting among the best two and returns its steps.
func (s *search) try(c column, tint, mired float64) float64 {
	c.setting.Tint = tint
	white := CCTDuv{Kelvin(min(max(1e6/mired, minCCT), maxCCT)), Duv(c.duv) + s.dials.tintDuv(tint) + s.error.Duv}
	// The label must be in the domain as well, or the setting has no white.
	label := CCTDuv{Kelvin(1e6 / (mired - float64(s.error.Mired))), white.Duv - s.error.Duv}
	steps := s.steps(s.view.line(mired), float64(white.Duv))
	if label.Check() != nil || white.Check() != nil || math.IsInf(steps, 1) {
		return math.Inf(1)
	}
	tried := candidate{c.setting, white, steps, true}
	switch {
	case !s.best.found:
		s.best = tried
	case tried.sameWhite(s.best):
		if tried.before(s.best) {
			s.best = tried
		}
	case tried.before(s.best):
		s.best, s.second = tried, s.best
	case !s.second.found || tried.before(s.second):
		s.second = tried
	}
	return steps
}

// sameWhite finds the same white reached in two ways, by preset and by kelvin.
func (c candidate) sameWhite(o candidate) bool {
	return math.Abs(float64(c.white.Mired()-o.white.Mired())) < 1e-6 && math.Abs(float64(c.white.Duv-o.white.Duv)) < 1e-9
}

// before orders by steps; equal pictures by the smaller departure from 0 on the
// tint and fine dials, then kelvin before a preset.
func (c candidate) before(o candidate) bool {
	if d := c.steps - o.steps; math.Abs(d) > 1e-9 {
		return d < 0
	}
	departure := func(s Setting) float64 { return math.Abs(s.Tint) + math.Abs(s.Fine) }
	if a, b := departure(c.setting), departure(o.setting); a != b {
		return a < b
	}
	return c.setting.Preset == "" && o.setting.Preset != ""
}

// nearestDuv finds the point of the whole curve of one temperature that is
// nearest to the target: a coarse scan, because far away there can be two minima,
// then golden section. Where a white is too saturated for a picture the distance
// is infinite.
func (s *search) nearestDuv(l line) (duv, steps float64) {
	const stride, ratio = float64(MaxDuv) / 10, 0.6180339887498949
	centre, least := 0.0, s.steps(l, 0)
	for i := -10; i <= 10; i++ {
		if d := s.steps(l, float64(i)*stride); d < least {
			centre, least = float64(i)*stride, d
		}
	}
	lo, hi := max(centre-stride, -float64(MaxDuv)), min(centre+stride, float64(MaxDuv))
	a, b := hi-ratio*(hi-lo), lo+ratio*(hi-lo)
	fa, fb := s.steps(l, a), s.steps(l, b)
	for range 34 {
		if fa < fb {
			hi, b, fb = b, a, fa
			a = hi - ratio*(hi-lo)
			fa = s.steps(l, a)
		} else {
			lo, a, fa = a, b, fb
			b = lo + ratio*(hi-lo)
			fb = s.steps(l, b)
		}
	}
	return (lo + hi) / 2, min(least, fa, fb)
}

func (s *search) steps(l line, duv float64) float64 {
	p, ok := s.view.picture(UV{l.u + duv*l.nu, l.v + duv*l.nv})
	if !ok {
		return math.Inf(1)
	}
	return p.Distance(s.target) / StepUVPrime
}

func (s *search) choice(c candidate, aim CCTDuv, light XY, target XYZ) (Choice, error) {
	white, err := c.white.XY()
	if err != nil {
		return Choice{}, err
	}
	p, err := Picture(light, white, CAT16)
	if err != nil {
		return Choice{}, err
	}
	return Choice{
		Setting: c.setting, White: c.white, Residual: PictureDifference(c.white, aim),
		Steps: PictureSteps(p, target), DeltaE: GreyDifference(p, target),
		ZeroAssumed: s.dials.ZeroUnknown, TintUnknown: s.dials.Tint != (TintDial{}) && s.dials.Tint.DuvPerUnit == 0,
	}, nil
}

// view is Picture for one light, with what does not depend on the white worked
// out beforehand.
type view struct{ light XYZ }

// line is the locus at a temperature with its normal.
type line struct{ u, v, nu, nv float64 }

func (v view) line(mired float64) line {
	p := locusAt(mired)
	nu, nv := p.normal()
	return line{p.u, p.v, nu, nv}
}

var d65Responses = coneMatrices[CAT16].apply(D65.XYZ(1))

func viewOf(light XY) view {
	r := coneMatrices[CAT16].apply(light.XYZ(1))
	return view{XYZ{r.X * d65Responses.X, r.Y * d65Responses.Y, r.Z * d65Responses.Z}}
}

// picture returns the picture of the light on a white, and false where the white
// is no light or too saturated.
func (v view) picture(white UV) (UVPrime, bool) {
	// X and Z of the white at Y = 1, straight from u and v.
	x, z := 1.5*white.U/white.V, (4-white.U-10*white.V)/(2*white.V)
	r := coneMatrices[CAT16].apply(XYZ{x, 1, z})
	if !(white.V > 0 && x > 0 && z >= 0 && r.X > 0 && r.Y > 0 && r.Z > 0) {
		return UVPrime{}, false
	}
	p := inverseConeMatrices[CAT16].apply(XYZ{v.light.X / r.X, v.light.Y / r.Y, v.light.Z / r.Z})
	if !(p.Y > 0 && p.X+15*p.Y+3*p.Z > 0) {
		return UVPrime{}, false
	}
	return p.UVPrime(), true
}
