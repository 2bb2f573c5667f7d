package footage

import (
	"bytes"
	"cmp"
	"slices"
	"strings"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
)

// A Row is a clip of the log as far as footage is asked about.
type Row struct {
	Clip      logbook.ID
	Name      string
	Listed    bool // the name is from a listing
	ReadOff   bool // the name was read off the camera
	Open      bool // several people named it, or set it, apart
	Camera    string
	Body      logbook.ID
	Card      string
	Day, Date string
	SetUp     string
	At        logbook.Millis
	Said      Settings
	Mode      string // how its white was set
	FromFile  bool   // the settings are
	Changed   []Settings
	number    int // of the clip, by its name; -1: none is known
	head      string
}

// RowsOf are the clips that rolled, by body and time.
func RowsOf(b *logbook.Book) []*Row {
	r := rowReader{book: b, letters: map[logbook.ID]string{}, places: map[logbook.ID][3]string{}}
	var all []*Row
	for _, clip := range b.Records(kinds.Clip) {
		if clip.Flag("rolled", true) {
			all = append(all, r.row(clip))
		}
	}
	sortRows(all)
	return all
}

func sortRows(all []*Row) {
	slices.SortStableFunc(all, func(a, b *Row) int { return cmp.Or(bytes.Compare(a.Body[:], b.Body[:]), cmp.Compare(a.At, b.At)) })
}

type rowReader struct {
	book    *logbook.Book
	letters map[logbook.ID]string
	places  map[logbook.ID][3]string // by set-up: day, date, name
}

func (r *rowReader) row(clip logbook.View) *Row {
	name, _ := clip.Value("name").Member("text").Text()
	from := clip.Value("name").Member("from")
	row := &Row{
		Clip: clip.ID, Name: name, Listed: from == fromListing, ReadOff: from == readOff, Body: clip.Ref("body"), Card: clip.Text("card"),
		At: r.at(clip), Said: settingsOf(clip.Value), Mode: clip.Text("whiteMode"), FromFile: clip.Text("settingsAre") == "fromFile", number: -1,
	}
	for _, field := range []string{"name", "kelvin", "tint", "lens", "settingsAre", "card"} {
		row.Open = row.Open || clip.Field(field).Conflict
	}
	for _, key := range clip.Keys("changes") {
		change := clip.Value("changes/" + key)
		row.Changed = append(row.Changed, settingsOf(change.Member))
	}
	camera := clip.Ref("camera")
	letter, known := r.letters[camera]
	if !known {
		if v, ok := r.book.RecordOf(kinds.Camera, camera); ok {
			letter = v.Text("letter")
		}
		r.letters[camera] = letter
	}
	row.Camera = letter
	place := r.place(clip.Ref("setUp"))
	row.Day, row.Date, row.SetUp = place[0], place[1], place[2]
	return row
}

// at is when a clip began: as its row of the colour log says it.
func (r *rowReader) at(clip logbook.View) logbook.Millis {
	if _, ok := lighting.InstantOf(clip, "startedAt"); ok {
		return lighting.ClipTime(clip)
	}
	first := logbook.Ever
	for _, key := range clip.Keys("takes") {
		id, _ := logbook.ParseID(key)
		if take, ok := r.book.RecordOf(kinds.Take, id); ok {
			first = min(first, lighting.TakeTime(r.book, take))
		}
	}
	if first < logbook.Ever {
		return first
	}
	return clip.CreatedAt()
}

func (r *rowReader) place(setUp logbook.ID) [3]string {
	place, known := r.places[setUp]
	if known {
		return place
	}
	if view, ok := r.book.RecordOf(kinds.SetUp, setUp); ok {
		place[2] = view.Text("name")
		if scene, ok := r.book.RecordOf(kinds.Scene, view.Ref("scene")); ok {
			place[2] = scene.Text("name") + place[2]
		}
		if day, ok := r.book.RecordOf(kinds.Day, view.Ref("day")); ok {
			place[0], _ = day.Value("number").Number()
			place[1] = day.Text("date")
		}
	}
	r.places[setUp] = place
	return place
}

func settingsOf(field func(string) logbook.Value) (s Settings) {
	s.Kelvin, _ = field("kelvin").Number()
	s.Tint, _ = field("tint").Number()
	s.Lens, _ = field("lens").Text()
	return s
}

// alike are signs that are taken for one another, where they are read in the dark.
var alike = [256]byte{'O': '0', 'Q': '0', 'I': '1', 'L': '1', 'B': '8'}

// looksLike reports whether names are the same but for signs that are alike.
func looksLike(a, b string) bool {
	if len(a) != len(b) {
		return false
	}
	for i := range len(a) {
		if a[i] != b[i] && (alike[a[i]] == 0 || alike[a[i]] != b[i]) && (alike[b[i]] == 0 || alike[b[i]] != a[i]) {
			return false
		}
	}
	return true
}

// named says how the name of a row and that of a recording lie to each other.
type named uint8

const (
	otherwise named = iota
	nearly          // one slip apart
	equally
	unnamed // the row has no name
)

// compareNames takes a name that was counted up to a tail that nobody knows for equal. Both are in capitals.
func compareNames(row, recording string) named {
	if row == "" {
		return unnamed
	}
	if stem, _ := stemOf(row); stem == recording || begins(row, recording) {
		return equally
	}
	for long := max(1, len(row)-1); long <= min(len(row)+1, len(recording)); long++ {
		if cut := recording[:long]; begins(cut, recording) && (slipApart(row, cut) || looksLike(row, cut)) {
			return nearly
		}
	}
	return otherwise
}

// begins reports whether a name is another's beginning, up to where a number ends.
func begins(row, recording string) bool {
	if !strings.HasPrefix(recording, row) {
		return false
	}
	if len(row) == len(recording) {
		return true
	}
	last, next := row[len(row)-1], recording[len(row)]
	return len(row) >= 3 && !(isDigit(last) && isDigit(next)) && !(isLetter(last) && isLetter(next))
}

func isDigit(b byte) bool  { return b >= '0' && b <= '9' }
func isLetter(b byte) bool { return b >= 'A' && b <= 'Z' }

// slipApart reports whether one sign was changed, left out, put in, or changed places with the next.
func slipApart(a, b string) bool {
	if len(a) > len(b) {
		a, b = b, a
	}
	if len(b)-len(a) > 1 {
		return false
	}
	at := 0
	for at < len(a) && a[at] == b[at] {
		at++
	}
	if len(a) < len(b) {
		return a[at:] == b[at+1:]
	}
	return at == len(a) || a[at+1:] == b[at+1:] || at+1 < len(a) && a[at] == b[at+1] && a[at+1] == b[at] && a[at+2:] == b[at+2:]
}
