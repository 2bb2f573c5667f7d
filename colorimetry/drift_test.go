package colorimetry

import (
	"errors"
	"math"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

func TestTheilSenOfTheWorkedExample(t *testing.T) {
	for _, row := range checkRows(t, "sen1968.json") {
		t.Run(row.Name, func(t *testing.T) {
			at := make([]time.Duration, 7)
			for i := range at {
				at[i] = time.Duration(row.in[i]) * time.Hour
			}
			got, err := theilSen(at, row.in[7:])
			if err != nil {
				t.Fatal(err)
			}
			row.compare(t, got.PerHour, got.Low, got.High)
		})
	}
}

// By hand: 60 mired an hour over half an hour in five readings, of which one is
// wild. Slopes of the four good ones are 60 all, so the median of the ten is 60;
// at 5 readings the ends are the least and greatest slope, 60 − 200 and 60 + 200.
func TestOneWildReadingDoesNotBendTheLine(t *testing.T) {
	var readings []Observation
	for i, mired := range []float64{200, 207.5, 240, 222.5, 230} {
		readings = append(readings, Observation{
			At: time.Duration(i) * 450 * time.Second, Sky: "clear", Light: CCTDuv{Kelvin(1e6 / mired), 0.001},
			Lux: Lux(1000 * math.Exp2(-float64(i)/4)),
		})
	}
	d, err := DriftOf(readings)
	if err != nil {
		t.Fatal(err)
	}
	m := d.Mired
	if !within(m.PerHour, 60, 1e-9) || !within(m.Low, -140, 1e-9) || !within(m.High, 260, 1e-9) {
		t.Errorf("got %v mired an hour (%v to %v), want 60 (-140 to 260)", m.PerHour, m.Low, m.High)
	}
	if m.Certain() {
		t.Error("the direction is certain, want it in doubt")
	}
	if !within(d.Duv.PerHour, 0, 1e-15) {
		t.Errorf("got Duv %v an hour, want 0", d.Duv.PerHour)
	}
	if d.Stops == nil || !within(d.Stops.PerHour, -2, 1e-9) || !d.Stops.Certain() {
		t.Errorf("got %v stops, want -2 an hour, certain", d.Stops)
	}
	value, _, _, err := m.At(45 * time.Minute)
	if err != nil || !within(value, 245, 1e-9) {
		t.Errorf("a quarter of an hour ahead: got %v, %v, want 245 mired", value, err)
	}
}

func TestDriftForecastsNoFurtherThanItSaw(t *testing.T) {
	readings := steady(4, 10*time.Minute)
	d, err := DriftOf(readings)
	if err != nil {
		t.Fatal(err)
	}
	if got := d.Mired.Horizon(); got != time.Hour {
		t.Errorf("got a horizon of %v, want 1h", got)
	}
	for _, at := range []time.Duration{-time.Second, time.Hour + time.Second} {
		if _, _, _, err := d.Mired.At(at); !errors.Is(err, ErrDomain) || !strings.Contains(err.Error(), "no further ahead") {
			t.Errorf("at %v: got %v, want ErrDomain", at, err)
		}
	}
	for _, at := range []time.Duration{0, time.Hour} {
		if _, _, _, err := d.Mired.At(at); err != nil {
			t.Errorf("at %v: %v", at, err)
		}
	}
}

func steady(n int, every time.Duration) (readings []Observation) {
	for i := range n {
		readings = append(readings, Observation{At: time.Duration(i) * every, Sky: "clear", Light: CCTDuv{5600, 0.002}})
	}
	return readings
}

func TestDriftNeedsEnoughReadings(t *testing.T) {
	nan := math.NaN()
	for _, c := range []struct {
		name, says string
		readings   []Observation
		change     func([]Observation)
	}{
		{"none", "4 to 2000", nil, nil},
		{"three", "4 to 2000", steady(3, 20*time.Minute), nil},
		{"too many", "4 to 2000", steady(2001, time.Minute), nil},
		{"19 minutes", "20 or more", steady(20, time.Minute), nil},
		{"all at once", "20 or more", steady(5, 0), nil},
		{"two skies", `sky is "cloud"`, steady(5, 10*time.Minute), func(r []Observation) { r[3].Sky = "cloud" }},
		{"a light without a CCT", "reading 4: outside the domain: CCT", steady(5, 10*time.Minute), func(r []Observation) { r[3].Light.CCT = 0 }},
		{"a Duv that is NaN", "Duv", steady(5, 10*time.Minute), func(r []Observation) { r[3].Light.Duv = Duv(nan) }},
		{"a negative illuminance", "illuminance", steady(5, 10*time.Minute), func(r []Observation) { r[3].Lux = -1 }},
		{"an illuminance that is NaN", "illuminance", steady(5, 10*time.Minute), func(r []Observation) { r[3].Lux = Lux(nan) }},
		{"a time beyond all days", "time in hours", steady(5, 10*time.Minute), func(r []Observation) { r[3].At = math.MaxInt64 }},
	} {
		t.Run(c.name, func(t *testing.T) {
			if c.change != nil {
				c.change(c.readings)
			}
			if got, err := DriftOf(c.readings); !errors.Is(err, ErrDomain) || !strings.Contains(err.Error(), c.says) {
				t.Errorf("got %v, %v, want ErrDomain that says %q", got, err, c.says)
			}
		})
	}
	if d, err := DriftOf(steady(5, 10*time.Minute)); err != nil || d.Stops != nil {
		t.Errorf("without illuminance: got stops %v, %v, want none", d.Stops, err)
	}
}

func TestDriftTurnsWithTheReadings(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(4, 30).Draw(t, "n")
		readings := make([]Observation, n)
		for i := range readings {
			readings[i] = Observation{
				At:    time.Duration(rapid.IntRange(0, 7200).Draw(t, "at")) * time.Second,
				Light: CCTDuv{Kelvin(rapid.Float64Range(2500, 9000).Draw(t, "kelvin")), 0},
				Lux:   Lux(rapid.Float64Range(1, 1e5).Draw(t, "lux")),
			}
		}
		readings[0].At, readings[1].At = 0, 7200*time.Second
		d, err := DriftOf(readings)
		if err != nil {
			t.Fatal(err)
		}
		for name, trend := range map[string]Trend{"mired": d.Mired, "duv": d.Duv, "stops": *d.Stops} {
			if !finite(trend.PerHour, trend.Low, trend.High) || trend.Low > trend.PerHour || trend.PerHour > trend.High {
				t.Fatalf("%s: got %v between %v and %v", name, trend.PerHour, trend.Low, trend.High)
			}
		}
		// The order of the readings is no matter, and time run backwards turns the
		// sign.
		turned := make([]Observation, n)
		for i, r := range readings {
			r.At = -r.At
			turned[n-1-i] = r
		}
		back, err := DriftOf(turned)
		if err != nil {
			t.Fatal(err)
		}
		if !within(back.Mired.PerHour, -d.Mired.PerHour, 1e-9) || !within(back.Mired.Low, -d.Mired.High, 1e-9) {
			t.Errorf("backwards: got %v, want the opposite of %v", back.Mired, d.Mired)
		}
	})
}

func TestTheilSenOfAnIndependentImplementation(t *testing.T) {
	for _, row := range checkRows(t, "theil-sen.json") {
		t.Run(row.Name, func(t *testing.T) {
			at := make([]time.Duration, 15)
			for i := range at {
				at[i] = time.Duration(row.in[i]) * time.Hour
			}
			got, err := theilSen(at, row.in[15:])
			if err != nil {
				t.Fatal(err)
			}
			row.compare(t, got.PerHour, got.Low, got.High)
		})
	}
}

// What a trend says of itself fits together, whatever the readings.
func TestForecastsFollowTheLine(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		readings := steady(rapid.IntRange(4, 12).Draw(t, "n"), 10*time.Minute)
		for i := range readings {
			readings[i].Light.CCT = Kelvin(1e6 / rapid.Float64Range(150, 320).Draw(t, "mired"))
		}
		d, err := DriftOf(readings)
		if err != nil {
			t.Fatal(err)
		}
		m := d.Mired
		at := m.Last + time.Duration(rapid.Float64Range(0, 1).Draw(t, "part")*float64(m.Horizon()-m.Last))
		value, low, high, err := m.At(at)
		if err != nil {
			t.Fatal(err)
		}
		if !(low <= value && value <= high) {
			t.Errorf("at %v: got %v outside %v to %v", at, value, low, high)
		}
		if m.Certain() != (m.Low > 0 || m.High < 0) || !(m.Low <= m.PerHour && m.PerHour <= m.High) {
			t.Errorf("got %+v, certain %v", m, m.Certain())
		}
	})
}

// The published example once more as a light: its values are mireds above 200, its
// times hours.
func TestDriftOfTheWorkedExample(t *testing.T) {
	for _, row := range checkRows(t, "sen1968.json") {
		t.Run(row.Name, func(t *testing.T) {
			var readings []Observation
			for i := range 7 {
				readings = append(readings, Observation{At: time.Duration(row.in[i]) * time.Hour, Light: CCTDuv{Kelvin(1e6 / (200 + row.in[7+i])), 0}})
			}
			d, err := DriftOf(readings)
			if err != nil {
				t.Fatal(err)
			}
			row.compare(t, d.Mired.PerHour, d.Mired.Low, d.Mired.High)
			if !d.Mired.Certain() || d.Duv.Certain() {
				t.Errorf("got certain %v for the mireds and %v for a Duv that stays, want only the first", d.Mired.Certain(), d.Duv.Certain())
			}
		})
	}
}
