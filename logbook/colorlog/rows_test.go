package colorlog

import (
	"bytes"
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/deviation"
	"evenwhite/logbook/kinds"
)

// diary makes a book from short entries; #a1 stands for the id of the record a1.
type diary struct {
	t    *testing.T
	book *logbook.Book
	n    uint64
	at   logbook.Millis
}

func diaryID(name string) logbook.ID {
	id := logbook.ID{0: 1, 6: 0x70, 8: 0x80}
	copy(id[9:], name)
	return id
}

var named = regexp.MustCompile(`#[a-z0-9]+`)

const startOfDiary = logbook.Millis(1_930_000_000_000)

func newDiary(t *testing.T) *diary {
	d := &diary{t: t, book: logbook.NewBook(diaryID("job"), kinds.Rules), at: startOfDiary}
	d.write(kinds.Production, "job", `{"title": "Job", "timeZone": "Etc/UTC", "frameRate": "25", "slating": "sceneAndLetter", "gelFamily": "based5500"}`)
	d.write(kinds.Day, "day1", `{"number": 1, "date": "2031-02-27"}`)
	d.write(kinds.SetUp, "up1", `{"day": "#day1", "name": "A"}`)
	d.write(kinds.Body, "body1", `{"label": "one", "whiteModes": ["kelvin", "auto"], "kelvinRanges": [{"min": 2000, "max": 10000, "step": 10}], "tintZero": "blackBody", "recordingModes/m": {"name": "plain", "white": "baked"}, "timecode": "none"}`)
	d.write(kinds.Camera, "cam1", `{"letter": "A", "body": {"body": "#body1"}}`)
	return d
}

// write makes an edit a minute later, over what the record shows.
func (d *diary) write(kind logbook.Kind, name, fields string) {
	d.t.Helper()
	v, err := logbook.ParseValue(named.ReplaceAllStringFunc(fields, func(ref string) string { return diaryID(ref[1:]).String() }))
	if err != nil {
		d.t.Fatal(err)
	}
	d.n++
	d.at += 60_000
	e := &logbook.Edit{Production: d.book.Production(), Kind: kind, Record: diaryID(name), Dot: logbook.Dot{Line: logbook.Line{1}, N: d.n},
		At: d.at, By: "DIT"}
	view, known := d.book.RecordOf(kind, e.Record)
	for field, value := range v.Members() {
		c := logbook.Change{Field: field, Value: value}
		if known {
			c = logbook.Replace(view, field, value)
		}
		e.Set = append(e.Set, c)
	}
	if err := d.book.Apply(e); err != nil {
		d.t.Fatal(err)
	}
}

func (d *diary) clip(name, more string) {
	d.t.Helper()
	d.write(kinds.Clip, name, `{"setUp": "#up1", "camera": "#cam1", "body": "#body1"`+more+`}`)
}

func (d *diary) rows(scope Scope) []Row {
	d.t.Helper()
	var rows []Row
	for r, err := range Rows(d.book, scope) {
		if err != nil {
			d.t.Fatal(err)
		}
		rows = append(rows, r)
	}
	return rows
}

// only is the one row of the diary.
func (d *diary) only() Row {
	d.t.Helper()
	rows := d.rows(Scope{})
	if len(rows) != 1 {
		d.t.Fatalf("got %d rows, want 1", len(rows))
	}
	return rows[0]
}

func TestAClipOfWhichNothingIsKnownIsARowAllTheSame(t *testing.T) {
	d := newDiary(t)
	d.clip("c1", ``)
	r := d.only()
	if r.Find.ClipKind != "take" || r.Find.Take != nil || !r.Find.Rolled || r.Set.SettingsAre != "notReadOff" {
		t.Errorf("got find %+v, settings %q; want a clip of kind take, without a take, rolled, not read off", r.Find, r.Set.SettingsAre)
	}
	if r.Meant.Problem != "no white was chosen" || r.Gives.Problem == "" || r.Gives.Cast != nil {
		t.Errorf("got meant %q and gives %+v; want no white, a problem and no cast", r.Meant.Problem, r.Gives)
	}
	for _, part := range []string{"no white was chosen", "no chart", "was not read off yet"} {
		if !strings.Contains(strings.Join(r.Off.Missing, "; "), part) {
			t.Errorf("missing is %q, want %q in it", r.Off.Missing, part)
		}
	}
	if r.Set.RecordingMode != "plain" || r.Set.WhiteInFile != "baked" {
		t.Errorf("got recorded as %q, %q; want the body's only mode, plain and baked", r.Set.RecordingMode, r.Set.WhiteInFile)
	}
}

func kindsOf(r Row) string {
	var kinds []string
	for _, f := range r.Off.Findings {
		kinds = append(kinds, f.Kind)
	}
	return strings.Join(kinds, " ")
}

func TestAutomaticWhiteIsADeviationWithoutANumber(t *testing.T) {
	d := newDiary(t)
	d.clip("c1", `, "whiteMode": "auto"`)
	r := d.only()
	found := kindsOf(r)
	if r.Set.LabelWhite != nil || r.Gives.Cast != nil || found != "automatic-white no-white settings-carried-over" || r.Off.Count != 3 {
		t.Errorf("got label %v, cast %v, %d findings %s; want none, none, automatic white and what is missing",
			r.Set.LabelWhite, r.Gives.Cast, r.Off.Count, found)
	}
	if r.Off.Worst != r.Off.Findings[0].Headline || len(r.Off.Missing) < 2 {
		t.Errorf("got %q as the worst, missing %q", r.Off.Worst, r.Off.Missing)
	}
}

func TestWhatCannotBeStandsAsTypedAndIsSaid(t *testing.T) {
	d := newDiary(t)
	d.clip("c1", `, "whiteMode": "kelvin", "kelvin": 5600, "settingsAre": "readOff", "timecode/start": "10:00:00:59"`)
	r := d.only()
	if r.Find.Timecode.Start != "10:00:00:59" || !strings.Contains(kindsOf(r), deviation.TimecodeImpossible) {
		t.Errorf("got %+v and findings %+v", r.Find.Timecode, r.Off.Findings)
	}
}

func TestWhatIsStruckOutIsSaidAndNotLost(t *testing.T) {
	d := newDiary(t)
	d.write(kinds.Take, "t1", `{"setUp": "#up1", "number": 1}`)
	d.clip("c1", `, "whiteMode": "kelvin", "kelvin": 5600, "takes/#t1": {}`)
	d.clip("c2", `, "whiteMode": "kelvin", "kelvin": 5600`)
	d.write(kinds.Clip, "c2", `{"deleted": true}`)
	d.write(kinds.Take, "t1", `{"deleted": true}`)
	d.write(kinds.SetUp, "up1", `{"deleted": true}`)
	r := d.only() // a clip that is struck out is none
	if r.Find.Take == nil || r.Find.Take.Number != "1" {
		t.Fatalf("got take %+v, want number 1", r.Find.Take)
	}
	for _, part := range []string{"the take is struck out", "the set-up is struck out"} {
		if !strings.Contains(strings.Join(r.Off.Missing, "; "), part) {
			t.Errorf("missing is %q, want %q in it", r.Off.Missing, part)
		}
	}
}

func TestAClipWhoseSetUpIsNotInTheLogComesLast(t *testing.T) {
	d := newDiary(t)
	d.write(kinds.Clip, "lost", `{"setUp": "#nowhere", "camera": "#cam1", "body": "#body1", "whiteMode": "kelvin", "kelvin": 3200, "name": {"text": "X9", "from": "readOff"}}`)
	d.clip("c1", `, "whiteMode": "kelvin", "kelvin": 5600`)
	rows := d.rows(Scope{})
	if len(rows) != 2 {
		t.Fatalf("got %d rows, want 2", len(rows))
	}
	if r := rows[1]; r.Find.ClipName != "X9" || r.Set.Kelvin != "3200" ||
		!strings.Contains(strings.Join(r.Off.Missing, "; "), "not in the log") {
		t.Errorf("got %+v, missing %q; want X9 at 3200 K and that its set-up is not in the log", r.Find, r.Off.Missing)
	}
	var out bytes.Buffer
	if err := WriteJSON(&out, HeadOf(d.book, Scope{}, Origin{Program: "test"}), Rows(d.book, Scope{})); err != nil {
		t.Fatal(err)
	}
	mustMeetSchema(t, out.Bytes())
}

func TestTakesJoinedAsOneAreOneRowOfEachClip(t *testing.T) {
	d := newDiary(t)
	d.write(kinds.Take, "t1", `{"setUp": "#up1", "number": 1}`)
	d.write(kinds.Take, "t2", `{"setUp": "#up1", "number": 1}`)
	d.clip("c1", `, "whiteMode": "kelvin", "kelvin": 5600, "takes/#t1": {"beginsAt": "01:00:00:00"}, "takes/#t2": {}`)
	if rows := d.rows(Scope{}); len(rows) != 2 || len(rows[0].Off.Twins) == 0 {
		t.Fatalf("before the answer: got %d rows, twins %q; want 2 rows that say so", len(rows), rows[0].Off.Twins)
	}
	d.write(kinds.Take, "t1", `{"same/#t2": "one"}`)
	r := d.only()
	if r.Find.Take.BeginsAt != "01:00:00:00" || len(r.Off.Twins) != 0 {
		t.Errorf("got a take that begins at %q, twins %q; want 01:00:00:00 and none", r.Find.Take.BeginsAt, r.Off.Twins)
	}
}

func TestAConflictInWhatARowRestsOnIsShown(t *testing.T) {
	d := newDiary(t)
	d.write(kinds.Light, "l1", `{"setUp": "#up1", "name": "lamp", "role": "key"}`)
	d.clip("c1", `, "whiteMode": "kelvin", "kelvin": 5600`)
	for i, dial := range []string{"5600", "3200"} { // by two who had not seen each other
		e := &logbook.Edit{Production: d.book.Production(), Kind: kinds.Light, Record: diaryID("l1"),
			Dot: logbook.Dot{Line: logbook.Line{9, byte(i)}, N: 1}, At: d.at + logbook.Millis(i), By: "gaffer",
			Set: []logbook.Change{{Field: "rigged/dialKelvin", Value: logbook.Value(dial)}}}
		if err := d.book.Apply(e); err != nil {
			t.Fatal(err)
		}
	}
	got := d.only().Off.Conflicts
	if len(got) != 1 || got[0].On != "light lamp" || got[0].Field != "rigged/dialKelvin" ||
		strings.Join(got[0].Values, ", ") != "3200 (gaffer), 5600 (gaffer)" {
		t.Errorf("got %+v, want the lamp's dial with both values, the shown one first", got)
	}
}

func TestAWhiteThatChangesWithinAClipIsSaidOfItsLaterTake(t *testing.T) {
	d := newDiary(t)
	d.write(kinds.Take, "t1", `{"setUp": "#up1", "number": 1}`)
	d.write(kinds.Take, "t2", `{"setUp": "#up1", "number": 2}`)
	d.write(kinds.White, "w1", `{"setUp": "#up1", "from": {"as": "nominal", "kelvin": 3200, "locus": "blackBody"}, "appliesFrom": {"as": "start"}}`)
	d.write(kinds.White, "w2", `{"setUp": "#up1", "from": {"as": "nominal", "kelvin": 4000, "locus": "blackBody"}, "appliesFrom": {"as": "take", "take": "#t2"}}`)
	d.clip("c1", `, "whiteMode": "kelvin", "kelvin": 3200, "takes/#t1": {}, "takes/#t2": {}`)
	rows := d.rows(Scope{})
	if len(rows) != 2 {
		t.Fatalf("got %d rows, want 2", len(rows))
	}
	first, second := rows[0], rows[1]
	if *first.Meant.Color.CCTKelvin != 3200 || *second.Meant.Color.CCTKelvin != 4000 || *second.Meant.Aim.CCTKelvin != 4000 {
		t.Errorf("got whites %s and %s, want 3200 and 4000 K", first.Meant.Color.Words, second.Meant.Color.Words)
	}
	if first.Gives.OffAim == nil || second.Gives.OffAim != nil || !strings.Contains(second.Gives.Problem, "changed within this clip") {
		t.Errorf("got off aim %v and %v (%s); want one, and none with the reason", first.Gives.OffAim, second.Gives.OffAim, second.Gives.Problem)
	}
}

func TestChangesWhileRollingAreInWords(t *testing.T) {
	d := newDiary(t)
	d.clip("c1", `, "whiteMode": "kelvin", "kelvin": 5600, "changes/1": {"timecode": "01:00:10:00", "whiteMode": "kelvin", "kelvin": 3200, "tint": -2}`)
	if got := fmt.Sprint(d.only().Set.Changes); got != "[01:00:10:00 kelvin 3200 K tint -2]" {
		t.Errorf("got %s", got)
	}
}

func TestRowsAreInTheOrderInWhichTheyWereShot(t *testing.T) {
	d := newDiary(t)
	d.write(kinds.Day, "day0", `{"number": 12, "date": "2031-03-20"}`)
	d.write(kinds.SetUp, "up0", `{"day": "#day0", "name": "Z"}`)
	d.write(kinds.Camera, "cam2", `{"letter": "B", "body": {"body": "#body1"}}`)
	const kelvin = `, "whiteMode": "kelvin", "kelvin": 5600, "startedAt": "2031-02-27T10:00:00Z", "name": {"from": "counted", "text": `
	d.write(kinds.Clip, "c0", `{"setUp": "#up0", "camera": "#cam1", "body": "#body1"`+kelvin+`"5"}}`)
	d.clip("c1", strings.Replace(kelvin, "10:00", "11:00", 1)+`"4"}`)
	d.write(kinds.Clip, "c2", `{"setUp": "#up1", "camera": "#cam2", "body": "#body1"`+kelvin+`"3"}}`)
	d.clip("c3", kelvin+`"2"}, "part": 2`)
	d.clip("c4", kelvin+`"1"}`)
	var names []string
	for _, r := range d.rows(Scope{}) {
		names = append(names, r.Find.ClipName)
	}
	if got := strings.Join(names, " "); got != "1 2 3 4 5" {
		t.Errorf("got %s, want 1 2 3 4 5: by day, start, camera, part", got)
	}
	if got := len(d.rows(Scope{Day: diaryID("day0")})); got != 1 {
		t.Errorf("day 12: got %d rows, want 1", got)
	}
	if got := len(d.rows(Scope{SetUp: diaryID("up1")})); got != 4 {
		t.Errorf("set-up A: got %d rows, want 4", got)
	}
}

func TestAScopeThatLeadsNowhereIsAnError(t *testing.T) {
	d := newDiary(t)
	for name, scope := range map[string]Scope{
		"day": {Day: diaryID("up1")}, "setUp": {SetUp: diaryID("day1")}, "set-up of another day": {SetUp: diaryID("up1"), Day: diaryID("day9")},
	} {
		n := 0
		for _, err := range Rows(d.book, scope) {
			n++
			if !errors.Is(err, ErrScope) {
				t.Errorf("%s: got error %v, want ErrScope", name, err)
			}
		}
		if n != 1 {
			t.Errorf("%s: got %d items, want the error alone", name, n)
		}
	}
}

func TestTheSameBookGivesTheSameBytes(t *testing.T) {
	var first []byte
	for range 3 {
		d := newDiary(t)
		for i := range 12 {
			d.write(kinds.Light, fmt.Sprintf("l%d", i), fmt.Sprintf(`{"setUp": "#up1", "name": "light %d", "role": "fill"}`, i))
			d.write(kinds.Reading, fmt.Sprintf("r%d", i), fmt.Sprintf(`{"setUp": "#up1", "takenAt": "2031-02-27T09:%02d:00Z", "of": {"as": "light", "light": "#l%d"}, "measured": {"as": "cctDuv", "cctKelvin": %d, "duv": 0.001}}`, i, i, 3000+200*i))
		}
		d.clip("c1", `, "whiteMode": "kelvin", "kelvin": 5600, "startedAt": "2031-02-27T10:00:00Z"`)
		var out bytes.Buffer
		if err := WriteJSON(&out, HeadOf(d.book, Scope{}, Origin{Program: "test"}), Rows(d.book, Scope{})); err != nil {
			t.Fatal(err)
		}
		if first == nil {
			first = out.Bytes()
		}
		if !bytes.Equal(first, out.Bytes()) {
			t.Fatal("the same entries gave other bytes")
		}
	}
}

func TestWhitesChosenApartAreAConflictOfTheRow(t *testing.T) {
	d := newDiary(t)
	d.write(kinds.Take, "t1", `{"setUp": "#up1", "number": 1}`)
	d.clip("c1", `, "whiteMode": "kelvin", "kelvin": 3200, "takes/#t1": {}`)
	for name, kelvin := range map[string]string{"w1": "3200", "w2": "4300"} {
		d.write(kinds.White, name, `{"setUp": "#up1", "from": {"as": "nominal", "kelvin": `+kelvin+
			`, "locus": "blackBody"}, "appliesFrom": {"as": "takeNumber", "number": 1}, "restsOn": []}`)
	}
	r := d.only()
	got := r.Off.Conflicts
	if len(got) != 1 || got[0].Field != "white" || len(got[0].Values) != 2 ||
		!strings.HasPrefix(got[0].Values[0], r.Meant.Words+", from take 1 (") {
		t.Fatalf("got %+v, want both whites with who entered them, the shown one first", got)
	}
	if shown := "contested: " + strings.TrimPrefix(r.Meant.Words, "nominal "); !strings.HasPrefix(r.Meant.Contested, shown+" or ") {
		t.Errorf("got %q, want it to begin with %q", r.Meant.Contested, shown)
	}
	if !slices.Contains(r.Meant.Caveats, "chosen after the take") {
		t.Errorf("got %q, want it said that the white was chosen after the take", r.Meant.Caveats)
	}
	var out bytes.Buffer
	if err := WriteCSV(&out, HeadOf(d.book, Scope{}, Origin{Program: "test"}), Rows(d.book, Scope{})); err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(out.String(), r.Meant.Contested) {
		t.Error("the CSV form does not say that the white is contested")
	}
}
