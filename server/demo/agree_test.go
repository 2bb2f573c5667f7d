package demo

import (
	"encoding/json"
	"math"
	"strings"
	"testing"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/advice"
	"evenwhite/logbook/cameras"
	"evenwhite/logbook/deviation"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/glance"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/setup"
)

// The row of a clip, its correction, its findings and the picture of its set-up say one white of
// the camera and one light, whenever they are asked: in picture steps, closer than anybody can
// show.
func TestRowCorrectionFindingAndPictureOfAClipAgree(t *testing.T) {
	const apart = 0.05 // steps
	demoLog(t).Read(func(b *logbook.Book) {
		now := localMillis(t, "2026-03-08", "12:00")
		asked, byCards, pictured := 0, 0, 0
		for _, v := range b.Records(kinds.SetUp) {
			s := setup.Read(b, v, now)
			summary := glance.Summarize(b, v)
			plane, err := glance.Plane(b, v.ID, now)
			if err != nil {
				t.Fatal(err)
			}
			shots := map[logbook.ID]*deviation.Shot{}
			last := map[logbook.ID]*deviation.Shot{} // of the cameras
			for _, sh := range deviation.NewFinder(s).Shots() {
				if shots[sh.Clip.ID] == nil {
					shots[sh.Clip.ID] = sh
				}
				last[sh.Clip.Ref("camera")] = sh
			}
			for _, clip := range s.Clips() {
				got, err := advice.Correct(b, clip.ID, now)
				if err != nil {
					continue // no label and no card, or no light
				}
				asked++
				row, name := summary.Clip(clip), clip.Text("name")
				agree := func(what string, light, white *figure.Chromaticity, said *figure.Difference) {
					if said == nil || light == nil || white == nil {
						if said != nil {
							t.Errorf("%s: %s: the correction has nothing beside %s", name, what, said.Words)
						}
						return
					}
					d := figure.CastDifference(light.XY, white.XY)
					if math.Abs(float64(*d.Mired-*said.Mired)) > 0 || math.Abs(*d.Duv-*said.Duv) > 0.00001 {
						t.Errorf("%s: %s is %s by the row, %s by the correction", name, what, said.Words, d.Words)
					}
				}
				if row.Problem == "" {
					agree("the cast", got.Light, got.White, row.Cast)
				}
				if row.Aim.Aim != nil && steps(row.Aim.Aim, got.Aim) > apart {
					t.Errorf("%s: the aim is %s by the row, %s by the correction", name, row.Aim.Aim.Words, got.Aim.Words)
				}
				if sh := shots[clip.ID]; row.Problem == "" {
					xy, err := sh.White.XY()
					if err != nil || steps(figure.ChromaticityOf(xy), got.White) > apart {
						t.Errorf("%s: the white is %v by the findings, %s by the correction", name, sh.White, got.White.Words)
					}
					if (sh.ByCards != "") != (got.CameraError != nil) || (row.RestsOn != "label") != (got.CameraError != nil) {
						t.Errorf("%s: by cards: findings %q, row %q, correction %v", name, sh.ByCards, row.RestsOn, got.CameraError)
					}
					if got.CameraError != nil {
						byCards++
						if !got.CameraError.Counts() {
							t.Errorf("%s: it rests on cards that say too little: %s", name, got.CameraError.Words)
						}
					}
				}
			}
			for _, at := range plane.Points {
				sh := last[at.Record]
				if at.Mark != "camera" || sh == nil || strings.Contains(at.Words, "planned") {
					continue
				}
				row := summary.Clip(last[at.Record].Clip)
				if s.PeriodOf(sh.Clip) != s.Current() || len(cameras.ChangedSettings(sh.Clip)) > 0 || at.Off == nil {
					continue
				}
				pictured++
				if row.OffAim == nil || at.Off.Words != row.OffAim.Words || *at.Off.Steps != *row.OffAim.Steps {
					t.Errorf("%s: camera %s is off its aim by %s in the plane, %+v in its row", plane.Name, at.Key, at.Off.Words, row.OffAim)
				}
			}
		}
		if asked < 50 || byCards < 10 || pictured < 10 {
			t.Errorf("%d corrections, %d of them by cards, and %d cameras in pictures: too few to say anything", asked, byCards, pictured)
		}
	})
}

func mustJSON(t *testing.T, v any) string {
	t.Helper()
	text, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// steps is how far apart two whites are in the picture.
func steps(a, b *figure.Chromaticity) float64 {
	if a == nil || b == nil {
		return math.Inf(1)
	}
	return a.XY.UVPrime().Distance(b.XY.UVPrime()) / colorimetry.StepUVPrime
}

// What is said of a clip is the same a year and more later.
func TestCorrectionsDoNotDependOnTheDayOfAsking(t *testing.T) {
	demoLog(t).Read(func(b *logbook.Book) {
		now := localMillis(t, "2026-03-08", "12:00")
		const later = logbook.Millis(400 * 24 * 60 * 60 * 1000)
		for _, clip := range b.Records(kinds.Clip) {
			first, err := advice.Correct(b, clip.ID, now)
			second, too := advice.Correct(b, clip.ID, now+later)
			if (err == nil) != (too == nil) || mustJSON(t, first) != mustJSON(t, second) {
				t.Errorf("%s: got\n%s\nand 400 days later\n%s", clip.Text("name"), mustJSON(t, first), mustJSON(t, second))
			}
		}
	})
}
