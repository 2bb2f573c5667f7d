package demo

import (
	"encoding/csv"
	"slices"
	"strings"
	"testing"

	"evenwhite/logbook/colorlog"
	"evenwhite/logbook/deviation"
)

// The facts that a person would look for in the demo's colour log. Figures were
// worked out by hand from the readings and settings of the story.

func TestTheBCamerasMistakeIsReportedOnceWithItsSize(t *testing.T) {
	rows := demoRows(t, demoLog(t))
	for _, take := range []string{"3", "4"} {
		r := rowOf(t, rows, "12A", take, "B")
		// The aim is the window, 5560 K: 1e6/5560 = 179.86 mired. B stood on 4000 K,
		// which its dial has on the black body: 1e6/4000 = 250 mired. The picture is
		// 179.86 − 250 = −70.14: 70 mired cooler.
		mustBe(t, "off aim (mired), take "+take, r.Gives.OffAim.Mired, -70)
		// The window has Duv +0.0030 and the black body 0: 0.0030 greener.
		mustBe(t, "off aim (Duv), take "+take, r.Gives.OffAim.Duv, 0.0030)
		if r.Off.Count != 1 || len(r.Off.Findings) != 1 {
			t.Fatalf("take %s: got %d deviations %+v, want 1: one wrong dial is one", take, r.Off.Count, r.Off.Findings)
		}
		f := r.Off.Findings[0]
		if f.Kind != deviation.SettingOffAim || f.Count != 2 {
			t.Errorf("take %s: got %s with count %d, want %s with count 2", take, f.Kind, f.Count, deviation.SettingOffAim)
		}
		mustBe(t, "value", f.Value.Mired, -70)
		mustBe(t, "limit", f.Limit.Mired, 8)
		if !strings.Contains(f.Words, "4000 K") || !strings.Contains(f.Words, "70 mired cooler") ||
			!strings.HasSuffix(r.Off.Worst, ", takes 3 and 4") || r.Off.Worst != f.Headline {
			t.Errorf("take %s: got worst %q, %q; want 4000 K, 70 mired cooler, takes 3 and 4", take, r.Off.Worst, f.Words)
		}
	}
	for _, take := range []string{"1", "2", "5"} {
		if r := rowOf(t, rows, "12A", take, "B"); r.Off.Count != 0 {
			t.Errorf("take %s of B: got %d deviations (%s), want none", take, r.Off.Count, r.Off.Worst)
		}
	}
}

func TestTheWhiteOfTakeSixIsNotThatOfTakeFive(t *testing.T) {
	rows := demoRows(t, demoLog(t))
	before, after := rowOf(t, rows, "12A", "5", "A"), rowOf(t, rows, "12A", "6", "A")
	mustBe(t, "white of take 5 (K)", before.Meant.Color.CCTKelvin, 5560)
	mustBe(t, "white of take 6 (K)", after.Meant.Color.CCTKelvin, 6900)
	if before.Meant.White == after.Meant.White {
		t.Error("takes 5 and 6 name the same white")
	}
	if after.Meant.Since != "take 6" || after.There.Sky != "cloud" || before.There.Sky != "sun" {
		t.Errorf("got since %q, sky %q then %q; want take 6, sun then cloud", after.Meant.Since, before.There.Sky, after.There.Sky)
	}
	// Read at 09:33, rolled at 09:40.
	mustBe(t, "age of the reading", after.There.AgeMinutes, 7)
	pickUp := rowOf(t, rows, "12A", "6PU", "A")
	if pickUp.Meant.White != after.Meant.White {
		t.Error("the pick-up of take 6 has another white than take 6")
	}
	sameAs := rowOf(t, rows, "12C", "1", "A")
	mustBe(t, "white of 12C, the same as 12A's (K)", sameAs.Meant.Color.CCTKelvin, 6900)
}

func TestTheCoolNightIsMeantAndNoDeviation(t *testing.T) {
	rows := demoRows(t, demoLog(t))
	for _, camera := range []string{"A", "B"} {
		r := rowOf(t, rows, "31A", "1", camera)
		if r.Meant.IntendedCast.Mired != -80 || r.Meant.IntendedCast.Name != "cool night" || r.Off.Count != 0 {
			t.Errorf("camera %s: got cast %+v and %d deviations (%s); want −80, cool night, none",
				camera, r.Meant.IntendedCast, r.Off.Count, r.Off.Worst)
		}
		// The moon was read as x 0.3302, y 0.3414: 5600 K. 1e6/5600 + 80 = 258.57
		// mired: 3867 K.
		mustBe(t, "aim (K)", r.Meant.Aim.CCTKelvin, 3867)
	}
	// A on 3870 K: 178.57 − 258.40 = −79.83. B on 3900 K: 178.57 − 256.41 = −77.84.
	mustBe(t, "predicted cast of A", rowOf(t, rows, "31A", "1", "A").Gives.Cast.Mired, -80)
	mustBe(t, "predicted cast of B", rowOf(t, rows, "31A", "1", "B").Gives.Cast.Mired, -78)
	mustBe(t, "B against A", rowOf(t, rows, "31A", "1", "B").Gives.OffReference.Mired, 2)
}

func TestASaturatedLightHasNoTemperature(t *testing.T) {
	r := rowOf(t, demoRows(t, demoLog(t)), "31A", "1", "A")
	at := slices.IndexFunc(r.There.Lights, func(l colorlog.Light) bool { return l.Name == "red beacon" })
	if at < 0 {
		t.Fatal("the beacon is not among the lights")
	}
	beacon := r.There.Lights[at]
	if beacon.Color == nil || beacon.Color.Words != "coloured, no CCT" || beacon.Color.CCTKelvin != nil || beacon.Color.Duv != nil {
		t.Errorf("got %+v, want a colour that says \"coloured, no CCT\" and nothing else", beacon.Color)
	}
}

func TestTheDisagreementAndTheTwinAreShown(t *testing.T) {
	rows := demoRows(t, demoLog(t))
	r := rowOf(t, rows, "31A", "2", "A")
	want := []colorlog.Conflict{{On: "clip", Field: "kelvin", Values: []string{"3890 (B operator)", "3860 (DIT)"}}}
	if len(r.Off.Conflicts) != 1 || r.Off.Conflicts[0].Field != want[0].Field || !slices.Equal(r.Off.Conflicts[0].Values, want[0].Values) {
		t.Errorf("got conflicts %+v, want %+v", r.Off.Conflicts, want)
	}
	a, b := rowOf(t, rows, "31A", "3", "A"), rowOf(t, rows, "31A", "3", "B")
	if a.Find.Take.Record == b.Find.Take.Record {
		t.Error("take 3 is one record, want one of each phone")
	}
	for _, r := range []colorlog.Row{a, b} {
		if len(r.Off.Twins) != 1 || !strings.Contains(r.Off.Twins[0], "take 3") {
			t.Errorf("camera %s: got twins %q, want one about take 3", r.Find.Camera, r.Off.Twins)
		}
	}
}

func TestWhatWasAcceptedIsCountedAndSaysWhy(t *testing.T) {
	r := rowOf(t, demoRows(t, demoLog(t)), "12B", "2", "B")
	if r.Off.Accepted != 1 || r.Off.Count != 1 || r.Off.Worst != "" {
		t.Fatalf("got %d deviations, %d accepted, worst %q; want 1, 1 and none", r.Off.Count, r.Off.Accepted, r.Off.Worst)
	}
	f := r.Off.Findings[0]
	if f.Reason != "a warm edge on the curtain is wanted" || f.AcceptedBy != "cinematographer" {
		t.Errorf("got %+v, want the cinematographer's reason", f)
	}
	// 1e6/4480 = 223.21; the window was read as X 397.2, Y 420, Z 461.3, which is
	// 6620 K: 151.06. The curtain is 72.15 mired warmer.
	mustBe(t, "value", f.Value.Mired, 72)
}

func TestTheSwappedBodyTheSeriesAndTheReRollAreFound(t *testing.T) {
	rows := demoRows(t, demoLog(t))
	one, two := rowOf(t, rows, "12B", "1", "A"), rowOf(t, rows, "12B", "2", "A")
	if one.Find.Body != "A body 1" || two.Find.Body != "A body 2, the spare" {
		t.Errorf("got bodies %q and %q of camera A", one.Find.Body, two.Find.Body)
	}
	if one.Gives.ChartClip != "A001C011" || two.Gives.ChartClip != "" || len(two.Off.Missing) != 1 {
		t.Errorf("got charts %q and %q, missing %q; want A001C011, none, and one missing: the chart is of the other body",
			one.Gives.ChartClip, two.Gives.ChartClip, two.Off.Missing)
	}
	if len(two.Off.Notes) != 1 || !strings.Contains(two.Off.Notes[0].Text, "spare") {
		t.Errorf("got notes %+v, want the one about the spare", two.Off.Notes)
	}
	three, four := rowOf(t, rows, "12B", "3", "A"), rowOf(t, rows, "12B", "4", "A")
	if three.Find.ClipRecord != four.Find.ClipRecord || !four.Find.Take.Series || four.Find.Take.BeginsAt != "11:19:09:00" {
		t.Errorf("takes 3 and 4: got clips %s and %s, the fourth at %q; want one clip, 11:19:09:00",
			three.Find.ClipName, four.Find.ClipName, four.Find.Take.BeginsAt)
	}
	var parts []string
	for _, r := range rows {
		if r.Find.Take != nil && r.Find.SetUp == "C" && r.Find.Scene == "12" && r.Find.Take.Number == "2" && r.Find.Camera == "B" {
			parts = append(parts, r.Find.ClipName+" "+r.Find.Part.String())
		}
	}
	if want := []string{"B001C016 ", "B001C017 2"}; !slices.Equal(parts, want) {
		t.Errorf("got parts %q of take 2 of B, want %q", parts, want)
	}
	kinds := map[string]int{}
	for _, r := range rows {
		if r.Find.Take == nil {
			kinds[r.Find.ClipKind]++
		}
	}
	// Charts of both cameras in 12A, 12B, 31A, 31C, 44A, there of B twice, 52A, 52B and 52D;
	// one false start of both.
	if kinds["chart"] != 17 || kinds["falseStart"] != 2 || len(kinds) != 2 {
		t.Errorf("got %v clips without a take, want 17 charts and 2 false starts", kinds)
	}
}

func TestADayAndASetUpAreParts(t *testing.T) {
	l := demoLog(t)
	all := strings.Count(string(demoDocument(t, l, colorlog.Scope{}, "csv")), "\r\n") - 1
	days := 0
	for _, day := range []string{"day/1", "day/2", "day/3", "day/4"} {
		days += strings.Count(string(demoDocument(t, l, colorlog.Scope{Day: recordID(day)}, "csv")), "\r\n") - 1
	}
	setUps := 0
	for _, setUp := range []string{"12a", "12b", "12c", "31a", "31b", "31c", "44a", "52a", "52b", "52c", "52d"} {
		setUps += strings.Count(string(demoDocument(t, l, colorlog.Scope{SetUp: recordID("setup/" + setUp)}, "csv")), "\r\n") - 1
	}
	if all == 0 || days != all || setUps != all {
		t.Errorf("got %d rows, %d by day, %d by set-up; want the same", all, days, setUps)
	}
}

func TestTheCSVHasTheRowsOfTheJSON(t *testing.T) {
	l := demoLog(t)
	table, err := csv.NewReader(strings.NewReader(string(demoDocument(t, l, colorlog.Scope{}, "csv")))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	rows := demoRows(t, l)
	name, kelvin := slices.Index(table[0], "clip name"), slices.Index(table[0], "kelvin set (K)")
	if len(table)-1 != len(rows) || name < 0 || kelvin < 0 {
		t.Fatalf("got %d rows of CSV and %d of JSON, columns %d and %d", len(table)-1, len(rows), name, kelvin)
	}
	for i, r := range rows {
		if cells := table[i+1]; cells[name] != r.Find.ClipName || cells[kelvin] != r.Set.Kelvin.String() {
			t.Errorf("row %d: got %q at %q, want %q at %q", i, cells[name], cells[kelvin], r.Find.ClipName, r.Set.Kelvin)
		}
	}
}

func mustBe(t *testing.T, what string, got *float64, want float64) {
	t.Helper()
	if got == nil || !(*got == want) {
		shown := any("nothing")
		if got != nil {
			shown = *got
		}
		t.Errorf("%s: got %v, want %v", what, shown, want)
	}
}
