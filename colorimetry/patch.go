package colorimetry

import (
	"errors"
	"fmt"
	"math"
)

// patchSide is how many cells a patch is cut into each way, to see whether it is
// even.
const patchSide = 4

// What the pixels of a patch must keep to: common practice, no source.
const (
	leastPatchSide = 8
	mostPatch      = 1 << 22
	nearEnd        = 0.01 // of the signal: a pixel nearer to black or white counts as clipped
)

// ErrPatchSize refuses a patch of fewer than 8 pixels a side or more than 4 194
// 304 in all.
var ErrPatchSize = errors.New("the patch has too few or too many pixels")

// PatchPixels takes in the pixels of a patch one by one and averages them in
// linear light: the mean of signals would come out too dark wherever there is
// noise or a shadow.
type PatchPixels struct {
	encoding      Encoding
	codes         CodeRange
	width, height int
	clipped       int
	cells         [patchSide * patchSide]patchCell
	linear        []float64 // of whole codes, NaN where not yet known
}

// patchCell sums one cell. Signals are summed as differences from the first, so
// that a tiny variance does not drown.
type patchCell struct {
	n                     int
	first                 [3]float64
	linear, moved, square [3]float64
}

// PatchReading is what the pixels of a patch say.
type PatchReading struct {
	// Patch holds the means in linear light as signals, with their spread.
	Patch
	Pixels int
	// Deviation is the standard deviation over the whole patch, as a signal; Noise
	// that from pixel to pixel, inside the cells.
	Deviation, Noise [3]float64
	// Unevenness is the luminance of the brightest of 16 cells minus that of the
	// darkest, over the mean.
	Unevenness float64
	// UnevenSteps is how far the colour of a cell lies from that of the patch at
	// most, in steps of StepUVPrime. A cell without light does not count.
	UnevenSteps float64
	Picture     XY
}

// NewPatchPixels begins a patch of the given size in pixels. Domain: 8 pixels a
// side or more, at most 2^22 in all (ErrPatchSize); a checked encoding and 8 to 16
// bits, else ErrDomain.
func NewPatchPixels(e Encoding, c CodeRange, width, height int) (*PatchPixels, error) {
	if width < leastPatchSide || height < leastPatchSide || width > mostPatch/height {
		return nil, fmt.Errorf("%w: it is %d by %d, allowed are %d or more a side and at most %d in all",
			ErrPatchSize, width, height, leastPatchSide, mostPatch)
	}
	if err := e.Check(); err != nil {
		return nil, err
	}
	if _, err := c.Signal(0); err != nil {
		return nil, err
	}
	p := &PatchPixels{encoding: e, codes: c, width: width, height: height, linear: make([]float64, int(c.top())+1)}
	for i := range p.linear {
		p.linear[i] = math.NaN()
	}
	return p, nil
}

// Add takes in the codes of the pixel at x, y, counted from the patch's corner.
// Each pixel is to be added once. Domain: inside the patch; codes from 0 to the
// highest, which need not be whole; else ErrDomain.
func (p *PatchPixels) Add(x, y int, code [3]float64) error {
	if x < 0 || x >= p.width || y < 0 || y >= p.height {
		return fmt.Errorf("%w: the pixel is %d, %d, allowed is 0, 0 to %d, %d", ErrDomain, x, y, p.width-1, p.height-1)
	}
	cell := &p.cells[y*patchSide/p.height*patchSide+x*patchSide/p.width]
	clipped := false
	for i, v := range code {
		signal, err := p.codes.Signal(v)
		if err != nil {
			return err
		}
		linear, err := p.decode(v, signal)
		if err != nil {
			return err
		}
		if cell.n == 0 {
			cell.first[i] = signal
		}
		moved := signal - cell.first[i]
		cell.linear[i] += linear
		cell.moved[i] += moved
		cell.square[i] += moved * moved
		clipped = clipped || signal <= nearEnd || signal >= 1-nearEnd
	}
	cell.n++
	if clipped {
		p.clipped++
	}
	return nil
}

func (p *PatchPixels) decode(code, signal float64) (float64, error) {
	whole := int(code)
	if float64(whole) != code {
		return p.encoding.Decode(signal)
	}
	if !math.IsNaN(p.linear[whole]) {
		return p.linear[whole], nil
	}
	linear, err := p.encoding.Decode(signal)
	p.linear[whole] = linear
	return linear, err
}

// Read returns what the pixels say. Refused, as by ReadPatch: ErrClipped,
// ErrExposure, ErrNotNeutral; ErrPatchSize where pixels are missing.
func (p *PatchPixels) Read() (PatchReading, error) {
	var r PatchReading
	empty := false
	for i := range p.cells {
		r.Pixels += p.cells[i].n
		empty = empty || p.cells[i].n == 0
	}
	if r.Pixels != p.width*p.height || empty {
		return r, fmt.Errorf("%w: %d were added of %d", ErrPatchSize, r.Pixels, p.width*p.height)
	}
	r.Clipped = float64(p.clipped) / float64(r.Pixels)
	mean, err := p.sum(&r)
	if err != nil {
		return r, err
	}
	if err := r.Patch.check(p.encoding); err != nil {
		return r, err
	}
	m, err := p.encoding.Primaries.toXYZ()
	if err != nil {
		return r, err
	}
	if r.Picture, err = m.apply(mean).XY(); err != nil {
		return r, err
	}
	p.even(&r, m, mean)
	return r, checkNeutral(r.Picture, p.encoding.Primaries.White)
}

// sum fills in mean, spread and deviations, and returns the mean of each linear
// channel.
func (p *PatchPixels) sum(r *PatchReading) (mean XYZ, err error) {
	var linear [3]float64
	for i := range linear {
		n, first := float64(r.Pixels), p.cells[0].first[i]
		var moved, square, within float64
		for j := range p.cells {
			c := &p.cells[j]
			k, d := float64(c.n), c.first[i]-first
			linear[i] += c.linear[i] / n
			moved += c.moved[i] + k*d
			square += c.square[i] + 2*d*c.moved[i] + k*d*d
			within += c.square[i] - c.moved[i]*c.moved[i]/k
		}
		r.Deviation[i] = math.Sqrt(max(square-moved*moved/n, 0) / (n - 1))
		r.Noise[i] = math.Sqrt(max(within, 0) / (n - patchSide*patchSide))
		if r.Signal[i], err = p.encoding.Encode(linear[i]); err != nil {
			return mean, err
		}
		if r.Spread[i], err = PatchSpread(r.Deviation[i], r.Pixels, p.codes); err != nil {
			return mean, err
		}
	}
	return XYZ{linear[0], linear[1], linear[2]}, nil
}

// even compares the cells.
func (p *PatchPixels) even(r *PatchReading, m matrix, mean XYZ) {
	patch, whole := r.Picture.UVPrime(), m.apply(mean).Y
	darkest, brightest := math.Inf(1), math.Inf(-1)
	for i := range p.cells {
		c := &p.cells[i]
		n := float64(c.n)
		xyz := m.apply(XYZ{c.linear[0] / n, c.linear[1] / n, c.linear[2] / n})
		darkest, brightest = min(darkest, xyz.Y), max(brightest, xyz.Y)
		if xy, err := xyz.XY(); err == nil && xy.Check() == nil {
			r.UnevenSteps = max(r.UnevenSteps, xy.UVPrime().Distance(patch)/StepUVPrime)
		}
	}
	r.Unevenness = (brightest - darkest) / whole
}
