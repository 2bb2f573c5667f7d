package colorlog

import (
	"bytes"
	"encoding/csv"
	"strings"
	"testing"
	"time"
	"unicode"

	"evenwhite/logbook/figure"
)

// bareRow is of a clip of which next to nothing is known.
func bareRow() Row {
	return Row{Find: Find{ClipKind: "take", StartedAt: time.Unix(0, 0).UTC(), ClipRecord: idOf(3), Row: 1, Rows: 1},
		Set: Set{SettingsAre: "notReadOff"}, Meant: Meant{IntendedCast: figure.IntendedCast{From: "none"}, Problem: "no white was chosen"},
		Gives: Gives{Problem: "the reference light is not known"}, Correction: Correction{Problem: "the light is not known"}}
}

// An empty cell has its reason beside it, or its column says when it is empty.
func TestEveryEmptyCellHasAReason(t *testing.T) {
	mustTellWhyEmpty(t, bareRow(), handMadeRow())
}

func mustTellWhyEmpty(t *testing.T, rows ...Row) {
	t.Helper()
	for _, row := range rows {
		l := &line{Row: &row, head: &handMadeHead}
		for _, g := range groups {
			reasons := g.reasons(l)
			for _, c := range g.columns {
				switch {
				case c.cell(l) != "":
				case c.empty == nil && !strings.Contains(c.About, "only") && !strings.Contains(c.About, "empty: "):
					t.Errorf("clip %q: %q is empty, and neither a reason nor its description says why", row.Find.ClipName, c.Name)
				case c.empty != nil && (c.empty(l) == "" || !strings.Contains(reasons, c.Name) || !strings.Contains(reasons, c.empty(l))):
					t.Errorf("clip %q: %q is empty because %q; the cell of reasons says %q", row.Find.ClipName, c.Name, c.empty(l), reasons)
				}
			}
		}
	}
}

func TestHeadersAndDescriptionsAreWholeAndPlain(t *testing.T) {
	seen := map[string]bool{}
	for _, c := range columns {
		if seen[c.Name] || c.About == "" || strings.ContainsFunc(c.Name+c.About, func(r rune) bool { return r > unicode.MaxASCII }) {
			t.Errorf("column %q, %q: want a name of its own and a description, in ASCII", c.Name, c.About)
		}
		seen[c.Name] = true
	}
	want := []string{"clip name", "day", "scene", "set-up", "take", "camera", "card", "timecode start", "kelvin set (K)", "worst deviation",
		"correction to intent", "white"}
	at := 0
	for _, c := range columns {
		if at < len(want) && c.Name == want[at] {
			at++
		}
	}
	if at < len(want) {
		t.Errorf("the columns do not come in the order %v: %q is late", want, want[at])
	}
}

// A program that takes UTF-8 for another encoding must not show strange letters where nobody typed
// any.
func TestWhatNobodyTypedIsASCII(t *testing.T) {
	row := handMadeRow()
	row.Set.Shutter = "180"
	row.Off.Worst, row.Off.Missing = "B: −38 mired, takes 1–3 ±2 …", []string{"Δ ≥ 3°"}
	var out bytes.Buffer
	if err := WriteCSV(&out, handMadeHead, rowsOf(row)); err != nil {
		t.Fatal(err)
	}
	for i, b := range out.Bytes() {
		if b > unicode.MaxASCII {
			t.Fatalf("got the byte %x in %q", b, out.String()[max(0, i-30):min(out.Len(), i+10)])
		}
	}
}

// What people typed comes back as it was, whatever it holds.
func TestTypedWordsSurviveTheCSV(t *testing.T) {
	for _, name := range []string{
		"a,b", `say "A"`, "one\rtwo", "one\ntwo", "one\r\ntwo", "\u202eabc", "\U0001f3ac", "fen\u00eatre \u2013 nord", " padded ", "007", "12E3", "3/4",
	} {
		row := handMadeRow()
		row.Find.ClipName = name
		var out bytes.Buffer
		if err := WriteCSV(&out, handMadeHead, rowsOf(row)); err != nil {
			t.Fatal(err)
		}
		text := out.String()
		row2 := strings.SplitN(text, "\r\n", 2)[1]
		first := strings.ReplaceAll(name, `"`, `""`)
		if !strings.HasPrefix(row2, first+",") && !strings.HasPrefix(row2, `"`+first+`",`) {
			t.Errorf("%q: got a row that begins with %q", name, row2[:40])
		}
		table, err := csv.NewReader(strings.NewReader(text)).ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		if got := table[1][0]; got != strings.ReplaceAll(name, "\r\n", "\n") { // as this reader turns them
			t.Errorf("%q: read back as %q", name, got)
		}
	}
}

func TestSpokenWords(t *testing.T) {
	for code, want := range map[string]string{"customFromCard": "custom from card", "": "", "baked": "baked",
		"numberUsedAgain": "number used again"} {
		if got := Spoken(code); got != want {
			t.Errorf("%q: got %q, want %q", code, got, want)
		}
	}
	if got := wordsOfEncoding("bt1886, bt709"); got != "BT.1886, BT.709" {
		t.Errorf("got %q", got)
	}
}
