package colorimetry

import (
	"fmt"
	"math"

	"evenwhite/colorimetry/tables"
)

// MaxDuv is the greatest distance from the Planckian locus at which a light
// still has a correlated colour temperature: beyond it the light is coloured
// [CIE15].
const MaxDuv Duv = 0.05

// CCTDuv is a chromaticity as correlated colour temperature and distance from
// the Planckian locus [OHNO2014]. Domain: 1000 to 100 000 K and a Duv of −0.05
// to +0.05; Check says so.
type CCTDuv struct {
	CCT Kelvin
	Duv Duv
}

// Check returns ErrDomain outside the domain of CCTDuv.
func (t CCTDuv) Check() error {
	if err := checkCCT(t.CCT); err != nil {
		return err
	}
	if !(t.Duv >= -MaxDuv && t.Duv <= MaxDuv) {
		return domainError("Duv", float64(t.Duv), "-0.05 to 0.05")
	}
	return nil
}

// Mired returns the CCT as reciprocal temperature. It assumes a checked value.
func (t CCTDuv) Mired() Mired { return Mired(1e6 / float64(t.CCT)) }

// XY returns the point of the locus at the CCT, moved by Duv along the normal in
// u v. Domain: that of CCTDuv, and the result must be the chromaticity of a
// light (below 3780 K a Duv of +0.05 is not), else ErrDomain, which names the greatest Duv
// that is one [OHNO2014].
func (t CCTDuv) XY() (XY, error) {
	if err := t.Check(); err != nil {
		return XY{}, err
	}
	p := locusAt(1e6 / float64(t.CCT))
	nu, nv := p.normal()
	d := float64(t.Duv)
	// x + y is at most 1 where u + 10 v is at most 4.
	if most := (4 - p.u - 10*p.v) / (nu + 10*nv); d > most {
		return XY{}, domainError("Duv at "+inWords(float64(t.CCT))+" K", d,
			"at most "+inWords(math.Floor(most*1e4)/1e4)+": no light is greener there")
	}
	return UV{p.u + d*nu, p.v + d*nv}.XY()
}

// rounding is how far, relative to its size, a result may pass the end of the
// domain and still count as that end: the round trip of an end must not fail.
const rounding = 1e-9

// CCTDuv returns the nearest point of the Planckian locus in u v and the signed
// distance to it. Domain: a checked chromaticity, nearest to 1000 to 100 000 K
// and at most 0.05 away, else ErrDomain: such a light is coloured and has no
// CCT [CIE15, OHNO2014].
func (c XY) CCTDuv() (CCTDuv, error) {
	if err := c.Check(); err != nil {
		return CCTDuv{}, err
	}
	uv := c.UV()
	m := nearestMired(uv)
	p := locusAt(m)
	nu, nv := p.normal()
	duv := (uv.U-p.u)*nu + (uv.V-p.v)*nv
	// At the end of the table the foot is not perpendicular and the plain
	// distance says more.
	if away := math.Sqrt((uv.U-p.u)*(uv.U-p.u) + (uv.V-p.v)*(uv.V-p.v)); !(away <= float64(MaxDuv)*(1+rounding)) {
		return CCTDuv{}, fmt.Errorf("%s is coloured, no CCT: %w", c.inWords(),
			domainError("distance from the Planckian locus in u v", away, "at most 0.05"))
	}
	k := 1e6 / m
	if !(k >= minCCT*(1-rounding) && k <= maxCCT*(1+rounding)) {
		return CCTDuv{}, fmt.Errorf("%s: %w", c.inWords(),
			domainError("CCT in kelvin (or beyond)", k, "1000 to 100000"))
	}
	return CCTDuv{
		Kelvin(min(max(k, minCCT), maxCCT)),
		min(max(Duv(duv), -MaxDuv), MaxDuv),
	}, nil
}

// inWords has the digits that are shown of a chromaticity.
func (c XY) inWords() string {
	return fmt.Sprintf("x %s, y %s", inWords(math.Round(c.X*1e5)/1e5), inWords(math.Round(c.Y*1e5)/1e5))
}

// nearestMired returns the reciprocal temperature of the nearest point of the
// tabulated locus. The locus bends with a radius of 0.1 at the least (at 5195 K), so
// that within 0.05 of it there is one nearest point; far away a scan is needed to
// find the right one. Newton's method refines it until a step is below 1e-8
// relative, after which the error is its square, and falls back on halving the
// bracket.
func nearestMired(c UV) float64 {
	const stride = 8
	best, least := 0, math.Inf(1)
	for i := 0; i < len(tables.Locus); i += stride {
		du, dv := tables.Locus[i][0]-c.U, tables.Locus[i][1]-c.V
		if d := du*du + dv*dv; d < least {
			best, least = i, d
		}
	}
	lo := tables.LocusFirst + tables.LocusStep*float64(max(best-stride, 0))
	hi := tables.LocusFirst + tables.LocusStep*float64(min(best+stride, len(tables.Locus)-1))
	m := tables.LocusFirst + tables.LocusStep*float64(best)
	for range 60 {
		p := locusAt(m)
		du, dv := p.u-c.U, p.v-c.V
		slope := du*p.u1 + dv*p.v1
		if slope > 0 {
			hi = m
		} else {
			lo = m
		}
		next := m - slope/(p.u1*p.u1+p.v1*p.v1+du*p.u2+dv*p.v2)
		if math.Abs(next-m) <= 1e-8*m {
			return next
		}
		if !(next > lo && next < hi) {
			next = (lo + hi) / 2
		}
		m = next
	}
	return m
}
