package handover_test

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"testing"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/cameras"
	"evenwhite/logbook/colorlog"
	"evenwhite/logbook/handover"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/stage"
)

// filesOf are the files of the archive of a book.
func filesOf(t *testing.T, b *logbook.Book) map[string]string {
	t.Helper()
	form, _ := handover.FormOf("zip")
	log, err := handover.Of(b, colorlog.Scope{}, colorlog.Origin{Program: "test"})
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	if err := form.Write(&out, log); err != nil {
		t.Fatal(err)
	}
	return filesIn(t, out.String())
}

type collection struct {
	Corrections []correction `xml:"ColorCorrection"`
}

type correction struct {
	ID      string   `xml:"id,attr"`
	About   []string `xml:"Description"`
	SOPNode struct{ Slope, Offset string }
}

func read(t *testing.T, text string) (c collection) {
	t.Helper()
	if err := xml.Unmarshal([]byte(text), &c); err != nil {
		t.Fatal(err)
	}
	return c
}

func numbers(t *testing.T, text string) (v [3]float64) {
	t.Helper()
	if _, err := fmt.Sscan(text, &v[0], &v[1], &v[2]); err != nil {
		t.Fatal(err)
	}
	return v
}

// spooled is what waits in a spool.
type spooled struct {
	bytes.Buffer
	waited, open *int
}

func (s *spooled) Write(piece []byte) (int, error) {
	*s.waited += len(piece)
	return s.Buffer.Write(piece)
}

func (s *spooled) Close() error {
	*s.open--
	return nil
}

// Who makes the log of a long job hands in what holds the files of an archive meanwhile.
func TestAnArchiveWaitsWhereItIsTold(t *testing.T) {
	s := stage.New(t)
	s.Set(s.BodyB, "recordingModes/main", `{"name":"main","white":"baked","encoding":"linear","primaries":"acesAp1"}`)
	s.Shoot("5600", "4300")
	form, _ := handover.FormOf("zip")
	log, err := handover.Of(s.Book(), colorlog.Scope{}, colorlog.Origin{Program: "test"})
	if err != nil {
		t.Fatal(err)
	}
	var plain, told bytes.Buffer
	if err := form.Write(&plain, log); err != nil {
		t.Fatal(err)
	}
	made, waited, open := 0, 0, 0
	log.Spool = func() handover.Spool {
		made++
		open++
		return &spooled{waited: &waited, open: &open}
	}
	if err := form.Write(&told, log); err != nil {
		t.Fatal(err)
	}
	files := filesIn(t, told.String())
	if !bytes.Equal(plain.Bytes(), told.Bytes()) || files["color-log.xlsx"] == "" || len(files["color-log.json"]) < 10_000 {
		t.Errorf("%d bytes differ from the %d without, or lack a file", told.Len(), plain.Len())
	}
	if made < 4 || open != 0 || waited < 10_000 { // document, workbook and two collections
		t.Errorf("%d spools were made, of which %d are open, and %d bytes waited of %d", made, open, waited, told.Len())
	}
	broken := errors.New("no one is there")
	if err := form.Write(failing{broken}, log); !errors.Is(err, broken) || open != 0 {
		t.Errorf("given up, %d spools are open (%v)", open, err)
	}
}

// Who reads it at three in the morning is not told of 1 rows.
func TestOneIsNotSeveral(t *testing.T) {
	s := stage.New(t)
	s.Set(s.BodyB, "recordingModes/main", `{"name":"main","white":"baked","encoding":"linear","primaries":"acesAp1"}`)
	for _, clip := range s.Book().Records(kinds.Clip) {
		s.Set(clip.ID, "deleted", "true")
	}
	s.Add(kinds.Clip, "camera", stage.Ref(s.B), "body", stage.Ref(s.BodyB), "setUp", stage.Ref(s.SetUp), "whiteMode", `"kelvin"`,
		"kelvin", "4300", "settingsAre", `"readOff"`)
	s.Card(s.B, 5600, stage.Day5600, 4, 0, s.Reading)
	s.Minute(10)
	s.Card(s.B, 5600, stage.Day5600, 4, 0, s.Reading)
	files := filesOf(t, s.Book())
	several := regexp.MustCompile(`\b1 (rows|clips|set-ups|cards|corrections|entries)\b`)
	for name, want := range map[string]string{"CONTENTS.txt": "1 correction to intent", "color-log.html": "1 row of 1 clip in 1 set-up;"} {
		if !strings.Contains(files[name], want) {
			t.Errorf("%s has no %q", name, want)
		}
		for _, found := range several.FindAllString(files[name], -1) {
			t.Errorf("%s says %q", name, found)
		}
	}
}

type failing struct{ error }

func (f failing) Write([]byte) (int, error) { return 0, f.error }

// Linear footage takes slopes, log footage offsets; each brings a grey of B, on 4300 K in light of
// 5600 K, to a neutral one.
func TestEachEncodingTakesItsOwnForm(t *testing.T) {
	for _, c := range []struct{ transfer, primaries, file string }{
		{"linear", "acesAp1", "cdl/to-neutral-linear-aces-ap1.ccc"}, {"acesCct", "acesAp1", "cdl/to-neutral-acescct-aces-ap1.ccc"},
	} {
		s := stage.New(t)
		s.Set(s.BodyB, "recordingModes/main", fmt.Sprintf(`{"name":"main","white":"baked","encoding":%q,"primaries":%q}`, c.transfer, c.primaries))
		s.Minute(5)
		s.Shoot("5600", "4300")
		files := filesOf(t, s.Book())
		if files[c.file] == "" {
			t.Fatalf("%s: there is no %s: %s", c.transfer, c.file, files["CONTENTS.txt"])
		}
		all := read(t, files[c.file]).Corrections
		one := all[slices.IndexFunc(all, func(c correction) bool { return strings.Contains(strings.Join(c.About, "; "), "camera B") })]
		slope, offset := numbers(t, one.SOPNode.Slope), numbers(t, one.SOPNode.Offset)
		if isSlope, isOffset := slope != [3]float64{1, 1, 1}, offset != [3]float64{}; isSlope != (c.transfer == "linear") || isOffset == isSlope {
			t.Errorf("%s: got the slope %v and the offset %v", c.transfer, slope, offset)
		}
		e, _, err := cameras.NamedEncoding(c.transfer, c.primaries, 0)
		if err != nil {
			t.Fatal(err)
		}
		var grey [3]float64
		for _, about := range one.About {
			fmt.Sscanf(about, "worked out from a grey of the signals R %g G %g B %g", &grey[0], &grey[1], &grey[2])
		}
		before, after := stepsFromNeutral(t, e, grey), 0.0
		for i := range grey {
			grey[i] = grey[i]*slope[i] + offset[i]
		}
		if after = stepsFromNeutral(t, e, grey); before < 20 || after > 0.1 {
			t.Errorf("%s: the grey is %.1f steps from neutral, and %.2f after the correction", c.transfer, before, after)
		}
	}
}

func stepsFromNeutral(t *testing.T, e colorimetry.Encoding, signal [3]float64) float64 {
	t.Helper()
	xy, err := e.Chromaticity(signal)
	if err != nil {
		t.Fatal(err)
	}
	return xy.UVPrime().Distance(e.Primaries.White.UVPrime()) / colorimetry.StepUVPrime
}

// A log of which one stop is not known in codes has no correction that a CDL could hold, and there is
// no file without entries.
func TestWhatACollectionCannotHoldIsLeftOutWithItsReason(t *testing.T) {
	s := stage.New(t)
	s.Set(s.BodyB, "recordingModes/main", `{"name":"main","white":"baked","encoding":"log","primaries":"bt2020"}`)
	s.Minute(5)
	s.Shoot("5600", "4300")
	files := filesOf(t, s.Book())
	for name := range files {
		if strings.HasPrefix(name, "cdl/") {
			t.Errorf("got %s, want no collection", name)
		}
	}
	if contents := files["CONTENTS.txt"]; !strings.Contains(contents, "  one stop of its log is not known in codes\n") {
		t.Errorf("the contents do not say why:\n%s", contents)
	}
}

// With one id twice OpenColorIO refuses a file: clips of one name get another id each.
func TestIdsAreUnique(t *testing.T) {
	s := stage.New(t)
	s.Mode("linear", "baked")
	for range 3 {
		s.Minute(5)
		_, _, clip := s.Shoot("5600", "4300")
		s.Set(clip, "name", `{"text":"same <&> \"name\"","from":"readOff"}`)
	}
	seen := map[string]bool{}
	for name, text := range filesOf(t, s.Book()) {
		if !strings.HasPrefix(name, "cdl/to-intent") {
			continue
		}
		for _, c := range read(t, text).Corrections {
			if seen[c.ID] {
				t.Errorf("the id %q stands twice", c.ID)
			}
			seen[c.ID] = true
			if strings.Contains(c.ID, "name") && !strings.HasPrefix(c.ID, "day ") {
				t.Errorf("the id %q does not say whose it is", c.ID)
			}
		}
	}
	if len(seen) < 3 {
		t.Errorf("got the ids %v, want one for each of 3 clips", seen)
	}
}
