package rebuild

import (
	"cmp"
	"slices"
	"strings"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
	"evenwhite/logbook/rigging"
	"evenwhite/logbook/setup"
)

// SceneContinuity is the set-ups of a scene side by side, each at its last take, the greatest
// differences first.
type SceneContinuity struct {
	Production string      `json:"production"`
	Scene      logbook.ID  `json:"scene"`
	Name       string      `json:"name"`
	SetUps     []ApartSide `json:"setUps"` // as they were shot
	Rows       []SceneRow  `json:"rows"`
	Same       int         `json:"same"` // how many things are the same in all, and not listed
}

// SceneRow is one thing in all set-ups of a scene.
type SceneRow struct {
	Of     string   `json:"of"`
	What   string   `json:"what"`
	Values []string `json:"values"` // of each set-up, in their order; "" where it has none
	// Widest are the two set-ups that lie furthest apart, by their places, and Apart how the second
	// lies from the first.
	Widest [2]int   `json:"widest"`
	Apart  ApartRow `json:"apart"`
}

// OfScene compares each two set-ups of a scene. Errors wrap logbook.ErrNoRecord.
func OfScene(b *logbook.Book, scene logbook.ID, now logbook.Millis) (SceneContinuity, error) {
	view, err := logbook.FindRecord(b, kinds.Scene, "scene", scene)
	if err != nil {
		return SceneContinuity{}, err
	}
	out := SceneContinuity{Production: rigging.TitleOf(b), Scene: view.ID, Name: view.Text("name"), SetUps: []ApartSide{}, Rows: []SceneRow{}}
	r := setup.NewReader(b)
	var sides []*side
	for _, setUp := range b.Referring(kinds.SetUp, "scene", view.ID) {
		s, err := sideOf(r, Query{SetUp: setUp.ID}, false, now)
		if err != nil {
			return out, err
		}
		sides = append(sides, s)
	}
	slices.SortStableFunc(sides, func(x, y *side) int {
		return cmp.Or(strings.Compare(lighting.DateOf(b, x.View().ID), lighting.DateOf(b, y.View().ID)), cmp.Compare(x.at, y.at))
	})
	for _, s := range sides {
		out.SetUps = append(out.SetUps, s.told())
	}
	out.rows(sides)
	return out, nil
}

type sceneKey struct{ of, what string }

// rows joins the comparisons of each two set-ups: of each thing the widest.
func (out *SceneContinuity) rows(sides []*side) {
	found := map[sceneKey]*SceneRow{}
	var order []sceneKey
	for j := range sides {
		for i := range j {
			for _, r := range rowsOf(sides[j], sides[i], false) {
				key := sceneKey{folded(r.Of), r.What}
				row := found[key]
				if row == nil {
					row = &SceneRow{Of: r.Of, What: r.What, Values: make([]string, len(sides)), Widest: [2]int{i, j}, Apart: r}
					found[key], order = row, append(order, key)
				}
				row.Values[j], row.Values[i] = r.Here, r.Model
				if byGreatest(r, row.Apart) < 0 {
					row.Apart, row.Widest = r, [2]int{i, j}
				}
			}
		}
	}
	all := make([]ApartRow, len(order))
	for i, key := range order {
		all[i] = found[key].Apart
	}
	sortRows(all)
	for _, r := range all {
		if r.Verdict == same {
			out.Same++
			continue
		}
		out.Rows = append(out.Rows, *found[sceneKey{folded(r.Of), r.What}])
	}
}
