package demo

import (
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/cameras"
	"evenwhite/logbook/colorlog"
	"evenwhite/logbook/needed"
	"evenwhite/logbook/stage"
)

// An element of XML as it stands.
type element struct {
	XMLName  xml.Name
	Attrs    []xml.Attr `xml:",any,attr"`
	Text     string     `xml:",chardata"`
	Children []element  `xml:",any"`
}

// cdlFaults says what of a text is no color correction collection: ASC Color Decision List, version 1.01, the part
// that is one of corrections (written from what the standard says, from memory; its schema is not at hand).
// Descriptions come first, then corrections, at least one. Each has an id of its own, descriptions, then the
// numbers: slope from 0, offset, power above 0, three of each, in this order.
func cdlFaults(text string) (faults []string) {
	const space = "urn:ASC:CDL:v1.01"
	add := func(format string, with ...any) { faults = append(faults, fmt.Sprintf(format, with...)) }
	var root element
	read := xml.NewDecoder(strings.NewReader(text))
	if err := read.Decode(&root); err != nil {
		return []string{err.Error()}
	}
	if _, err := read.Token(); !errors.Is(err, io.EOF) && !trailingSpace(text) {
		add("something follows the collection")
	}
	var within func(e *element)
	within = func(e *element) {
		if e.XMLName.Space != space {
			add("%s is of the name space %q", e.XMLName.Local, e.XMLName.Space)
		}
		if len(e.Children) > 0 && strings.TrimSpace(e.Text) != "" {
			add("%s holds text beside elements", e.XMLName.Local)
		}
		for i := range e.Children {
			within(&e.Children[i])
		}
	}
	within(&root)
	if root.XMLName.Local != "ColorCorrectionCollection" {
		add("the root is %s", root.XMLName.Local)
	}
	rest := afterDescriptions(root.Children)
	if len(rest) == 0 {
		add("there is no correction")
	}
	ids := map[string]bool{}
	for _, c := range rest {
		faults = append(faults, correctionFaults(&c, ids)...)
	}
	return faults
}

func trailingSpace(text string) bool {
	return strings.HasSuffix(strings.TrimSpace(text), "</ColorCorrectionCollection>")
}

func afterDescriptions(all []element) []element {
	for len(all) > 0 && slices.Contains([]string{"Description", "InputDescription", "ViewingDescription"}, all[0].XMLName.Local) {
		all = all[1:]
	}
	return all
}

func correctionFaults(c *element, ids map[string]bool) (faults []string) {
	add := func(format string, with ...any) { faults = append(faults, fmt.Sprintf(format, with...)) }
	if c.XMLName.Local != "ColorCorrection" {
		return []string{c.XMLName.Local + " stands among the corrections"}
	}
	if len(c.Attrs) != 1 || c.Attrs[0].Name.Local != "id" || c.Attrs[0].Name.Space != "" {
		add("a correction has the attributes %v, want an id", c.Attrs)
		return faults
	}
	id := c.Attrs[0].Value
	if id == "" || ids[id] {
		add("the id %q is empty or stands twice", id)
	}
	ids[id] = true
	nodes := afterDescriptions(c.Children)
	if len(nodes) != 1 || nodes[0].XMLName.Local != "SOPNode" {
		add("%s: want one SOPNode after the descriptions", id)
		return faults
	}
	numbers := afterDescriptions(nodes[0].Children)
	for i, name := range []string{"Slope", "Offset", "Power"} {
		if i >= len(numbers) || numbers[i].XMLName.Local != name {
			add("%s: want Slope, Offset, Power in this order", id)
			return faults
		}
		three := strings.Fields(numbers[i].Text)
		for _, text := range three {
			f, err := strconv.ParseFloat(text, 64)
			if err != nil || math.IsInf(f, 0) || math.IsNaN(f) || name == "Slope" && f < 0 || name == "Power" && f <= 0 {
				add("%s: %s is %q", id, name, text)
			}
		}
		if len(three) != 3 {
			add("%s: %s has %d numbers", id, name, len(three))
		}
	}
	if len(numbers) != 3 {
		add("%s: the SOPNode holds more", id)
	}
	return faults
}

func TestTheCheckerOfCollectionsFindsFaults(t *testing.T) {
	const good = `<?xml version="1.0" encoding="UTF-8"?>
<ColorCorrectionCollection xmlns="urn:ASC:CDL:v1.01"><Description>all</Description>
<ColorCorrection id="a"><Description>one</Description><SOPNode><Slope>1 1 1</Slope><Offset>0 -0.1 0</Offset><Power>1 1 1</Power></SOPNode></ColorCorrection>
</ColorCorrectionCollection>
`
	if faults := cdlFaults(good); len(faults) > 0 {
		t.Errorf("a good one has %q", faults)
	}
	for _, change := range [][2]string{
		{`id="a"`, ``}, {`id="a"`, `id=""`}, {`id="a"`, `id="a" by="me"`}, {"v1.01", "v1.2"},
		{"<Slope>1", "<Slope>-1"}, {"<Slope>1 1 1", "<Slope>1 1"}, {"<Power>1", "<Power>0"}, {"0 -0.1 0", "0 NaN 0"},
		{"<Offset>0 -0.1 0</Offset>", ""},
		{"<Slope>1 1 1</Slope><Offset>0 -0.1 0</Offset>", "<Offset>0 0 0</Offset><Slope>1 1 1</Slope>"},
		{"<Description>all</Description>", "white"}, {"</SOPNode>", "<Sat>1</Sat></SOPNode>"}, {"ColorCorrection ", "Correction "},
		{"</ColorCorrectionCollection>\n", `<ColorCorrection id="a"/></ColorCorrectionCollection>`}, {"</ColorCorrectionCollection>\n", ""},
	} {
		if bad := strings.Replace(good, change[0], change[1], 1); bad == good || len(cdlFaults(bad)) == 0 {
			t.Errorf("%q in the place of %q is no fault", change[1], change[0])
		}
	}
}

// Every collection that comes out of the demo, of names that are hard to read, and of cameras of each encoding is
// one by the standard.
func TestCollectionsAreOfTheStandard(t *testing.T) {
	hostile, _ := hostileBook(t)
	seen := 0
	for about, archive := range map[string][]byte{
		"the demo": demoDocument(t, demoLog(t), colorlog.Scope{}, "zip"), "hard names": hostileDocument(t, hostile, colorlog.Scope{}, "zip"),
		"encodings": hostileDocument(t, encodingsBook(t), colorlog.Scope{}, "zip"),
	} {
		for name, text := range unpacked(t, archive) {
			if !strings.HasSuffix(name, ".ccc") {
				continue
			}
			seen++
			if faults := cdlFaults(string(text)); len(faults) > 0 {
				t.Errorf("%s, %s: %q", about, name, faults)
			}
		}
	}
	if seen < 10 {
		t.Errorf("%d collections were looked at, want 10 at least", seen)
	}
}

// stopOfLog is what a stop is in the codes of the invented log of encodingsBook, whose curve nobody published: mid
// grey at 400 of 1023.
const stopOfLog = 80

// encodingsBook is a production with a camera for each encoding: scene-linear, ACEScct, and a log of which only a
// stop is known; B is off in each, with a card for the log.
func encodingsBook(t *testing.T) *logbook.Book {
	s := stage.New(t)
	shoot := func(minute int, mode string) logbook.ID {
		s.Minute(minute)
		_, _, clip := s.Shoot("5600", "4300")
		s.Set(clip, "name", fmt.Sprintf(`{"text":"B %s","from":"readOff"}`, mode), "recordingMode", `"`+mode+`"`)
		return clip
	}
	s.Set(s.BodyB, "recordingModes/linear", `{"name":"linear","white":"baked","encoding":"linear","primaries":"acesAp0"}`,
		"recordingModes/cct", `{"name":"cct","white":"baked","encoding":"acesCct","primaries":"acesAp1"}`,
		"recordingModes/log", fmt.Sprintf(
			`{"name":"log","white":"baked","encoding":"log","primaries":"bt2020","bits":10,"range":"full","stopCodes":%d}`, stopOfLog))
	shoot(10, "linear")
	shoot(20, "cct")
	clip := shoot(30, "log")
	codes := logCodes(t)
	s.Card(s.B, 4300, stage.Day5600, 0, 0, s.Reading, "clip", stage.Ref(clip), "recordingMode", `"log"`, "rgb", fmt.Sprintf(
		`{"as":"codeValues","r":%.1f,"g":%.1f,"b":%.1f,"bits":10,"range":"full","encoding":"log","primaries":"bt2020"}`, codes[0], codes[1], codes[2]))
	return s.Book()
}

// logCodes are the codes of a grey in 5600 K by a camera on 4300 K in that log.
func logCodes(t *testing.T) (codes [3]float64) {
	for i, v := range linearOf(t, colorimetry.Encoding{Transfer: colorimetry.TransferLinear, Primaries: colorimetry.BT2020}, 4300) {
		codes[i] = 400 + stopOfLog*math.Log2(v/0.18)
	}
	return codes
}

// linearOf is the linear R G B of a grey of 18 % in 5600 K by a camera on a kelvin.
func linearOf(t *testing.T, e colorimetry.Encoding, kelvin float64) (rgb [3]float64) {
	t.Helper()
	light, err := stage.Day5600.XY()
	if err != nil {
		t.Fatal(err)
	}
	white, err := colorimetry.CCTDuv{CCT: colorimetry.Kelvin(kelvin)}.XY()
	if err != nil {
		t.Fatal(err)
	}
	picture, err := cameras.PictureXY(light, white)
	if err != nil {
		t.Fatal(err)
	}
	c, err := e.Correct([3]float64{0.18, 0.18, 0.18}, picture)
	if err != nil {
		t.Fatal(err)
	}
	for i := range rgb {
		rgb[i] = 0.18 * c.Gain[i]
	}
	return rgb
}

// OpenColorIO applies each correction to neutral of a linear, an ACEScct and a log camera: the grey, whose signals
// are worked out here from light and white, lands within 0.1 steps of neutral.
func TestAnotherProgramCorrectsEachEncoding(t *testing.T) {
	const python = "/usr/bin/python3"
	if exec.Command(python, "-c", "import PyOpenColorIO").Run() != nil {
		needed.Missing(t, "the Debian package python3-pyopencolorio")
	}
	files := unpacked(t, hostileDocument(t, encodingsBook(t), colorlog.Scope{}, "zip"))
	linear := colorimetry.Encoding{Transfer: colorimetry.TransferLinear, Primaries: colorimetry.ACES0}
	cct := colorimetry.Encoding{Transfer: colorimetry.TransferACEScct, Primaries: colorimetry.ACES1}
	codes := logCodes(t)
	inLog := [3]float64{math.Round(codes[0]*10) / 10230, math.Round(codes[1]*10) / 10230, math.Round(codes[2]*10) / 10230}
	var inCct [3]float64
	for i, v := range linearOf(t, cct, 4300) {
		var err error
		if inCct[i], err = cct.Encode(v); err != nil {
			t.Fatal(err)
		}
	}
	for _, c := range []struct {
		file, id string
		signal   [3]float64
		light    func(float64) float64 // of a signal
		e        colorimetry.Encoding
	}{
		{"linear-aces-ap0", "B linear", linearOf(t, linear, 4300), func(v float64) float64 { return v }, linear},
		{"acescct-aces-ap1", "B cct", inCct, func(v float64) float64 { l, _ := cct.Decode(v); return l }, cct},
		{"log-bt-2020", "B log", inLog, func(v float64) float64 { return 0.18 * math.Exp2((v*1023-400)/stopOfLog) },
			colorimetry.Encoding{Transfer: colorimetry.TransferLinear, Primaries: colorimetry.BT2020}},
	} {
		text, ok := files["cdl/to-neutral-"+c.file+".ccc"]
		if !ok {
			t.Errorf("there is no collection for %s: %s", c.file, files["CONTENTS.txt"])
			continue
		}
		path := filepath.Join(t.TempDir(), "one.ccc")
		if err := os.WriteFile(path, text, 0o600); err != nil {
			t.Fatal(err)
		}
		cmd := exec.Command(python, "../../testdata/opencolorio/collection.py", path)
		cmd.Stdin = strings.NewReader(fmt.Sprintf("%s\t%.9f\t%.9f\t%.9f\n", c.id, c.signal[0], c.signal[1], c.signal[2]))
		out, err := cmd.Output()
		if err != nil {
			t.Fatalf("%s: OpenColorIO: %v", c.file, err)
		}
		var after [3]float64
		if _, err := fmt.Sscan(string(out), &after[0], &after[1], &after[2]); err != nil {
			t.Fatal(err)
		}
		off := func(signal [3]float64) float64 {
			for i := range signal {
				signal[i] = c.light(signal[i])
			}
			xy, err := colorimetry.Encoding{Transfer: colorimetry.TransferLinear, Primaries: c.e.Primaries}.Chromaticity(signal)
			if err != nil {
				t.Fatal(err)
			}
			return xy.UVPrime().Distance(c.e.Primaries.White.UVPrime()) / colorimetry.StepUVPrime
		}
		if before, now := off(c.signal), off(after); before < 20 || now > 0.1 {
			t.Errorf("%s: the grey is %.1f steps from neutral, and %.2f after the correction", c.file, before, now)
		}
	}
}
