package rigging

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
	"evenwhite/logbook/setup"
)

// RiggingList is how the lights of a set-up, or of the set-ups of a day, are rigged, and what that
// takes of the truck.
type RiggingList struct {
	Production string        `json:"production"` // its title
	Day        logbook.ID    `json:"day,omitzero"`
	DayWords   string        `json:"dayWords,omitempty"` // "day 3, 2026-03-06"
	At         time.Time     `json:"at"`                 // when it was asked for
	AtLocal    string        `json:"atLocal"`            // the same by the clock on the set
	SetUps     []RiggedSetUp `json:"setUps"`
	Stock      []StockLine   `json:"stock"`    // what is short first
	Cautions   []string      `json:"cautions"` // chosen by the lamps
}

// RiggedSetUp is a set-up with its lights as they were rigged at a moment.
type RiggedSetUp struct {
	SetUp  logbook.ID    `json:"setUp"`
	Name   string        `json:"name"` // with the scene's: "44 A"
	Place  string        `json:"place,omitempty"`
	AsOf   string        `json:"asOf"`  // "as of now", "as at its last clip, 11:20 UTC+1"
	Begun  bool          `json:"begun"` // something was read or shot in it
	Lights []RiggedLight `json:"lights"`
}

// ListOfSetUp lists one set-up, and counts its stock against the other set-ups of its day. Errors
// wrap logbook.ErrNoRecord.
func ListOfSetUp(b *logbook.Book, setUp logbook.ID, now logbook.Millis) (RiggingList, error) {
	view, err := logbook.FindRecord(b, kinds.SetUp, "setUp", setUp)
	if err != nil {
		return RiggingList{}, err
	}
	return listOf(b, view.Ref("day"), now, func(id logbook.ID) bool { return id == view.ID }, view), nil
}

// ListOfDay lists the set-ups of a day, in the order in which they were begun. Errors wrap
// logbook.ErrNoRecord.
func ListOfDay(b *logbook.Book, day logbook.ID, now logbook.Millis) (RiggingList, error) {
	view, err := logbook.FindRecord(b, kinds.Day, "day", day)
	if err != nil {
		return RiggingList{}, err
	}
	return listOf(b, view.ID, now, func(logbook.ID) bool { return true }), nil
}

func listOf(b *logbook.Book, day logbook.ID, now logbook.Millis, listed func(logbook.ID) bool, more ...logbook.View) RiggingList {
	out := RiggingList{Day: day, At: now.Time(), AtLocal: DateClock(now, ZoneOf(b, day)),
		SetUps: []RiggedSetUp{}, Cautions: []string{}, DayWords: DayWords(b, day), Production: TitleOf(b)}
	views := b.Referring(kinds.SetUp, "day", day)
	if day.IsZero() {
		views = more
	}
	r, standing := setup.NewReader(b), []*stand{}
	for _, view := range views {
		standing = append(standing, standOf(r.ReadAsLeft(view, now)))
	}
	slices.SortStableFunc(standing, func(x, y *stand) int { return cmp.Compare(x.from, y.from) })
	var lists [][]string
	for _, st := range standing {
		if !listed(st.setUp.View().ID) {
			continue
		}
		out.SetUps = append(out.SetUps, st.rigged())
		lists = append(lists, st.setUp.Cautions())
	}
	out.Cautions = setup.JoinCautions(lists)
	out.Stock = stockOf(b, standing, listed)
	return out
}

func (st *stand) rigged() RiggedSetUp {
	s := st.setUp
	view := s.View()
	out := RiggedSetUp{SetUp: view.ID, Name: lighting.SetUpName(s.Book(), view), Place: view.Text("place"), AsOf: "as of now",
		Begun: st.begun(), Lights: []RiggedLight{}}
	if at := s.Moment(); at != logbook.Ever {
		out.AsOf = "as at its last clip, " + Clock(s, at)
	}
	for _, light := range s.Lights() {
		out.Lights = append(out.Lights, LightAt(s, light, s.Moment()))
	}
	SortByRole(out.Lights)
	return out
}

// roles are in the order in which a gaffer lights.
var roles = []string{"key", "fill", "back", "background", "practical", "ambient", "screen"}

// SortByRole sorts lights by role, those of one role by name.
func SortByRole(all []RiggedLight) {
	rank := func(role string) int {
		if i := slices.Index(roles, role); i >= 0 {
			return i
		}
		return len(roles)
	}
	slices.SortStableFunc(all, func(x, y RiggedLight) int {
		if a, b := rank(x.Role), rank(y.Role); a != b {
			return a - b
		}
		return strings.Compare(x.Name, y.Name)
	})
}

// DayWords names a day: "day 3, 2026-03-06, second unit"; "" for none.
func DayWords(b *logbook.Book, day logbook.ID) string {
	v, ok := b.RecordOf(kinds.Day, day)
	if !ok {
		return ""
	}
	number, _ := v.Value("number").Number()
	words := fmt.Sprintf("day %s, %s", number, v.Text("date"))
	if unit := v.Text("unit"); unit != "" && unit != "main" {
		words += ", " + unit + " unit"
	}
	return words
}

// TitleOf is the title of the production.
func TitleOf(b *logbook.Book) string {
	production, ok := lighting.ProductionOf(b)
	if !ok {
		return ""
	}
	return production.Text("title")
}

// LastDay is the day that is meant where none is named: the latest by date and number.
func LastDay(b *logbook.Book) (logbook.ID, bool) {
	var last logbook.View
	later := func(v, w logbook.View) bool {
		if a, b := v.Text("date"), w.Text("date"); a != b {
			return a > b
		}
		n, _ := v.Number("number")
		m, _ := w.Number("number")
		return n > m
	}
	for _, v := range b.Records(kinds.Day) {
		if !last.Known() || later(v, last) {
			last = v
		}
	}
	return last.ID, last.Known()
}
