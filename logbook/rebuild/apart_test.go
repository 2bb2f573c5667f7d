package rebuild_test

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"evenwhite/logbook/kinds"
	"evenwhite/logbook/rebuild"
	"evenwhite/logbook/stage"
)

// again builds the stage's set-up a second time on a later day: set-up B, which must match take 1.
func again(t *testing.T) (s, b *stage.Stage) {
	s, take, _ := shot(t)
	other := *s
	b = &other
	b.Minute(24 * 60)
	b.Day = b.Add(kinds.Day, "number", "2", "date", `"2026-03-05"`)
	b.SetUp = b.Add(kinds.SetUp, "day", stage.Ref(b.Day), "scene", stage.Ref(s.Scene), "name", `"B"`,
		"mustMatch", fmt.Sprintf(`{"setUp":%s,"take":%s}`, stage.Ref(s.SetUp), stage.Ref(take)))
	b.Key = b.Light("Panel left", "key", "lamp", stage.Ref(s.Lamp), "rigged/dialKelvin", "5600", "rigged/levelPercent", "100",
		"rigged/on", "true")
	b.Set(b.SetUp, "cameras/"+s.A.String()+"/inUse", "true", "cameras/"+s.B.String()+"/inUse", "true")
	b.Takes = 0
	return s, b
}

func apartAt(t *testing.T, b *stage.Stage, minute int) rebuild.SetUpsApart {
	t.Helper()
	a, err := rebuild.Compare(b.Book(), rebuild.Query{SetUp: b.SetUp}, rebuild.Query{}, stage.Minute(minute))
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func rowWords(a rebuild.SetUpsApart) (all []string) {
	for _, r := range a.Rows {
		all = append(all, fmt.Sprintf("%s %s: %s, %s", r.Of, r.What, r.Verdict, r.Words))
	}
	return all
}

func rowOf(t *testing.T, a rebuild.SetUpsApart, of, what string) rebuild.ApartRow {
	t.Helper()
	for _, r := range a.Rows {
		if r.Of == of && r.What == what {
			return r
		}
	}
	t.Fatalf("no row %s %s in\n%s", of, what, strings.Join(rowWords(a), "\n"))
	return rebuild.ApartRow{}
}

// Nothing is told before the first reading; then the greatest comes first.
func TestWhatIsBuiltAgainIsComparedFromTheFirstReadingOn(t *testing.T) {
	s, b := again(t)
	a := apartAt(t, b, 24*60+1)
	if a.Begun || len(a.Rows) > 0 || a.Model.SetUp != s.SetUp || a.Model.AsOf != "as rigged at take 1, 09:10 UTC+1" {
		t.Fatalf("got %+v before the first reading", a)
	}
	b.Minute(24*60 + 5)
	b.Read(b.Key, stage.CctDuv(1e6/(1e6/5600+15), 0.001), "illuminance", `{"value":800,"unit":"lux"}`)
	choose(b, "5600", `{"as":"start"}`)
	a = apartAt(t, b, 24*60+6)
	first := a.Rows[0]
	if first.Of != "panel left" || first.What != "kelvin" || first.Verdict != "off" || *first.Mired != 15 || *first.Times != 1.5 ||
		first.Limit != "10 mired (common practice, no source)" || first.Words != "15 mired warmer" {
		t.Errorf("got first %+v", first)
	}
	if !strings.Contains(first.Sure, "the meter tells ±") || len(first.Records) != 2 {
		t.Errorf("got %q, %v: it does not say how sure, or by which readings", first.Sure, first.Records)
	}
	if r := rowOf(t, a, "fill", "light"); r.Verdict != "one side only" || r.Here != "not here" {
		t.Errorf("got %+v of the light that is not there yet", r)
	}
	if r := rowOf(t, a, "camera A", "set to"); r.Verdict != "not known" {
		t.Errorf("got %+v of a camera that nobody read off", r)
	}
	b.Read(b.Key, stage.OnLocus5600, "illuminance", `{"value":800,"unit":"lux"}`)
	b.Minute(24*60 + 7)
	b.Read(b.Key, stage.OnLocus5600, "illuminance", `{"value":800,"unit":"lux"}`)
	for _, r := range apartAt(t, b, 24*60+8).Rows {
		if r.Verdict == "off" {
			t.Errorf("got %+v once it is as it was", r)
		}
	}
}

// The model stays as it was at its take, whatever was done there since.
func TestTheModelIsThatOfItsTake(t *testing.T) {
	for _, relit := range []bool{false, true} {
		s, b := again(t)
		b.Set(b.Key, "position", `"near"`)
		s.Minute(0)
		s.Set(s.Key, "position", `"near"`)
		if relit {
			s.Minute(20)
			s.Set(s.Key, "rigged/dialKelvin", "3200", "position", `"far"`)
			s.Read(s.Key, stage.OnLocus3200, "illuminance", `{"value":100,"unit":"lux"}`)
			s.Shoot("3200", "3200")
		}
		b.Minute(24*60 + 5)
		b.Read(b.Key, stage.OnLocus5600, "illuminance", `{"value":800,"unit":"lux"}`)
		a := apartAt(t, b, 24*60+6)
		for _, r := range a.Rows {
			if r.Of == "panel left" {
				t.Errorf("relit %v: got %s %+v, want nothing of the key", relit, r.What, r)
			}
		}
	}
}

func TestEachKindOfDifference(t *testing.T) {
	s, b := again(t)
	gel := s.Add(kinds.Gel, "name", `"half warm"`, "gelKind", `"warm"`)
	b.Minute(24*60 + 5)
	b.Set(b.Key, "rigged/gels", "["+stage.Ref(gel)+"]", "rigged/levelPercent", "80", "position", `"left"`)
	fill := b.Light("fill", "fill", "rigged/on", "true")
	b.Minute(24*60 + 6)
	b.Read(b.Key, stage.OnLocus5600, "illuminance", `{"value":800,"unit":"lux"}`)
	b.Read(fill, stage.CctDuv(5600, 0.004), "illuminance", `{"value":400,"unit":"lux"}`)
	choose(b, "4300", `{"as":"start"}`)
	b.Minute(24*60 + 7)
	take := b.Take()
	b.Clip(b.A, take, "5650", "lens", `"35"`)
	b.Clip(b.B, take, "3200")
	a := apartAt(t, b, 24*60+8)
	for _, c := range []struct{ of, what, verdict, words string }{
		{"white", "kelvin", "off", "54 mired warmer"},
		{"fill", "green–magenta", "off", "Duv 0.0040 greener"},
		{"fill", "level", "off", "1 stop more against Panel left"},
		{"fill", "lamp", "differs", "not the same"},
		{"panel left", "gels", "differs", "not the same"},
		{"panel left", "level dial", "differs", "not the same"},
		{"panel left", "position", "not known", "said on one side only"},
		{"camera A", "set to", "differs", "2 mired warmer"},
		{"camera A", "lens", "not known", "said on one side only"},
		{"camera B", "set to", "off", "134 mired cooler"},
	} {
		if r := rowOf(t, a, c.of, c.what); r.Verdict != c.verdict || r.Words != c.words {
			t.Errorf("%s %s: got %s, %q; want %s, %q", c.of, c.what, r.Verdict, r.Words, c.verdict, c.words)
		}
	}
	var times []float64
	for _, r := range a.Rows {
		if r.Verdict == "off" {
			times = append(times, *r.Times)
		}
	}
	if !slices.IsSortedFunc(times, func(x, y float64) int { return int(10*y) - int(10*x) }) || a.Rows[0].Of != "camera B" {
		t.Errorf("got %v, %s first, want the greatest first", times, a.Rows[0].Of)
	}
}

// Which of two whites counts is not settled: it is off only where it is off by each.
func TestAWhiteThatIsContestedIsJudgedByEach(t *testing.T) {
	for _, c := range []struct{ first, second, want string }{
		{"4300", "3200", "off"}, {"5500", "3200", "can't tell"}, {"6500", "4300", "can't tell"},
	} {
		_, b := again(t)
		b.Minute(24*60 + 5)
		b.Read(b.Key, stage.OnLocus5600)
		choose(b, c.first, `{"as":"start"}`)
		b.Minute(24*60 + 6)
		choose(b, c.second, `{"as":"start"}`)
		if r := rowOf(t, apartAt(t, b, 24*60+8), "white", "kelvin"); r.Verdict != c.want {
			t.Errorf("%s or %s against 5600 K: got %s, %s; want %s", c.first, c.second, r.Verdict, r.Words, c.want)
		}
	}
}

func TestTwoMetersAreSaid(t *testing.T) {
	s, b := again(t)
	hand := s.Add(kinds.Meter, "name", `"hand"`, "meterKind", `"spectrometer"`)
	old := s.Add(kinds.Meter, "name", `"old"`, "meterKind", `"threeSensor"`)
	s.Minute(8)
	s.Read(s.Key, stage.OnLocus5600, "meter", stage.Ref(old))
	b.Minute(24*60 + 5)
	b.Read(b.Key, stage.CctDuv(1e6/(1e6/5600+15), 0), "meter", stage.Ref(hand))
	if r := rowOf(t, apartAt(t, b, 24*60+6), "panel left", "kelvin"); !strings.Contains(r.Sure, "by another meter") ||
		!strings.Contains(r.Sure, "never compared") {
		t.Errorf("got %q, want that two meters were never compared", r.Sure)
	}
}

func TestWithoutAModelOneMustBeAsked(t *testing.T) {
	s, b := again(t)
	if _, err := rebuild.Compare(s.Book(), rebuild.Query{SetUp: s.SetUp}, rebuild.Query{}, s.Clock); !errors.Is(err, rebuild.ErrNoModel) {
		t.Errorf("got %v, want %v", err, rebuild.ErrNoModel)
	}
	a, err := rebuild.Compare(b.Book(), rebuild.Query{SetUp: s.SetUp}, rebuild.Query{SetUp: s.SetUp}, stage.Minute(24*60+1))
	if err != nil || a.Here.SetUp != s.SetUp || a.Same == 0 {
		t.Errorf("got %+v, %v of a set-up against its own take", a, err)
	}
}

func TestASceneSideBySide(t *testing.T) {
	s, b := again(t)
	b.Minute(24*60 + 5)
	b.Read(b.Key, stage.OnLocus5600, "illuminance", `{"value":800,"unit":"lux"}`)
	choose(b, "4300", `{"as":"start"}`)
	b.Minute(24*60 + 7)
	b.Shoot("5600", "4300")
	c, err := rebuild.OfScene(b.Book(), s.Scene, stage.Minute(24*60+8))
	if err != nil {
		t.Fatal(err)
	}
	if len(c.SetUps) != 2 || c.SetUps[0].SetUp != s.SetUp || c.SetUps[1].SetUp != b.SetUp {
		t.Fatalf("got %+v, want both as they were shot", c.SetUps)
	}
	first := c.Rows[0]
	if first.Of != "white" || strings.Join(first.Values, "|") != "5600 K|4300 K" || first.Widest != [2]int{0, 1} ||
		first.Apart.Verdict != "off" {
		t.Errorf("got first %+v", first)
	}
	if second := c.Rows[1]; second.Of != "camera B" || strings.Join(second.Values, "|") != "5600 K|4300 K" {
		t.Errorf("got second %+v", second)
	}
}
