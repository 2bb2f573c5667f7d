package colorimetry

import (
	"bytes"
	"encoding/json"
	"math"
	"math/rand/v2"
	"testing"

	"evenwhite/logbook/needed"
)

// colorQuestion is one thing that is computed here and by colorjs.io from the
// same numbers.
type colorQuestion struct {
	kind string
	draw func(*rand.Rand) []float64
	here func([]float64) ([]float64, error)
	// tolerance is absolute, and beside it relative to numbers above 1.
	tolerance float64
}

// The npm package colorjs.io is code that others wrote, in another language. What
// it computes as well is compared on random input.
func TestRandomColoursAgreeWithAnIndependentLibrary(t *testing.T) {
	const each, seed = 500, 3
	node := needed.Tool(t, "node")
	present(t, "../testdata/colorjs/node_modules/colorjs.io", "the npm package colorjs.io")
	r := rand.New(rand.NewPCG(seed, 0))
	questions := colorQuestions()
	var lines bytes.Buffer
	inputs := make([][]float64, 0, each*len(questions))
	for _, q := range questions {
		for range each {
			in := q.draw(r)
			line := []any{q.kind}
			for _, v := range in {
				line = append(line, v)
			}
			data, err := json.Marshal(line)
			if err != nil {
				t.Fatal(err)
			}
			inputs = append(inputs, in)
			lines.Write(append(data, '\n'))
		}
	}
	answers := json.NewDecoder(bytes.NewReader(output(t, lines.Bytes(), node, "../testdata/colorjs/answer.mjs")))
	wanted := make([][]float64, len(inputs))
	for i := range wanted {
		if err := answers.Decode(&wanted[i]); err != nil {
			t.Fatalf("answer %d of %d: %v", i+1, len(wanted), err)
		}
	}
	for i, q := range questions {
		t.Run(q.kind, func(t *testing.T) {
			worst := 0.0
			for k := i * each; k < (i+1)*each; k++ {
				worst = max(worst, q.compare(t, seed, inputs[k], wanted[k]))
			}
			t.Logf("seed %d, %d inputs: off by at most %.2g", seed, each, worst)
		})
	}
}

// compare returns how far the two are apart.
func (q colorQuestion) compare(t *testing.T, seed int, in, want []float64) (off float64) {
	t.Helper()
	got, err := q.here(in)
	if err != nil || len(got) != len(want) {
		t.Fatalf("seed %d: %v: got %v, %v, colorjs.io says %v", seed, in, got, err, want)
	}
	for i := range got {
		d := math.Abs(got[i]-want[i]) / math.Max(1, math.Abs(want[i]))
		if !(d <= q.tolerance) {
			t.Errorf("seed %d: %v: got %v, colorjs.io says %v, want them within %v", seed, in, got, want, q.tolerance)
		}
		off = max(off, d)
	}
	return off
}

func colorQuestions() []colorQuestion {
	between := func(from, to float64, n int) func(*rand.Rand) []float64 {
		return func(r *rand.Rand) []float64 {
			out := make([]float64, n)
			for i := range out {
				out[i] = from + (to-from)*r.Float64()
			}
			return out
		}
	}
	curve := func(kind string, e Encoding, tolerance float64) colorQuestion {
		return colorQuestion{kind, between(0, 1, 1), func(v []float64) ([]float64, error) {
			linear, err := e.Decode(v[0])
			return []float64{linear}, err
		}, tolerance}
	}
	questions := []colorQuestion{
		{"deltaE2000", drawPairOfLab, func(v []float64) ([]float64, error) {
			return []float64{ciede2000(lab{v[0], v[1], v[2]}, lab{v[3], v[4], v[5]})}, nil
		}, 1e-12},
		{"lab", between(0, 1.2, 3), func(v []float64) ([]float64, error) {
			c := labOf(XYZ{v[0], v[1], v[2]}, D65.XYZ(1))
			return []float64{c.L, c.A, c.B}, nil
		}, 1e-12},
		{"greyDifference", between(0.6, 1.4, 4), func(v []float64) ([]float64, error) {
			return []float64{GreyDifference(XYZ{v[0], 1, v[1]}, XYZ{v[2], 1, v[3]})}, nil
		}, 1e-12},
		{"uvPrime", between(0.01, 2, 3), func(v []float64) ([]float64, error) {
			c := XYZ{v[0], v[1], v[2]}.UVPrime()
			return []float64{c.U, c.V}, nil
		}, 1e-14},
		{"xy", between(0.01, 2, 3), func(v []float64) ([]float64, error) {
			xy, err := XYZ{v[0], v[1], v[2]}.XY()
			return []float64{xy.X, xy.Y}, err
		}, 1e-14},
		curve("sRGB", Encoding{Transfer: TransferSRGB, Primaries: BT709}, 1e-14),
		curve("PQ", Encoding{Transfer: TransferPQ, Primaries: BT2020}, 1e-13),
		curve("HLG", Encoding{Transfer: TransferHLG, Primaries: BT2020}, 1e-13),
	}
	for a, name := range [...]string{CAT16: "CAT16", CAT02: "CAT02", Bradford: "Bradford"} {
		questions = append(questions, colorQuestion{name, drawAdaptation, func(v []float64) ([]float64, error) {
			c, err := Adaptation(a).Adapt(XYZ{v[0], v[1], v[2]}, XY{v[3], v[4]}, XY{v[5], v[6]})
			return []float64{c.X, c.Y, c.Z}, err
		}, 1e-13})
	}
	for _, p := range []struct {
		kind      string
		primaries Primaries
	}{{"BT709", BT709}, {"BT2020", BT2020}, {"P3", P3D65}, {"ACES1", ACES1}} {
		questions = append(questions, colorQuestion{p.kind, between(0, 1, 3), func(v []float64) ([]float64, error) {
			m, err := p.primaries.toXYZ()
			c := m.apply(XYZ{v[0], v[1], v[2]})
			return []float64{c.X, c.Y, c.Z}, err
		}, 1e-13})
	}
	return questions
}

// drawPairOfLab draws two colours that differ by little, as those do that are
// compared, or by any amount.
func drawPairOfLab(r *rand.Rand) []float64 {
	a := []float64{100 * r.Float64(), 200*r.Float64() - 100, 200*r.Float64() - 100}
	if r.IntN(2) == 0 {
		return append(a, a[0]+r.NormFloat64(), a[1]+r.NormFloat64(), a[2]+r.NormFloat64())
	}
	return append(a, 100*r.Float64(), 200*r.Float64()-100, 200*r.Float64()-100)
}

// drawAdaptation draws a colour and two lights that can be adapted to.
func drawAdaptation(r *rand.Rand) []float64 {
	out := []float64{2 * r.Float64(), 2 * r.Float64(), 2 * r.Float64()}
	for len(out) < 7 {
		light := CCTDuv{Kelvin(1e6 / (50 + 350*r.Float64())), Duv(0.03*r.Float64() - 0.015)}
		xy, err := light.XY()
		if err != nil {
			continue
		}
		out = append(out, xy.X, xy.Y)
	}
	return out
}
