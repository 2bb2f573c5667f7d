package days_test

import (
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/advice"
	"evenwhite/logbook/colorlog"
	"evenwhite/logbook/deviation"
	"evenwhite/logbook/glance"
)

// rowsOf are the rows of the whole production.
func rowsOf(b *logbook.Book) (rows []colorlog.Row) {
	for row, err := range colorlog.Rows(b, colorlog.Scope{}) {
		if err != nil {
			panic(err)
		}
		rows = append(rows, row)
	}
	return rows
}

func textOf(v any) string {
	text, err := json.Marshal(v)
	if err != nil {
		panic(err)
	}
	return string(text)
}

// correctionOf is the correction of a clip, and its words or why there is none.
func correctionOf(b *logbook.Book, clip logbook.ID, now logbook.Millis) (c advice.ClipCorrections, ok bool, words string) {
	c, err := advice.Correct(b, clip, now)
	if err != nil {
		return c, false, err.Error()
	}
	return c, true, textOf(c)
}

func deviationsOf(b *logbook.Book, setUp logbook.ID, now logbook.Millis) []deviation.Deviation {
	return deviation.Of(b, deviation.Scope{SetUp: setUp}, now)
}

// lists reports whether a finding is about a take or about one of a clip.
func lists(d *deviation.Deviation, take, clip logbook.ID) bool {
	return !take.IsZero() && slices.Contains(d.Takes, take) || slices.Contains(d.Clips, clip)
}

// aboutLight are the kinds of findings about what lights do.
func aboutLight(kind string) bool {
	return slices.Contains([]string{
		deviation.LightOffReference, deviation.LightOffOwnColor, deviation.LightDrifted, deviation.MixDrifted,
	}, kind)
}

func miredOf(x, y float64) float64 {
	t, err := colorimetry.XY{X: x, Y: y}.CCTDuv()
	if err != nil {
		return math.NaN()
	}
	return float64(t.Mired())
}

// An asked is a set of which a test asks something, at its clock.
type asked struct {
	*set
	t    *testing.T
	rows []colorlog.Row
	now  *glance.SetUpNow
}

func ask(t *testing.T, s *set) *asked { return &asked{set: s, t: t} }

func (a *asked) rowsOf() []colorlog.Row {
	if a.rows == nil {
		a.rows = rowsOf(a.all())
	}
	return a.rows
}

// row is that of camera A in a take.
func (a *asked) row(take int) *colorlog.Row { return a.rowOf(take, "A") }

func (a *asked) rowOf(take int, camera string) *colorlog.Row {
	a.t.Helper()
	rows := a.rowsOf()
	for i := range rows {
		if r := &rows[i]; r.Find.Take != nil && r.Find.Take.Record == a.takes[take] && r.Find.Camera == camera {
			return r
		}
	}
	a.t.Fatalf("no row of camera %s in take %d", camera, take)
	return nil
}

func (a *asked) lightOf(row *colorlog.Row, name string) *colorlog.Light {
	a.t.Helper()
	for i := range row.There.Lights {
		if row.There.Lights[i].Name == name {
			return &row.There.Lights[i]
		}
	}
	a.t.Fatalf("no light %s in the row", name)
	return nil
}

// light expects how a light is in the row of a take: its mired, and its age.
func (a *asked) light(take int, name string, mired, age float64) {
	a.t.Helper()
	l := a.lightOf(a.row(take), name)
	if l.Color == nil {
		a.t.Errorf("take %d: %s has no colour (%s), want %g mired", take, name, l.Problem, mired)
		return
	}
	if got := miredOf(l.Color.X, l.Color.Y); math.Abs(got-mired) > 0.6 {
		a.t.Errorf("take %d: %s is %.1f mired, want %g", take, name, got, mired)
	}
	if !math.IsNaN(age) && (l.AgeMinutes == nil || *l.AgeMinutes != age) {
		a.t.Errorf("take %d: %s is %v old, want %g min: %s", take, name, pointed(l.AgeMinutes), age, textOf(l))
	}
}

func pointed(f *float64) string {
	if f == nil {
		return "nothing"
	}
	return fmt.Sprint(*f)
}

// says expects words in what the row of a take says of a light.
func (a *asked) says(take int, name, words string) {
	a.t.Helper()
	if text := textOf(a.lightOf(a.row(take), name)); !strings.Contains(text, words) {
		a.t.Errorf("take %d: %s should say %q: %s", take, name, words, text)
	}
}

func (a *asked) deviations() []deviation.Deviation { return deviationsOf(a.all(), a.setUp, a.clock) }

// silent expects that no finding about light lists a take.
func (a *asked) silent(take int) {
	a.t.Helper()
	for _, d := range a.deviations() {
		if aboutLight(d.Kind) && slices.Contains(d.Takes, a.takes[take]) {
			a.t.Errorf("take %d is listed by: %s: %s", take, d.Kind, d.Words)
		}
	}
}

func (a *asked) nowOf() *glance.SetUpNow {
	a.t.Helper()
	if a.now == nil {
		n, err := glance.Now(a.all(), a.setUp, a.clock)
		if err != nil {
			a.t.Fatal(err)
		}
		a.now = &n
	}
	return a.now
}

func (a *asked) nowLight(name string) *glance.LightNow {
	a.t.Helper()
	n := a.nowOf()
	for i := range n.Lights {
		if n.Lights[i].Name == name {
			return &n.Lights[i]
		}
	}
	a.t.Fatalf("no light %s", name)
	return nil
}

// whiteOf expects which white a take has, and whether it is a question.
func (a *asked) whiteOf(take int, white logbook.ID, contested bool) {
	a.t.Helper()
	row := a.row(take)
	if row.Meant.White != white {
		a.t.Errorf("take %d has the white %s, want %s", take, row.Meant.White, white)
	}
	if is := contestedRow(row); is != contested {
		a.t.Errorf("take %d: contested is %v, want %v: %s", take, is, contested, textOf(row.Off.Conflicts))
	}
}

// contestedRow reports whether a row says that whites were chosen apart.
func contestedRow(row *colorlog.Row) bool {
	return strings.Contains(textOf(row.Meant), `"contested`) ||
		slices.ContainsFunc(row.Off.Conflicts, func(c colorlog.Conflict) bool { return c.On == "white" || c.Field == "white" })
}
