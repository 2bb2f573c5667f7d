package handover

import (
	"cmp"
	"encoding/xml"
	"fmt"
	"io"
	"strings"

	"evenwhite/logbook"
	"evenwhite/logbook/cameras"
	"evenwhite/logbook/colorlog"
	"evenwhite/logbook/kinds"
)

// ASC CDL collections: one for each target and encoding. A grading program that is handed a correction
// for one encoding in another ruins the picture, so none holds both.

// collection says which corrections stand together.
type collection struct {
	to       string // intent or neutral
	encoding string // transfer and primaries, in words
	body     string // whose primaries they are, where nobody published them
}

// file is a name for its file; that two do not have the same, the archive sees to.
func (c collection) file() string {
	return "cdl/to-" + c.to + "-" + slug(c.encoding+" "+c.body) + ".ccc"
}

func slug(text string) string {
	parts := strings.FieldsFunc(strings.ToLower(text), func(r rune) bool { return (r < 'a' || r > 'z') && (r < '0' || r > '9') })
	return strings.Join(parts, "-")
}

// An entry is one correction of a collection.
type entry struct {
	in            collection
	id            string
	slope, offset [3]float64
	about         []string // first the clip
}

// entryOf is a correction of a row as a CDL has it; why says why it has none.
func entryOf(row *colorlog.Row, c *cameras.Correction) (e entry, why string) {
	e = entry{in: collection{to: c.To, encoding: colorlog.EncodingWords(row.Correction.Encoding, "")}, slope: [3]float64{1, 1, 1}}
	if strings.HasSuffix(row.Correction.Encoding, "typed primaries") || strings.HasSuffix(row.Correction.Encoding, "camera") {
		e.in.body = row.Find.Body
	}
	switch c.Takes {
	case "slope":
		e.slope = [3]float64{c.Gain.R, c.Gain.G, c.Gain.B}
	case "offset":
		e.offset = [3]float64{c.Offset.R, c.Offset.G, c.Offset.B}
	case "codeRatio":
		e.slope = [3]float64{c.Ratio.R, c.Ratio.G, c.Ratio.B}
	case "kelvin":
		return e, "the white of its footage is free to change: enter the kelvin and tint that stand in the table"
	case "stops":
		return e, "one stop of its log is not known in codes"
	default:
		return e, cmp.Or(c.Problem, "there is no correction")
	}
	e.about = append(e.about, cmp.Or(row.Find.ClipName, "a clip without a name"), "a start for a colourist: to "+c.To+", "+c.InWords(),
		"rests on: "+row.Correction.Basis, "confidence: "+cmp.Or(row.Correction.Confidence, "not known"))
	if l := c.Level; l != nil {
		e.about = append(e.about, fmt.Sprintf("worked out from a grey of the signals R %g G %g B %g", l.R, l.G, l.B))
	}
	if c.LeftBelow != nil {
		e.about = append(e.about, fmt.Sprintf("exact at that level; two stops below it %g steps of 0.0011 u'v' are left", *c.LeftBelow))
	}
	if f := row.Find; f.Take != nil {
		e.about = append(e.about, "day "+f.DayNumber.String()+", "+strings.TrimSpace(f.Scene+" "+f.SetUp)+", take "+
			f.Take.Number.String()+f.Take.Suffix+", camera "+f.Camera)
	}
	for _, caveat := range row.Correction.Caveats {
		e.about = append(e.about, "note: "+caveat)
	}
	for _, late := range row.Off.AfterClosing {
		e.about = append(e.about, "after closing: "+late.Words())
	}
	for _, n := range row.Off.Notes {
		e.about = append(e.about, "written: "+n.Words())
	}
	return e, ""
}

// begin and end are what stands around the corrections of a file.
func (c collection) begin(w io.Writer, head colorlog.Head) error {
	_, err := io.WriteString(w, xml.Header+`<ColorCorrectionCollection xmlns="urn:ASC:CDL:v1.01">`+"\n"+
		described("  ", []string{
			"Corrections to " + c.to + " for footage in " + c.encoding + strings.TrimRight(" of "+c.body, " of") + " and no other, by " +
				head.Program,
			"Production: " + head.Production.Title + "; state " + head.State.Digest + " (" + head.State.Words + ")",
		}))
	return err
}

func (c collection) end(w io.Writer) error {
	_, err := io.WriteString(w, "</ColorCorrectionCollection>\n")
	return err
}

func (e *entry) write(w io.Writer) error {
	numbers := func(v [3]float64) string { return fmt.Sprintf("%g %g %g", v[0], v[1], v[2]) }
	_, err := io.WriteString(w, `  <ColorCorrection id="`+text(e.id)+"\">\n"+described("    ", e.about)+
		"    <SOPNode>\n      <Slope>"+numbers(e.slope)+"</Slope>\n      <Offset>"+numbers(e.offset)+"</Offset>\n"+
		"      <Power>1 1 1</Power>\n    </SOPNode>\n  </ColorCorrection>\n")
	return err
}

func described(indent string, lines []string) (out string) {
	for _, l := range lines {
		out += indent + "<Description>" + text(l) + "</Description>\n"
	}
	return out
}

// text is safe in XML; what it cannot hold becomes U+FFFD.
func text(s string) string {
	var out strings.Builder
	if err := xml.EscapeText(&out, []byte(s)); err != nil {
		return ""
	}
	return out.String()
}

// names hands out the ids of corrections: the clip's name where only one clip has it, else day, camera,
// card and name; one that came already gets a number. With one id twice a reader refuses the file.
type names struct {
	again map[string]bool // the names that several clips of the production have
	taken map[string]bool
}

func (l *Log) names() *names {
	n, once := &names{again: map[string]bool{}, taken: map[string]bool{}}, map[string]bool{}
	logbook.Sift(l.from, kinds.Clip, 5000, func(_ *logbook.Book, clip logbook.View) bool {
		name, _ := clip.Value("name").Member("text").Text()
		if once[name] {
			n.again[name] = true
		}
		once[name] = true
		return false
	})
	return n
}

func (n *names) of(row *colorlog.Row) string {
	f := row.Find
	id := f.ClipName
	if id == "" || n.again[id] {
		id = "day " + f.DayNumber.String() + "/" + f.Camera + "/" + f.Card + "/" + f.ClipName
	}
	for base, again := id, 2; n.taken[id]; again++ {
		id = fmt.Sprint(base, "/", again)
	}
	n.taken[id] = true
	return id
}
