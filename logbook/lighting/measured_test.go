package lighting_test

import (
	"errors"
	"fmt"
	"testing"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
	"evenwhite/logbook/stage"
)

// TestEveryFormOfAReadingIsTheSameColour: illuminant A is x 0.44758, y 0.40745 by
// CIE 15:2004; the other forms are that point by the definitions of the planes.
func TestEveryFormOfAReadingIsTheSameColour(t *testing.T) {
	const x, y = 0.44758, 0.40745
	d := -2*x + 12*y + 3
	for _, form := range []string{
		fmt.Sprintf(`{"as":"xy","x":%v,"y":%v}`, x, y),
		fmt.Sprintf(`{"as":"uvPrime","u":%v,"v":%v}`, 4*x/d, 9*y/d),
		fmt.Sprintf(`{"as":"uv","u":%v,"v":%v}`, 4*x/d, 6*y/d),
		fmt.Sprintf(`{"as":"xyz","x":%v,"y":1,"z":%v}`, x/y, (1-x-y)/y),
	} {
		got := stage.TypedColor(t, form)
		stage.Near(t, form+" x", got.X, x, 1e-9)
		stage.Near(t, form+" y", got.Y, y, 1e-9)
	}
	// 2856 K: the temperature that CIE 15 gives to illuminant A, with today's c2.
	got := stage.TypedColor(t, `{"as":"cctDuv","cctKelvin":2855.5,"duv":0}`)
	stage.Near(t, "x from CCT", got.X, x, 2e-5)
	stage.Near(t, "y from CCT", got.Y, y, 2e-5)
}

func TestAFlatSpectrumIsEqualEnergy(t *testing.T) {
	// Equal energy is x = y = 1/3 by the normalisation of the CIE 1931 observer.
	nm, values := "360", "1"
	for i := 365; i <= 830; i += 5 {
		nm, values = fmt.Sprint(nm, ",", i), values+",1"
	}
	got := stage.TypedColor(t, fmt.Sprintf(`{"as":"spectrum","wavelengthsNm":[%s],"values":[%s]}`, nm, values))
	stage.Near(t, "x", got.X, 1.0/3, 1e-4)
	stage.Near(t, "y", got.Y, 1.0/3, 1e-4)
}

func TestTheSignOfACCReading(t *testing.T) {
	for _, c := range []struct {
		means, color string
		sign         float64
	}{
		{"lightIs", "green", +1}, {"lightIs", "magenta", -1},
		{"filterNeeded", "green", -1}, {"filterNeeded", "magenta", +1},
	} {
		xy := stage.TypedColor(t, fmt.Sprintf(`{"as":"cctCc","cctKelvin":4000,"density":10,"color":%q,"means":%q}`, c.color, c.means))
		got, err := xy.CCTDuv()
		if err != nil {
			t.Fatal(err)
		}
		if float64(got.Duv)*c.sign <= 0.001 {
			t.Errorf("%s %s: got Duv %+.4f, want sign %+g", c.means, c.color, got.Duv, c.sign)
		}
		stage.Near(t, "CCT", float64(got.CCT), 4000, 0.01)
	}
}

func TestAColouredLightHasNoCCT(t *testing.T) {
	c := figure.ChromaticityOf(colorimetry.XY{X: 0.2, Y: 0.1})
	if c.CCTKelvin != nil || c.Duv != nil || c.Words != "coloured, no CCT" {
		t.Errorf("got %+v", c)
	}
}

func TestAReadingThatSaysTooLittle(t *testing.T) {
	for _, measured := range []logbook.Value{`{"as":"xy","x":0.3}`, `{"as":"glow"}`, `{"as":"cctCc","cctKelvin":4000}`, ""} {
		if xy, err := lighting.ColorOf(measured); !errors.Is(err, figure.ErrUnknown) {
			t.Errorf("%s: got %v, %v, want ErrUnknown", measured, xy, err)
		}
	}
	for _, measured := range []logbook.Value{`{"as":"xy","x":0.9,"y":0.9}`, `{"as":"cctDuv","cctKelvin":900,"duv":0}`, `{"as":"spectrum","values":[1],"wavelengthsNm":[500]}`} {
		if xy, err := lighting.ColorOf(measured); !errors.Is(err, colorimetry.ErrDomain) {
			t.Errorf("%s: got %v, %v, want ErrDomain", measured, xy, err)
		}
	}
}

func TestFootCandles(t *testing.T) {
	// 1 fc = 10.763910 lx: 1 / 0.3048² by the definition of the foot.
	lux, ok := lighting.IlluminanceOf(`{"unit":"footCandle","value":100}`)
	stage.Near(t, "lux", lux, 100/(0.3048*0.3048), 1e-4)
	if !ok {
		t.Error("got no illuminance")
	}
}

func TestReadingsThatCount(t *testing.T) {
	s := stage.New(t)
	s.Minute(10)
	second := s.Read(s.Key, `{"as":"cctDuv","cctKelvin":5500,"duv":0}`, "supersedes", stage.Ref(s.Reading))
	s.Minute(20)
	third := s.Read(s.Key, `{"as":"cctDuv","cctKelvin":5400,"duv":0}`)
	count := func(want ...logbook.ID) {
		t.Helper()
		var got []logbook.ID
		for _, m := range lighting.ReadingsOf(s.Book(), s.SetUp) {
			got = append(got, m.Reading)
		}
		if fmt.Sprint(got) != fmt.Sprint(want) {
			t.Errorf("got %v, want %v", got, want)
		}
	}
	count(second, third)
	s.Set(third, "struckOut", `{"reason":"sun on the meter"}`)
	count(second)
	s.Set(second, "struckOut", `{"reason":"typed wrong"}`) // then what it replaced counts again
	count(s.Reading)
}

func TestTheReadingThatSpeaksAtATime(t *testing.T) {
	s := stage.New(t)
	s.Minute(30)
	s.Read(s.Key, stage.OnLocus5600)
	all := lighting.ReadingsOf(s.Book(), s.SetUp)
	of := func(m *lighting.Reading) bool { return m.OfLight(s.Key) }
	for _, c := range []struct{ at, want int }{{-5, 0}, {0, 0}, {29, 0}, {30, 30}, {500, 30}} {
		if got := lighting.Latest(all, stage.Minute(c.at), of); got.TakenAt != stage.Minute(c.want) {
			t.Errorf("at minute %d: got %v, want minute %d", c.at, got.TakenAt.Time(), c.want)
		}
	}
	stage.Near(t, "age", all[0].AgeMinutes(stage.Minute(45)), 45, 0)
	stage.Near(t, "age of a reading from later", all[1].AgeMinutes(stage.Minute(10)), 0, 0)
}

func TestTheFloorOfAMeter(t *testing.T) {
	s := stage.New(t)
	meter := s.Add(kinds.Meter, "name", `"stick"`, "meterKind", `"spectrometer"`)
	rough := s.Add(kinds.Meter, "name", `"old one"`, "meterKind", `"threeSensor"`)
	fine := s.Add(kinds.Meter, "name", `"lab"`, "meterKind", `"spectrometer"`, "floorXY", "0.0005")
	for _, id := range []logbook.ID{meter, rough, fine} {
		s.Read(s.Key, stage.OnLocus5600, "meter", stage.Ref(id))
	}
	b := s.Book()
	for i, want := range []float64{0.004, 0.002, 0.004, 0.0005} {
		stage.Near(t, "floor", lighting.ReadingsOf(b, s.SetUp)[i].FloorXY, want, 0)
	}
	// From memory: a thousandth of x or y is 1 to 2 mired around 5600 K.
	stage.Near(t, "floor in mired", lighting.ReadingsOf(b, s.SetUp)[1].FloorMired(), 5, 3)
}

func TestRoundingIsTheOneThatIsShown(t *testing.T) {
	for _, c := range []struct {
		value    float64
		decimals int
		want     float64
	}{{8.4999, 0, 8}, {8.5, 0, 9}, {-8.5, 0, -9}, {0.00204, 4, 0.0020}, {-0.2, 0, 0}} {
		if got := figure.RoundTo(c.value, c.decimals); got != c.want || fmt.Sprint(got) != fmt.Sprint(c.want) {
			t.Errorf("RoundTo(%v, %d): got %v, want %v", c.value, c.decimals, got, c.want)
		}
	}
}

func TestIDsAreTextInJSON(t *testing.T) {
	id := logbook.ID{1: 2, 15: 3}
	text, err := id.MarshalText()
	if err != nil || string(text) != id.String() {
		t.Fatalf("got %s, %v", text, err)
	}
	var back logbook.ID
	if err := back.UnmarshalText(text); err != nil || back != id {
		t.Errorf("got %s, %v, want %s", back, err, id)
	}
	if err := back.UnmarshalText([]byte("00000000-0000-0000-0000-000000000000")); err == nil {
		t.Error("the nil UUID is taken")
	}
}

func TestAgesAreSaidAsPeopleSayThem(t *testing.T) {
	for minutes, want := range map[float64]string{0: "0 min", 119: "119 min", 120: "2 h", 47 * 60: "47 h", 48 * 60: "2 days", 380227: "264 days"} {
		if got := figure.AgeWords(minutes); got != want {
			t.Errorf("%g minutes: got %q, want %q", minutes, got, want)
		}
	}
}
