package api

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"evenwhite/api/pairing"
	"evenwhite/colorimetry"
)

type rightAnswer struct {
	Cameras []struct {
		MedianSteps, WorstSteps float64
		Cards                   []struct {
			Steps float64
			Basis string
		}
	}
	Words string
}

// A shown is what a simulated sensor did on a card: the white that its label claims, how far it was off
// that label there, and its picture.
type shown struct {
	label  colorimetry.CCTDuv
	off    colorimetry.Cast
	u, v   float64
	minute float64
}

// show works out what a sensor does by its own R G B.
func (r *trial) show(s *sensor, set setting, light colorimetry.XY, minute float64) shown {
	r.Helper()
	rgb := s.shoot(r.T, r.o, r.lamp, set.kelvin, set.tint)
	at := on(toXYZ709, rgb)
	sum := at[0] + 15*at[1] + 3*at[2]
	linear := colorimetry.Encoding{Transfer: colorimetry.TransferLinear, Primaries: colorimetry.BT709}
	read, err := colorimetry.ReadPatch(colorimetry.Patch{Signal: rgb}, linear, light)
	if err != nil {
		r.Fatal(err)
	}
	label := colorimetry.CCTDuv{CCT: colorimetry.Kelvin(set.kelvin), Duv: colorimetry.Duv(0.0005 * set.tint)}
	return shown{label, colorimetry.Cast{Mired: read.White.Mired() - label.Mired(), Duv: read.White.Duv - label.Duv},
		4 * at[0] / sum, 9 * at[1] / sum, minute}
}

// steps is how far the picture of a sensor lies from what those before it predict: the mean of how far they
// were off, the nearer in setting and time for more (at 10 mired or 0.003 Duv half, after a day half).
func (s shown) steps(t *testing.T, light colorimetry.XY, before []shown) float64 {
	t.Helper()
	white, sum, mired, duv := s.label, 0.0, 0.0, 0.0
	for _, o := range before {
		far := math.Hypot(float64(s.label.Mired()-o.label.Mired())/10, float64(s.label.Duv-o.label.Duv)/0.003)
		w := 1 / (1 + far*far) / (1 + (s.minute-o.minute)/1440)
		sum, mired, duv = sum+w, mired+w*float64(o.off.Mired), duv+w*float64(o.off.Duv)
	}
	if sum > 0 {
		white.CCT = colorimetry.Kelvin(1e6 / (float64(white.Mired()) + mired/sum))
		white.Duv += colorimetry.Duv(duv / sum)
	}
	xy, err := white.XY()
	if err != nil {
		t.Fatal(err)
	}
	p, err := colorimetry.Picture(light, xy, colorimetry.CAT16)
	if err != nil {
		t.Fatal(err)
	}
	sum = p.X + 15*p.Y + 3*p.Z
	return math.Hypot(s.u-4*p.X/sum, s.v-9*p.Y/sum) / 0.0011
}

// With simulated sensors: how far off is printed is how far off the sensor was, which the simulation knows.
// A card that predicted itself would be off by nothing, or by less.
func TestHowRightItWasIsWhatTheSensorsDid(t *testing.T) {
	g, o := setStage(t), readObserver(t)
	fluorescent, _ := readMeasuredLights(t)
	random := rand.New(rand.NewPCG(31, 7))
	lamps := []struct {
		family string
		light  measuredLight
	}{{"whiteLed", o.whiteLED("invented, daylight", 0.47, 560)}, {"incandescent", o.black(1e6 / 3200)}, {"fluorescent", fluorescent[3]}}
	want := map[string][]float64{}
	for _, l := range lamps {
		a, b := o.sensor("A", 600, 540, 455, 14*random.Float64()-7, 0.004*random.Float64()-0.002), o.sensor("B", 612, 532, 465, -9, -0.002)
		r := newTrial(g, o, l.light, l.family, true, a, b, simulatedTint)
		x, y := xyOf(o, l.light)
		light := colorimetry.XY{X: x, Y: y}
		kelvin, _ := o.nearest(x, y)
		kelvin = 50 * math.Round(kelvin/50)
		var before []shown
		for i, set := range []setting{{kelvin, 0}, {kelvin, 0}, {kelvin + 250, 4}, {kelvin + 100, -3}} {
			r.shootCard(a, set)
			s := r.show(a, set, light, 3*float64(i))
			want[r.bodyOfName[a]] = append(want[r.bodyOfName[a]], s.steps(t, light, before))
			before = append(before, s)
		}
	}
	var got rightAnswer
	answer := g.ask("GET", g.base+"/how-right", "").want(200)
	if err := json.Unmarshal(answer.body, &got); err != nil {
		t.Fatal(err)
	}
	seen := 0
	for at, camera := range got.Cameras {
		truth := want[answer.text("cameras", at, "body")]
		for i, c := range camera.Cards {
			if truth == nil { // of the play itself
				continue
			}
			if seen++; math.Abs(c.Steps-truth[i]) > 0.35 {
				t.Errorf("camera %d, card %d: off by %.1f steps (%s), the sensor by %.2f", at, i+1, c.Steps, c.Basis, truth[i])
			}
		}
		if truth != nil && (camera.Cards[0].Basis != "label" || camera.Cards[1].Basis != "card on this setting" ||
			camera.Cards[2].Basis != "cards elsewhere") {
			t.Errorf("camera %d rests on %+v", at, camera.Cards)
		}
	}
	if seen != 12 {
		t.Errorf("%d cards were predicted, want 12", seen)
	}
}

// Whoever may fetch the colour log may ask how right it is; of a day that is not there nobody is told.
func TestHowRightOverREST(t *testing.T) {
	g := setStage(t)
	guest := g.admit(pairing.Guest, "colourist", g.production)
	for query, want := range map[string]int{
		"": 200, "?day=" + g.ids["day"]: 200, "?setUp=" + g.ids["setUp"]: 200, "?day=" + drawID().String(): 404,
		"?until=2001-01-01T00:00:00Z": 200, "?until=yesterday": 400,
	} {
		r := guest.ask("GET", g.base+"/how-right"+query, "").want(want)
		if query == "?until=2001-01-01T00:00:00Z" && r.text("words") != "no cards, so nobody can say" {
			t.Errorf("before anything was shot: %s", r.body)
		}
	}
	log := string(guest.ask("GET", g.base+"/color-log.json", "").want(200).body)
	if _, told, ok := strings.Cut(log, `"howRight":`); !ok || !strings.HasPrefix(told, strings.TrimSpace(string(
		guest.ask("GET", g.base+"/how-right", "").body))) {
		t.Errorf("the colour log does not say what is answered by itself: %.300s", log)
	}
}
