package colorimetry

import (
	"fmt"
	"math"

	"evenwhite/colorimetry/tables"
)

// The green band of an ideal filter: half absorbed at its edges, which rise from
// a tenth to nine tenths over 44 nm. Our own model; the places of the edges are
// common practice, no source.
const (
	greenFrom, greenTo = 500, 600
	edgeWidth          = 10
)

// greenBand is 1 in the green band and 0 in the blue and the red one.
func greenBand(nm float64) float64 {
	return 1 / (1 + math.Exp((greenFrom-nm)/edgeWidth)) / (1 + math.Exp((nm-greenTo)/edgeWidth))
}

// ccDensity is the optical density that a filter of CC 100 has at a wavelength.
func ccDensity(nm float64, green bool) float64 {
	if green {
		return 1 - greenBand(nm)
	}
	return greenBand(nm)
}

// ccStep is the spacing in nm at which the model is summed: its curves are
// smooth, and 5 nm is within 1e-5 in Duv of 1 nm.
const ccStep = 5

// ccTable holds the observer and both densities at every ccStep nanometres.
var ccTable = buildCCTable()

type ccEntry struct {
	nm, x, y, z    float64
	green, magenta float64
}

func buildCCTable() (t [(observerLast-observerFirst)/ccStep + 1]ccEntry) {
	for i := range t {
		k := i * ccStep
		nm, c := float64(observerFirst+k), tables.Observer1931[k]
		t[i] = ccEntry{nm, c[0], c[1], c[2], ccDensity(nm, true), ccDensity(nm, false)}
	}
	return t
}

// ccBodies returns a black body bare and behind the ideal filter.
func ccBodies(cc, kelvin float64) (bare, filtered XYZ) {
	factor := -math.Abs(cc) / 100 * math.Ln10
	for i := range ccTable {
		e := &ccTable[i]
		density := e.magenta
		if cc > 0 {
			density = e.green
		}
		power := planck(e.nm, kelvin)
		bare = XYZ{bare.X + power*e.x, bare.Y + power*e.y, bare.Z + power*e.z}
		power *= math.Exp(factor * density)
		filtered = XYZ{filtered.X + power*e.x, filtered.Y + power*e.y, filtered.Z + power*e.z}
	}
	return bare, filtered
}

// ccModel is the change of Duv that the ideal filter makes on a black body.
func ccModel(cc, mired float64) (Duv, error) {
	bare, filtered := ccBodies(cc, 1e6/mired)
	before, err := lightOf(bare)
	if err != nil {
		return 0, err
	}
	after, err := lightOf(filtered)
	if err != nil {
		return 0, fmt.Errorf("CC %v on %.0f K: %w", cc, 1e6/mired, err)
	}
	return after.Duv - before.Duv, nil
}

// The model is summed at nodes ccSpacing mireds apart and interpolated in
// between, which up to CC 30 is within 5e-6 in Duv of the sum itself. A plan asks for a few
// strengths at very many temperatures and can so keep the nodes.
const (
	ccFirst   = 10
	ccSpacing = 20
	ccNodes   = 50
)

func ccMired(node int) float64 { return ccFirst + ccSpacing*float64(node) }

// ccDuv interpolates the model by a cubic through the four nodes around a
// temperature. Where one of them has no CCT the model is asked
// directly.
func ccDuv(cc, mired float64, node func(int) (Duv, error)) (Duv, error) {
	t := (mired - ccFirst) / ccSpacing
	first := min(max(int(t)-1, 0), ccNodes-4)
	var at [4]float64
	for i := range at {
		duv, err := node(first + i)
		if err != nil {
			return ccModel(cc, mired)
		}
		at[i] = float64(duv)
	}
	t -= float64(first)
	a, b, c, d := t, t-1, t-2, t-3
	return Duv(-at[0]*b*c*d/6 + at[1]*a*c*d/2 - at[2]*a*b*d/2 + at[3]*a*b*c/6), nil
}
