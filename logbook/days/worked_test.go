package days_test

import (
	"fmt"
	"math"
	"regexp"
	"strings"
	"testing"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/deviation"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
	"evenwhite/logbook/setup"
)

var anyAge = math.NaN()

// keyed is a set with a key light that hangs on a lamp (limit 10 mired), and with a white of
// nominal 5600 K, 179 mired.
func keyed() (s *set, key logbook.ID) {
	s = newSet()
	s.at("9:00")
	key = s.lamp("key", "key")
	s.w1 = s.white(nominal(5600))
	return s, key
}

func windowed() (s *set, window logbook.ID) {
	s = newSet()
	s.at("9:00")
	window = s.light("window", "background", "sky", `"sun"`)
	s.w1 = s.white(nominal(5600))
	return s, window
}

// relit is the usual day: the key is read, turned, and read again, and nobody types it.
func relit() (s *set, key, first, second logbook.ID) {
	s, key = keyed()
	first = s.at("10:00").read(key, 179)
	s.at("10:30").shoot(3)
	second = s.at("10:40").read(key, 313)
	return s, key, first, second
}

// TestWorkedExamples are the cases by which the rules of time are explained.
func TestWorkedExamples(t *testing.T) {
	for _, c := range []struct {
		name string
		run  func(*testing.T)
	}{
		{"nobody typed that the key was turned", func(t *testing.T) {
			s, _, _, _ := relit()
			s.at("11:00")
			a := ask(t, s)
			a.light(3, "key", 179, 30)
			a.says(3, "key", "30 min before")
			a.silent(3)
			text := textOf(a.nowOf())
			if !regexp.MustCompile(`134 mired warmer than at 10:00[^"]*what was changed\?`).MatchString(text) {
				t.Errorf("now does not ask what was changed: %s", textOf(a.nowLight("key")))
			}
			if a.nowLight("key").Drift != nil || strings.Contains(text, "drifted") {
				t.Errorf("now calls it a drift: %s", textOf(a.nowLight("key")))
			}
		}},
		{"typed afterwards with the reading that it held since", func(t *testing.T) {
			s, key, _, second := typedDials(t)
			s.at("10:55").set(key, "rigged/dialKelvin", "3200", "since/rigged/dialKelvin", ref(second))
			s.at("11:00")
			l := ask(t, s).nowLight("key")
			if l.Reading != second || len(l.StaleBecause) > 0 {
				t.Errorf("the reading of 10:40 does not hold: %s", textOf(l))
			}
		}},
		{"typed afterwards without it", func(t *testing.T) {
			s, key, _, _ := typedDials(t)
			s.at("10:55").set(key, "rigged/dialKelvin", "3200")
			s.at("11:00")
			l := ask(t, s).nowLight("key")
			if len(l.StaleBecause) == 0 && l.Problem == "" {
				t.Errorf("the reading of 10:40 still holds: %s", textOf(l))
			}
		}},
		{"a dial named for the first time tells how it was all along", func(t *testing.T) {
			s, key := keyed()
			s.at("10:00").read(key, 179)
			s.at("10:20").set(key, "rigged/dialKelvin", "5600")
			s.at("10:30").shoot(3)
			a := ask(t, s)
			a.light(3, "key", 179, 30)
			a.says(3, "key", "30 min before")
		}},
		{"read a little later in the state that the take had", func(t *testing.T) {
			s, key := keyed()
			s.at("9:30").set(key, "rigged/dialKelvin", "5600")
			s.at("10:00").read(key, 179)
			s.at("10:35").set(key, "rigged/dialKelvin", "3200")
			s.at("10:37").shoot(4)
			s.at("10:40").read(key, 313)
			a := ask(t, s)
			a.light(4, "key", 313, anyAge)
			a.says(4, "key", "read 3 min later")
			a.silent(4)
		}},
		{"a window between two readings under one sky", func(t *testing.T) {
			a := ask(t, windowTwice("sun"))
			a.light(1, "window", 175, anyAge)
			a.says(1, "window", "between")
		}},
		{"a window between two readings under two skies", func(t *testing.T) {
			a := ask(t, windowTwice("cloud"))
			a.light(1, "window", 170, 10)
			a.says(1, "window", "10 min before")
		}},
		{"one light read again and found the same ends no reading of everything", func(t *testing.T) {
			s, _ := readTogether(182)
			a := ask(t, s)
			a.mix(1, 181)
		}},
		{"one light read again and found another ends a reading of everything", func(t *testing.T) {
			s, sum := readTogether(313)
			a := ask(t, s)
			a.mix(1, sum)
		}},
		{"off over lunch and on again", func(t *testing.T) {
			s, key := keyed()
			s.set(key, "rigged/on", "true")
			s.at("10:00").read(key, 179)
			s.at("12:00").set(key, "rigged/on", "false")
			s.at("13:00").set(key, "rigged/on", "true")
			s.at("13:05").shoot(3)
			ask(t, s).light(3, "key", 179, 185)
		}},
		{"a reading entered late leaves a mix with its list", func(t *testing.T) { mixStays(t, true) }},
		{"a reading entered late leaves a mix without a list", func(t *testing.T) { mixStays(t, false) }},
		{"two whites chosen apart from different takes", func(t *testing.T) {
			s, w2, w3 := apartWhites()
			a := ask(t, s)
			a.whiteOf(6, w2, false)
			a.whiteOf(7, w3, true)
		}},
		{"a fork ends where one side begins a white of its own later", func(t *testing.T) {
			s, w2, _ := apartWhites()
			s.at("11:30")
			w5 := s.white(nominal(5000), "supersedes", ref(w2), "appliesFrom", fromTake(20))
			s.at("11:40").shoot(20)
			ask(t, s).whiteOf(20, w5, false)
		}},
		{"a fork goes on where one side begins a white of its own at the same takes", func(t *testing.T) {
			s, w2, w3 := apartWhites()
			s.at("11:30")
			w5 := s.white(nominal(5000), "supersedes", ref(w2), "appliesFrom", fromTake(6))
			a := ask(t, s)
			a.whiteOf(7, w5, true)
			if text := textOf(a.row(7)); !strings.Contains(text, "4300") || !strings.Contains(text, "5000") {
				t.Errorf("the row does not name both whites, %s and %s: %s", w5, w3, textOf(a.row(7).Off))
			}
		}},
		{"two phones choose the mix of the same readings", func(t *testing.T) {
			s, key := keyed()
			reading := s.at("10:00").read(key, 182, lux(800)...)
			rests := []string{"supersedes", ref(s.w1), "restsOn", fmt.Sprintf(`[{"record":%s,"weight":800}]`, ref(reading))}
			s.apart()
			a := s.at("10:10").white(`{"as":"mix"}`, rests...)
			s.hand = 1
			s.at("10:12").white(`{"as":"mix"}`, rests...)
			s.together()
			s.at("10:20").shoot(1)
			s.at("10:30").white(nominal(4300), "supersedes", ref(a), "appliesFrom", fromTake(2))
			s.at("10:40").shoot(2)
			q := ask(t, s)
			for _, take := range []int{1, 2} {
				if row := q.row(take); contestedRow(row) {
					t.Errorf("take %d is a question: %s", take, textOf(row.Off.Conflicts))
				}
			}
			if row := q.row(2); row.Meant.Words != "nominal 4300 K" {
				t.Errorf("take 2 has the white %q", row.Meant.Words)
			}
		}},
		{"a white chosen at lunch from take 6", func(t *testing.T) {
			s, w2 := lunchWhite(fromTake(6))
			a := ask(t, s)
			a.whiteOf(5, s.w1, false)
			a.whiteOf(7, w2, false)
		}},
		{"a white chosen at lunch from the start", func(t *testing.T) {
			s, _ := lunchWhite(`{"as":"start"}`)
			a := ask(t, s)
			a.whiteOf(5, s.w1, false)
			a.whiteOf(7, s.w1, false)
		}},
		{"a reading typed wrong and replaced", func(t *testing.T) {
			s, key := keyed()
			wrong := s.at("10:00").read(key, 154)
			s.at("10:01")
			white := s.white(fmt.Sprintf(`{"as":"readings","readings":[{"reading":%s}]}`, ref(wrong)), "supersedes", ref(s.w1),
				"restsOn", fmt.Sprintf(`[{"record":%s}]`, ref(wrong)))
			s.at("10:02").shoot(1)
			s.at("10:04").read(key, 179, "supersedes", ref(wrong))
			a := ask(t, s)
			a.light(1, "key", 179, 2)
			row := a.row(1)
			if row.Meant.White != white || row.Meant.Color == nil || math.Abs(miredOf(row.Meant.Color.X, row.Meant.Color.Y)-154) > 0.6 {
				t.Errorf("the white should stay as it was, 154 mired: %s", textOf(row.Meant))
			}
			if text := textOf(a.deviations()); !strings.Contains(text, "choose again") {
				t.Errorf("nothing says that the white is to be chosen again: %s", text)
			}
		}},
		{"a take entered from paper", func(t *testing.T) {
			s, key := keyed()
			s.at("11:00").read(key, 179)
			s.at("11:20").shoot(6)
			s.at("13:00").read(key, 182)
			s.at("14:00").shoot(5, "startedAt", "")
			a := ask(t, s)
			a.light(5, "key", 179, 20)
			if at := logbook.MillisOf(a.row(5).Find.StartedAt); at > clockTime("11:20") {
				t.Errorf("take 5 stands at %s, want just before 11:20", at.Time())
			}
		}},
		{"a body whose only card is of the next day", func(t *testing.T) {
			s, key := keyed()
			s.at("10:00").read(key, 179)
			s.at("10:10").shoot(1)
			s.at("+1 10:00")
			s.day2()
			s.card(0, 5600, 179, 6, s.read(s.lamp("lamp", "key"), 179))
			row := ask(t, s).row(1)
			if row.Gives.RestsOn != "label" {
				t.Errorf("the row of day 1 rests on %q, want label", row.Gives.RestsOn)
			}
			if text := textOf(row); !strings.Contains(text, "a card of day 2 says +6 mired") {
				t.Errorf("the row does not mention the card of day 2: %s", textOf(row.Gives))
			}
		}},
		{"where tint 0 lies is not known, and it may be enough", func(t *testing.T) {
			s := unknownTint(0.0043)
			all := ask(t, s).deviations()
			if n := strings.Count(textOf(all), `"words":"can't tell`) + strings.Count(textOf(all), `"headline":"can't tell`); n != 1 {
				t.Errorf("%d findings say that they can't tell, want 1: %s", n, textOf(all))
			}
			if found := ofKind(all, deviation.SettingOffAim); len(found) > 0 {
				t.Errorf("what is not known is an alarm: %s", found[0].Words)
			}
		}},
		{"where tint 0 lies is not known, and it is too much anyhow", func(t *testing.T) {
			s := unknownTint(0.0058)
			if found := ofKind(ask(t, s).deviations(), deviation.SettingOffAim); len(found) != 1 {
				t.Errorf("%d findings say that B is off its aim, want 1", len(found))
			}
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			c.run(t)
		})
	}
}

func ofKind(all []deviation.Deviation, kind string) (found []deviation.Deviation) {
	for _, d := range all {
		if d.Kind == kind {
			found = append(found, d)
		}
	}
	return found
}

// typedDials is the relit key, with its first dial typed before.
func typedDials(t *testing.T) (s *set, key, first, second logbook.ID) {
	t.Helper()
	s, key = keyed()
	s.at("9:30").set(key, "rigged/dialKelvin", "5600")
	first = s.at("10:00").read(key, 179)
	s.at("10:30").shoot(3)
	return s, key, first, s.at("10:40").read(key, 313)
}

func windowTwice(then string) *set {
	s, window := windowed()
	s.at("10:00").read(window, 170, "sky", `"sun"`)
	s.at("10:10").shoot(1)
	s.at("10:40").read(window, 190, "sky", `"`+then+`"`)
	return s
}

// readTogether reads everything between two readings of the key alone, and returns what the
// lights give together if the last one is another light.
func readTogether(again float64) (s *set, sum float64) {
	s, key := keyed()
	fill := s.lamp("fill", "fill")
	s.at("9:50").read(key, 179, lux(600)...)
	s.at("9:52").read(fill, 185, lux(300)...)
	s.at("10:00").everything(181, lux(900)...)
	s.at("10:20").read(key, again, lux(600)...)
	s.at("10:30").shoot(1)
	var lit []colorimetry.Lit
	for _, l := range [][2]float64{{again, 600}, {185, 300}} {
		v, _ := logbook.ParseValue(cctOf(l[0]))
		xy, _ := lighting.ColorOf(v)
		lit = append(lit, colorimetry.Lit{Light: xy, Lux: colorimetry.Lux(l[1])})
	}
	mix, _ := colorimetry.Mix(lit)
	return s, miredOf(mix.Light.X, mix.Light.Y)
}

// mix expects the mix in the row of a take.
func (a *asked) mix(take int, mired float64) {
	a.t.Helper()
	row := a.row(take)
	if row.There.Reference == nil {
		a.t.Errorf("take %d: the mix is not known, want %g mired", take, mired)
		return
	}
	if got := miredOf(row.There.Reference.X, row.There.Reference.Y); math.Abs(got-mired) > 0.6 {
		a.t.Errorf("take %d: the mix is %.1f mired (%s), want %g", take, got, row.There.ReferenceFrom, mired)
	}
}

// mixStays chooses a mix, and enters later a reading that was taken before.
func mixStays(t *testing.T, listed bool) {
	t.Helper()
	s, _ := keyed()
	reading := s.at("10:00").everything(181, lux(900)...)
	s.at("10:30")
	more := []string{"supersedes", ref(s.w1)}
	if listed {
		more = append(more, "restsOn", fmt.Sprintf(`[{"record":%s,"weight":1}]`, ref(reading)))
	}
	white := s.white(`{"as":"mix"}`, more...)
	before := s.colorOf(white)
	if math.Abs(before-181) > 0.6 {
		t.Fatalf("the mix is %.1f mired, want 181", before)
	}
	s.at("11:00").everything(280, append(lux(900), "takenAt", stamp(clockTime("10:10")))...)
	if after := s.colorOf(white); after != before {
		t.Errorf("the white was %.1f mired and is %.1f", before, after)
	}
}

// colorOf is the colour of a white in mired; no number where it has none.
func (s *set) colorOf(white logbook.ID) float64 {
	xy := s.xyOf(white)
	return miredOf(xy.X, xy.Y)
}

func (s *set) xyOf(white logbook.ID) colorimetry.XY {
	b := s.all()
	v, _ := b.Record(white)
	if w := setup.WhiteOf(b, v); w.Color != nil {
		return w.Color.XY
	}
	return colorimetry.XY{X: math.NaN(), Y: math.NaN()}
}

// apart lets the phones go on without each other; together lets them meet.
func (s *set) apart() {
	for i := range s.phones {
		s.phones[i].apart, s.phones[i].saw = true, len(s.edits)
	}
}

func (s *set) together() {
	for i := range s.phones {
		s.phones[i].apart = false
	}
	s.hand = 0
}

// apartWhites is a set-up with takes 5 to 8, whose white two people change apart.
func apartWhites() (s *set, w2, w3 logbook.ID) {
	s, key := keyed()
	s.at("9:30").read(key, 179)
	s.at("10:00").shoot(5)
	s.apart()
	s.at("10:10")
	w2 = s.white(nominal(3200), "supersedes", ref(s.w1), "appliesFrom", fromTake(6))
	s.hand = 1
	s.at("10:12")
	w3 = s.white(nominal(4300), "supersedes", ref(s.w1), "appliesFrom", fromTake(7))
	s.together()
	s.at("10:20").shoot(6)
	s.at("10:30").shoot(7)
	s.at("10:40").shoot(8)
	return s, w2, w3
}

func lunchWhite(from string) (s *set, w2 logbook.ID) {
	s, key := keyed()
	s.at("9:30").read(key, 179)
	s.at("10:00")
	for n := 1; n <= 8; n++ {
		s.clock += 10 * minute
		s.shoot(n, "white", ref(s.w1))
	}
	s.at("13:00")
	return s, s.white(nominal(4300), "supersedes", ref(s.w1), "appliesFrom", from)
}

func (s *set) day2() {
	s.day = s.add(kinds.Day, "number", "2", "date", `"2026-03-05"`)
	s.setUp = s.add(kinds.SetUp, "day", ref(s.day), "scene", ref(s.scene), "name", `"B"`)
}

// card logs a grey card of a camera on a kelvin in a light, whose white is off its label.
func (s *set) card(camera int, kelvin, light, off float64, reading logbook.ID, more ...string) logbook.ID {
	of := `{"as":"notMeasured"}`
	if !reading.IsZero() {
		of = fmt.Sprintf(`{"as":"reading","reading":%s}`, ref(reading))
	}
	return s.add(kinds.Sample, filled(more, "setUp", ref(s.setUp), "camera", ref(s.cameras[camera]), "body", ref(s.bodies[camera]),
		"rgb", greyOf(light, 1e6/kelvin+off), "settings", fmt.Sprintf(`{"whiteMode":"kelvin","kelvin":%g}`, kelvin),
		"light", of, "takenAt", s.ownTime())...)
}

// greyOf is R G B of a grey near 42 %, in a light, on a white: both in mired.
func greyOf(light, white float64) string {
	l, _ := colorimetry.CCTDuv{CCT: colorimetry.Kelvin(1e6 / light)}.XY()
	w, _ := colorimetry.CCTDuv{CCT: colorimetry.Kelvin(1e6 / white)}.XY()
	picture, _ := colorimetry.Picture(l, w, colorimetry.CAT16)
	xy, _ := picture.XY()
	e := colorimetry.Encoding{Transfer: colorimetry.TransferBT1886, Primaries: colorimetry.BT709}
	c, err := e.Correct([3]float64{0.42, 0.42, 0.42}, xy)
	if err != nil {
		panic(err)
	}
	return fmt.Sprintf(`{"as":"percent","r":%.3f,"g":%.3f,"b":%.3f,"encoding":"bt1886","primaries":"bt709"}`, 42*c.Ratio[0], 42*c.Ratio[1], 42*c.Ratio[2])
}

// unknownTint is a set-up whose camera B does not say where its tint 0 lies: on the
// black-body locus or 0.0033 above it. Its aim is greener than the one by so much.
func unknownTint(duv float64) *set {
	s, key := keyed()
	s.set(s.bodies[1], "tintZero", `"unknown"`)
	s.at("9:10")
	s.white(fmt.Sprintf(`{"as":"nominal","kelvin":5600,"locus":"blackBody","duv":%g}`, duv), "supersedes", ref(s.w1))
	s.at("9:20").read(key, 179)
	for n := 1; n <= 3; n++ {
		s.clock += 10 * minute
		take := s.add(kinds.Take, "setUp", ref(s.setUp), "number", fmt.Sprint(n), "startedAt", s.ownTime())
		s.takes[n] = take
		s.clip(1, take, "tint", "0")
	}
	return s
}

// TestTheDistanceOfDaylight: the example of the tint rests on this number.
func TestTheDistanceOfDaylight(t *testing.T) {
	xy, err := colorimetry.Nominal(5600, colorimetry.Daylight)
	if err != nil {
		t.Fatal(err)
	}
	d, err := xy.CCTDuv()
	if err != nil || math.Abs(float64(d.Duv)-0.0033) > 0.0001 {
		t.Errorf("daylight of 5600 K lies at Duv %+.4f: %v", d.Duv, err)
	}
}
