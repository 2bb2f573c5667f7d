package colorlog

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"errors"
	"io"
	"iter"
	"runtime"
	"strings"
	"testing"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/cameras"
	"evenwhite/logbook/figure"
)

func some(f float64) *float64 { return &f }

func idOf(last byte) (id logbook.ID) {
	id[0], id[15] = 1, last
	return id
}

func color(kelvin, duv float64, words string) *figure.Chromaticity {
	return &figure.Chromaticity{X: 0.3302, Y: 0.3390, CCTKelvin: &kelvin, Duv: &duv, Words: words}
}

func rgb(r, g, b float64) *figure.RGB { return &figure.RGB{R: r, G: g, B: b} }

var handMadeHead = Head{
	Schema: Schema, Program: "evenwhite test",
	Production: Production{ID: idOf(1), Title: "Night Ferry", TimeZone: "Etc/GMT-1"},
	State: State{Name: "00112233445566778899aabbccddeeff.00c0ffee00c0ffee_41", Digest: "00112233445566778899aabbccddeeff",
		Words: "one two three four five six", Edits: 41}, Signs: signs,
	HowRight: &cameras.HowRight{Words: "1 card, off by 1.2 steps", Untried: []cameras.Untried{{Why: "no light", Cards: 2}},
		Cameras: []cameras.CameraRight{{Body: idOf(10), Label: "1", Letters: []string{"A"}, Tried: 1, MedianSteps: 1.2, WorstSteps: 1.2,
			Worst: idOf(11), Words: "camera A (body 1): 1 card, off by 1.2 steps",
			ByBasis: []cameras.BasisRight{{Basis: "label", Tried: 1, MedianSteps: 1.2, WorstSteps: 1.2}},
			Cards:   []cameras.CardRight{{Sample: idOf(11), Steps: 1.2, Basis: "label", Words: "3 mired cooler"}}}}},
}

// handMadeRow has every member, so that the encoders and the schema meet them all.
func handMadeRow() Row {
	at := time.Date(2031, 3, 4, 19, 5, 0, 0, time.UTC)
	off := &figure.Difference{Mired: some(-80), Duv: some(0.0012), Steps: some(31.5), Words: "80 mired cooler, 0.0012 greener"}
	return Row{
		Find: Find{DayNumber: "2", Date: "2031-03-04", Unit: "main", Scene: "7", SetUp: "B", SetUpKind: "picture",
			Take: &Take{Number: "3", Suffix: "PU", Kind: "take", State: "complete", Series: true, Wanted: true, BeginsAt: "19:05:10:00",
				Record: idOf(4)},
			ClipKind: "take", Camera: "B", Body: "B-body", ClipName: "=1+1", NameFrom: "readOff", Part: "2", Card: "+B002",
			Timecode: Timecode{Start: "19:05:00:00", End: "19:07:00:00", Rate: "29.97", Drop: true}, StartedAt: at, Rolled: true,
			StartedLocal: "2031-03-04T20:05:00+01:00", Row: 1, Rows: 2, ClipRecord: idOf(3), SetUpRecord: idOf(2)},
		Set: Set{WhiteMode: "kelvin", Kelvin: "3900.0", Tint: "-2", AmberBlue: "1", Preset: "tungsten", CustomFrom: idOf(5),
			SettingsAre: "readOff", ReadOffAt: &at, Changes: []string{"19:06:00:00 4000 K"}, RecordingMode: "log", Encoding: "log",
			Primaries: "typed", Sensitivity: "800", SensorRate: "50", Shutter: "180°", Lens: "35 mm", Filters: "ND 0.6",
			WhiteInFile: "storedBeside", LabelWhite: color(3900, 0, "3900 K, Duv +0.0000"), Problem: "tint units unknown"},
		Meant: Meant{White: idOf(6), From: "nominal", Words: "nominal 5600 K", Since: "start",
			Color: color(5600, 0.0032, "5600 K, Duv +0.0032"), Method: "point of the daylight locus", Confidence: "nominal",
			Caveats: []string{"not measured"}, IntendedCast: figure.IntendedCast{Name: "cool night", Mired: -80, From: "white"},
			Aim: color(3867, 0.0032, "3867 K, Duv +0.0032"), DecidedBy: "cinematographer", JudgedOn: "eye", Problem: "none"},
		There: There{Reference: color(5550, 0.003, "5550 K, Duv +0.0030"), ReferenceFrom: "the reading of the reference light",
			Readings: []logbook.ID{idOf(7)}, AgeMinutes: some(12), IlluminanceLux: some(320), Sky: "night",
			Lights: []Light{{Name: "lamp at quay", Role: "practical", Intent: "leave", On: true, Color: &figure.Chromaticity{X: 0.2, Y: 0.1,
				Words: "coloured, no CCT"}, IlluminanceLux: some(9), AgeMinutes: some(3), Cast: off, Problem: "coloured", Record: idOf(8)}}},
		Correction: Correction{Basis: "card in the clip", SpreadMired: some(0.9), SpreadDuv: some(0.0002), Encoding: "log, typed",
			Confidence: "measured", Caveats: []string{"the offsets hold from about mid grey up, where the log curve is one of stops"},
			ToIntent: &cameras.Correction{To: "intent", Takes: "offset", Cast: off, Gain: rgb(1.2, 1, 0.8), Stops: rgb(0.26, 0, -0.32),
				Offset: rgb(0.0184, 0, -0.0225), CodeOffset: rgb(18.8, 0, -23), Ratio: rgb(1.1, 1, 0.9), Level: rgb(0.38, 0.4, 0.42),
				LeftBelow:       some(2.7),
				LiftsHighlights: true,
				Setting: &cameras.Dialled{WhiteMode: "kelvin", Kelvin: some(4300), Tint: some(2), AmberBlue: some(1), Preset: "day",
					Words: "4300 K, tint +2", White: color(4300, 0, "4300 K"), Residual: off, DeltaE00: some(0.4), Why: "by cards"}}},
		Gives: Gives{Measured: off, Cast: off, OffAim: off, OffReference: off, ReferenceCamera: "A", RestsOn: "label", ChartClip: "B002C001",
			ChartRecord: idOf(9), Problem: "none"},
		Off: Off{Worst: "B: 38 mired too cool, takes 1–3", Count: 2, Accepted: 1,
			Findings: []Finding{{Kind: "cameras-differ", Headline: "B: 38 mired too cool, takes 1–3", ToDo: "set B to 5600 K",
				Words: "camera B is 38 mired cooler than A", Count: 3,
				Value: &figure.Size{Mired: some(-38), Duv: some(0), Steps: some(17), Minutes: some(1)},
				Limit: &figure.Size{Mired: some(8)}, ComparedWith: "A", AcceptedBy: "DIT", Reason: "wanted"}},
			Conflicts: []Conflict{{On: "clip", Field: "kelvin", Values: []string{"3900 (DIT)", "4000 (B operator)"}}},
			Twins:     []string{"take 3, logged twice"}, Missing: []string{"no chart"},
			Notes: []Note{{By: "DIT", At: at, To: "post", Open: true, Text: "@post: \"see card\",\nplease", Record: idOf(9),
				Answers: []Answer{{By: "post", At: at, Text: "which?"}}}}},
		Limits: []figure.Limits{{Role: "camera", Mired: 8, DuvGreen: 0.002, DuvMagenta: 0.003, Steps: 4, From: "common practice, no source"}},
	}
}

func rowsOf(rows ...Row) iter.Seq2[Row, error] {
	return func(yield func(Row, error) bool) {
		for _, r := range rows {
			if !yield(r, nil) {
				return
			}
		}
	}
}

func TestJSONMeetsItsSchema(t *testing.T) {
	bare := Row{Find: Find{ClipKind: "take", StartedAt: time.Unix(0, 0).UTC(), ClipRecord: idOf(3), Row: 1, Rows: 1},
		Set:   Set{SettingsAre: "carriedOver"},
		Meant: Meant{IntendedCast: figure.IntendedCast{From: "none"}}, There: There{Lights: []Light{}}, Limits: []figure.Limits{}}
	for name, rows := range map[string][]Row{"no rows": nil, "a full row and a bare one": {handMadeRow(), bare}} {
		t.Run(name, func(t *testing.T) {
			var out bytes.Buffer
			if err := WriteJSON(&out, handMadeHead, rowsOf(rows...)); err != nil {
				t.Fatal(err)
			}
			mustMeetSchema(t, out.Bytes())
			var doc struct {
				Rows  []json.RawMessage
				Count int
			}
			if err := json.Unmarshal(out.Bytes(), &doc); err != nil {
				t.Fatal(err)
			}
			if len(doc.Rows) != len(rows) || doc.Count != len(rows) {
				t.Errorf("got %d rows, count %d; want %d", len(doc.Rows), doc.Count, len(rows))
			}
		})
	}
}

func TestJSONKeepsTypedNumbersAsTyped(t *testing.T) {
	var out bytes.Buffer
	if err := WriteJSON(&out, handMadeHead, rowsOf(handMadeRow())); err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(out.String(), `"kelvin":3900.0,`) {
		t.Errorf("got a document without the kelvin as typed, 3900.0:\n%s", out.String())
	}
}

func TestCSVReadsBackAsAHeaderAndARowOfEqualWidth(t *testing.T) {
	var out bytes.Buffer
	if err := WriteCSV(&out, handMadeHead, rowsOf(handMadeRow())); err != nil {
		t.Fatal(err)
	}
	if got, want := strings.Count(out.String(), "\r\n"), 2; got != want {
		t.Errorf("got %d line ends of RFC 4180; want %d", got, want)
	}
	table, err := csv.NewReader(&out).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if len(table) != 2 || table[0][0] != "clip name" {
		t.Fatalf("got %d lines that begin with %q; want a header and a row, clip name first", len(table), table[0][0])
	}
	cells := map[string]string{}
	for i, name := range table[0] {
		if _, twice := cells[name]; twice {
			t.Errorf("the column %q stands twice", name)
		}
		cells[name] = table[1][i]
	}
	for name, want := range map[string]string{
		"take": "3PU", "kelvin set (K)": "3900.0", "intended cast (mired)": "-80", "tint set (units of the body)": "-2",
		"clip name": "'=1+1", "card": "'+B002", "aim CCT (K)": "3867", "predicted cast (mired)": "-80", "wanted": "yes",
		"timecode rate (frames/s)": "29.97 drop", "conflicts": "clip kelvin: 3900 (DIT) or 4000 (B operator)",
		"lights":          "lamp at quay (practical) coloured, no CCT, 80 mired cooler, 0.0012 greener",
		"worst deviation": "B: 38 mired too cool, takes 1-3",
		"notes":           "DIT to post (open): @post: \"see card\",\nplease; answered by post: which?", "open notes": "1", "shutter": "180°",
		"row": "1", "rows": "2", "started (local)": "2031-03-04T20:05:00+01:00", "white in the file": "stored beside",
		"correction rests on": "card in the clip", "correction takes": "offset", "offset R": "0.0184", "offset in codes B": "-23", "slope R": "",
		"correction spread (mired)": "0.9", "encoding": "log, typed primaries", "settings are": "read off", "production": "Night Ferry",
		"state": "00112233445566778899aabbccddeeff", "state name": "00112233445566778899aabbccddeeff.00c0ffee00c0ffee_41",
		"program": "evenwhite test",
	} {
		if got, ok := cells[name]; !ok || got != want {
			t.Errorf("column %q: got %q, want %q", name, got, want)
		}
	}
}

func TestCellsThatPeopleTypedCannotBeFormulas(t *testing.T) {
	for typed, want := range map[string]string{
		"=1": "'=1", "+1": "'+1", "-1": "'-1", "@a": "'@a", "\t=1": "'\t=1", " =1": "' =1", "\r\n@": "'\r\n@",
		"a=1": "a=1", "": "", "'x": "'x", "Ω-": "Ω-",
		"＝1": "'＝1", "＋1": "'＋1", "－1": "'－1", "＠a": "'＠a", "﹦1": "'﹦1", "﹢1": "'﹢1", "﹣1": "'﹣1", "﹫a": "'﹫a",
		"\u00a0=1": "'\u00a0=1", "\u200b=1": "'\u200b=1", "\ufeff=1": "'\ufeff=1", "\u202e=1": "'\u202e=1", "\u2060＝1": "'\u2060＝1",
		"\u00ad+1": "'\u00ad+1", "\u3000-1": "'\u3000-1", "\ufe0f@a": "'\ufe0f@a", "\u3164=1": "'\u3164=1", "\u2800=1": "'\u2800=1",
		"\x00=1": "'\x00=1", "\xff=1": "'\xff=1", "\U000e0020=1": "'\U000e0020=1", "\u034f=1": "'\u034f=1", "\u0085=1": "'\u0085=1",
		"\u200b": "\u200b", "\u00a012A": "\u00a012A", "é=1": "é=1", "−1": "−1",
	} {
		if got := harmless(typed); got != want {
			t.Errorf("harmless(%q): got %q, want %q", typed, got, want)
		}
	}
}

func TestAFaultWhileAssemblingEndsTheDocument(t *testing.T) {
	fault := errors.New("fault")
	rows := func(yield func(Row, error) bool) { _ = yield(handMadeRow(), nil) && yield(Row{}, fault) }
	var out bytes.Buffer
	if err := WriteJSON(&out, handMadeHead, rows); !errors.Is(err, fault) {
		t.Errorf("JSON: got error %v, want %v", err, fault)
	}
	if strings.Contains(out.String(), `"count"`) {
		t.Error("a document that was cut off has a count")
	}
	if err := WriteCSV(&out, handMadeHead, rows); !errors.Is(err, fault) {
		t.Errorf("CSV: got error %v, want %v", err, fault)
	}
}

func TestBothFormsAtOnceAreTheTwoFormsFromRowsThatAreMadeOnce(t *testing.T) {
	made := 0
	rows := func(yield func(Row, error) bool) {
		for range 3 {
			if made++; !yield(handMadeRow(), nil) {
				return
			}
		}
	}
	var csv, json, bothCSV, bothJSON bytes.Buffer
	if err := WriteBoth(&bothCSV, &bothJSON, handMadeHead, rows); err != nil {
		t.Fatal(err)
	}
	if made != 3 {
		t.Errorf("%d rows were made, want each of 3 once", made)
	}
	if err := errors.Join(WriteCSV(&csv, handMadeHead, rows), WriteJSON(&json, handMadeHead, rows)); err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(bothCSV.Bytes(), csv.Bytes()) || !bytes.Equal(bothJSON.Bytes(), json.Bytes()) {
		t.Errorf("got\n%s\n%s\nwant\n%s\n%s", &bothCSV, &bothJSON, &csv, &json)
	}
	fault := errors.New("fault")
	full := writing(func([]byte) (int, error) { return 0, fault })
	for name, to := range map[string][2]io.Writer{"the table": {full, io.Discard}, "the document": {io.Discard, full}} {
		if err := WriteBoth(to[0], to[1], handMadeHead, rows); !errors.Is(err, fault) {
			t.Errorf("%s cannot be written: got %v, want %v", name, err, fault)
		}
	}
}

type writing func([]byte) (int, error)

func (w writing) Write(p []byte) (int, error) { return w(p) }

// counter measures the heap while it is written to.
type counter struct{ bytes, most uint64 }

func (c *counter) Write(p []byte) (int, error) {
	before := c.bytes >> 20
	if c.bytes += uint64(len(p)); c.bytes>>20 != before {
		var m runtime.MemStats
		runtime.GC()
		runtime.ReadMemStats(&m)
		c.most = max(c.most, m.HeapAlloc)
	}
	return len(p), nil
}

func TestMemoryDoesNotGrowWithTheRows(t *testing.T) {
	many := func(yield func(Row, error) bool) {
		for range 5000 {
			if !yield(handMadeRow(), nil) {
				return
			}
		}
	}
	var start runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&start)
	var c counter
	if err := WriteJSON(&c, handMadeHead, many); err != nil {
		t.Fatal(err)
	}
	if grown := int64(c.most) - int64(start.HeapAlloc); c.bytes < 10<<20 || grown > 3<<20 {
		t.Errorf("wrote %d bytes while the heap grew by %d; want at least 10 MiB written and at most 3 MiB held", c.bytes, grown)
	}
}
