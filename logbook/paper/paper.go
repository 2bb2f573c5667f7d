package paper

import (
	_ "embed"
	"html/template"
	"io"
	"slices"
	"strings"

	"evenwhite/logbook/rebuild"
	"evenwhite/logbook/rigging"
)

//go:embed pages.html
var text string

var pages = template.Must(template.New("pages").Funcs(template.FuncMap{"listed": listed, "role": role, "settings": settings}).Parse(text))

// Media is the kind of all pages.
const Media = "text/html; charset=utf-8"

// listed joins what is not empty.
func listed(parts ...string) string {
	return strings.Join(slices.DeleteFunc(parts, func(s string) bool { return s == "" }), ", ")
}

// role says what a light is for.
func role(l rigging.RiggedLight) string {
	intent := map[string]string{"match": "to the white", "holdOwnColor": "own colour", "leave": "left as it is"}[l.Intent]
	return listed(l.Role, intent)
}

// settings are how the settings of a camera are known.
func settings(are string) string {
	return map[string]string{"carriedOver": "carried over, not read off", "readOff": "read off", "fromFile": "from the file"}[are]
}

// Rebuild writes the sheet by which a set-up is built again.
func Rebuild(w io.Writer, sheet rebuild.RebuildSheet) error {
	return pages.ExecuteTemplate(w, "rebuild", sheet)
}

// Apart writes how a set-up lies from its model.
func Apart(w io.Writer, apart rebuild.SetUpsApart) error {
	return pages.ExecuteTemplate(w, "apart", apart)
}

// Rigging writes the rigging list.
func Rigging(w io.Writer, list rigging.RiggingList) error {
	return pages.ExecuteTemplate(w, "rigging", list)
}

// abreast is how many set-ups stand side by side on a page.
const abreast = 5

// A strip is a part of a scene's table: some of its set-ups, by their places.
type strip struct {
	rebuild.SceneContinuity
	From, To int
}

// Names are the set-ups of a strip.
func (s strip) Names() []rebuild.ApartSide { return s.SetUps[s.From:s.To] }

// Of are the values of a row in a strip.
func (s strip) Of(r rebuild.SceneRow) []string { return r.Values[s.From:s.To] }

// Against names the two set-ups that lie furthest apart: the second from the first.
func (s strip) Against(r rebuild.SceneRow) string {
	return s.SetUps[r.Widest[1]].Name + " against " + s.SetUps[r.Widest[0]].Name
}

// Scene writes the set-ups of a scene side by side.
func Scene(w io.Writer, scene rebuild.SceneContinuity) error {
	strips := []strip{}
	for from := 0; from < len(scene.SetUps); from += abreast {
		strips = append(strips, strip{scene, from, min(from+abreast, len(scene.SetUps))})
	}
	return pages.ExecuteTemplate(w, "scene", map[string]any{"Scene": scene, "Strips": strips})
}
