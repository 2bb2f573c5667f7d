package demo

import (
	"strings"
	"testing"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/advice"
	"evenwhite/logbook/deviation"
	"evenwhite/logbook/glance"
	"evenwhite/logbook/lighting"
)

// What the demo shows of lamps, gels, meters and light that moves, on its third
// day. Figures were worked out by hand from the readings of the story.

// onDayThree asks the demo at 17:40 of its third day.
func onDayThree(t *testing.T, ask func(b *logbook.Book, now logbook.Millis)) {
	t.Helper()
	demoLog(t).Read(func(b *logbook.Book) { ask(b, localMillis(t, "2026-03-06", "17:40")) })
}

func TestTheWindowOfTheBoathouseWillLeaveItsLimits(t *testing.T) {
	onDayThree(t, func(b *logbook.Book, now logbook.Millis) {
		n, err := glance.Now(b, recordID("setup/44a"), now)
		if err != nil {
			t.Fatal(err)
		}
		window := n.Lights[1]
		// 1e6/5262 − 1e6/5040 = −8.4: inside 10.
		mustBe(t, "the window's cast", window.Cast.Mired, -8)
		if window.Within == nil || !*window.Within || window.Drift == nil {
			t.Fatalf("got %+v, want a window inside its limits that drifts", window)
		}
		// Slopes between 198.0, 195.1, 192.7 and 190.0 mired, 12 minutes apart each:
		// −14.5, −12.2, −13.2; −13.3, −12.7; −13.3 an hour. Their median is −13.2.
		if got := window.Drift.Mired; got.PerHour != -13.2 || got.Low != -14.5 || got.High != -12.2 {
			t.Errorf("got %+v mired an hour, want −13.2, between −14.5 and −12.2", got)
		}
		// It passes −10 as shown at −10.5, 2.1 mired further: 9.5 minutes after 17:28.
		// The phone's clock was 1.2 s slow.
		leaves := localMillis(t, "2026-03-06", "17:38").Time().Add(1200 * time.Millisecond)
		if at := window.Drift.LeavesAt; at == nil || !at.Equal(leaves) {
			t.Errorf("it leaves at %v, want %v", at, leaves)
		}
		kinds := map[string]string{}
		for _, d := range n.Deviations {
			kinds[d.Kind] = d.Words
		}
		if !strings.Contains(kinds[deviation.LightLeaving], "window will leave its limits") {
			t.Errorf("got %v, want a word before it is outside", kinds)
		}
		if !strings.Contains(kinds[deviation.MixDisagrees], "something in the room adds colour, as 74.4 lx") {
			t.Errorf("got %q, want the wall", kinds[deviation.MixDisagrees])
		}
		check := n.Mixes[0].Check
		// 300 lx of the spot, and of the window, read as 240 lx two minutes before and as 215 ten
		// minutes after: 240 (215/240)^(2/12) = 235.6.
		mustBe(t, "the sum", check.ComputedLux, 535.6)
		if check.Agrees == nil || *check.Agrees || check.Added == nil || !(*check.Added.Duv > 0.02) {
			t.Errorf("got %+v, want green light that is added", check)
		}
	})
}

func TestTheBenchTeachesATileAGelAndAMeter(t *testing.T) {
	onDayThree(t, func(b *logbook.Book, now logbook.Millis) {
		tile, err := lighting.LearntOfLamp(b, recordID("lamp/tile"), now)
		if err != nil || len(tile.Positions) != 3 {
			t.Fatalf("got %+v (%v), want three positions", tile, err)
		}
		// 1e6/3180 − 1e6/3200 = 2.0; on 4300 K 5.0 on the bench and 5.3 in the bow; on
		// 5600 K 1e6/5389 − 1e6/5600 = 7.0.
		for i, want := range []float64{2, 5, 7} {
			mustBe(t, "off its dial", &tile.Positions[i].Learnt.Mired, want)
		}
		gel, err := lighting.LearntOfGel(b, recordID("gel/full-cool"), now)
		if err != nil || len(gel.Families) != 1 {
			t.Fatalf("got %+v (%v), want one family", gel, err)
		}
		// 1e6/5038 − 1e6/3160 = −118.0, printed −131; log2(1200/310) = 1.95.
		mustBe(t, "the gel", &gel.Families[0].Learnt.Mired, -118)
		mustBe(t, "as printed", &gel.Printed.ShiftMired, -131)
		mustBe(t, "stops", gel.Families[0].LossStops, 2)
		meter, err := lighting.LearntOfMeter(b, recordID("meter/hand"), now)
		if err != nil || len(meter.Others) != 1 || meter.Others[0].Learnt.Count != 2 {
			t.Fatalf("got %+v (%v), want two comparisons with one meter", meter, err)
		}
		// 1e6/3180 − 1e6/3140 = −4.0 and 1e6/3160 − 1e6/3110 = −5.1.
		mustBe(t, "the hand meter against the old one", &meter.Others[0].Learnt.Mired, -5)
	})
}

func TestThePlanOfTheBowRestsOnWhatWasLearnt(t *testing.T) {
	onDayThree(t, func(b *logbook.Book, now logbook.Millis) {
		plan, err := advice.Plan(b, recordID("setup/44b"), now)
		if err != nil {
			t.Fatal(err)
		}
		tile, spot := plan.Lights[0], plan.Lights[1]
		if tile.DialLearnt == "" || tile.CheckWithMeter || tile.DialKelvin == nil || *tile.DialKelvin <= 4300 {
			t.Errorf("the tile: got %+v, want a higher dial by what was learnt", tile)
		}
		// 1e6/3150 − 118.0 − 1e6/5040 = +1.1.
		if len(spot.GelUses) != 1 || spot.GelUses[0].From != "measured" || spot.CheckWithMeter {
			t.Errorf("the spot: got %+v, want the gel as it was measured", spot)
		}
		mustBe(t, "the spot's residual", spot.Residual.Mired, 1)
		if plan.Reached != 2 || plan.ToCheck != 0 || len(plan.Alternatives) != 2 {
			t.Errorf("got %d reached, %d to check, %d alternatives", plan.Reached, plan.ToCheck, len(plan.Alternatives))
		}
		if !strings.Contains(spot.Caution, "Hot lamps") || tile.Caution != "" {
			t.Errorf("cautions: got %q and %q, want one for the hot lamp alone", spot.Caution, tile.Caution)
		}
	})
}

func TestTheSecondCameraOfTheBoathouseIsMatchedByItsSecondCard(t *testing.T) {
	onDayThree(t, func(b *logbook.Book, now logbook.Millis) {
		ask := advice.MatchQuery{SetUp: recordID("setup/44a"), Camera: recordID("camera/b"), To: recordID("camera/a")}
		m, err := advice.Match(b, ask, now)
		if err != nil {
			t.Fatal(err)
		}
		if !m.Matched || !m.Cards.Second || m.Best.Kelvin == nil || *m.Best.Kelvin != 4400 {
			t.Fatalf("got %+v, want it matched at 4400 K by a second card", m)
		}
		// The whites of both cards by a program of its own, with the observer of Wyman
		// et al. 2013 and CAT16: of A 196.1 mired, Duv +0.0025; of B 196.9, +0.0017.
		mustBe(t, "B's picture from A's", m.Cards.Difference.Mired, -1)
		mustBe(t, "B's picture from A's, Duv", m.Cards.Difference.Duv, 0.0008)
		// And of B on 5000 K 171.0: 200 on its label and a label of 4400 K is 227.3, so
		// that it lies 29.0 and 30.3 cooler than it says.
		mustBe(t, "B's learnt error", &m.CameraError.Mired, -30)
		// Its label of 4400 K alone would be 28 mired off the aim; by its cards only the
		// chart on 5000 K is off (198.4 − 171.0), which is no take.
		var off []float64
		for _, d := range deviation.Of(b, deviation.Scope{SetUp: recordID("setup/44a")}, now) {
			if d.Kind == deviation.SettingOffAim {
				off = append(off, *d.Value.Mired)
			}
		}
		if len(off) > 0 {
			t.Errorf("cameras are off their aim by %v, want none in a take", off)
		}
	})
}
