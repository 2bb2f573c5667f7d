package demo

import (
	"archive/zip"
	"bytes"
	"compress/gzip"
	"encoding/json"
	"encoding/xml"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"evenwhite/colorimetry"
	"evenwhite/logbook/cameras"
	"evenwhite/logbook/colorlog"
	"evenwhite/logbook/handover"
	"evenwhite/logbook/needed"
)

// unpacked are the files of an archive.
func unpacked(t *testing.T, archive []byte) map[string][]byte {
	t.Helper()
	r, err := zip.NewReader(bytes.NewReader(archive), int64(len(archive)))
	if err != nil {
		t.Fatal(err)
	}
	files := map[string][]byte{}
	for _, f := range r.File {
		in, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		if files[f.Name], err = io.ReadAll(in); err != nil {
			t.Fatalf("%s: %v", f.Name, err)
		}
	}
	if len(files) != len(r.File) {
		t.Errorf("%d of %d files have a name of their own", len(files), len(r.File))
	}
	return files
}

// The archive holds each form byte for byte as it is handed out alone, and digests that another
// program finds right.
func TestTheArchiveHoldsAllForms(t *testing.T) {
	l := demoLog(t)
	archive := demoDocument(t, l, colorlog.Scope{}, "zip")
	if !bytes.Equal(archive, demoDocument(t, l, colorlog.Scope{}, "zip")) {
		t.Error("two archives of one state differ")
	}
	files := unpacked(t, archive)
	for _, f := range handover.Forms() {
		if f.Name == "zip" || f.Name == "json.gz" {
			continue
		}
		if !bytes.Equal(files[f.File], demoDocument(t, l, colorlog.Scope{}, f.Name)) {
			t.Errorf("%s is not what is handed out alone", f.File)
		}
	}
	packed, err := gzip.NewReader(bytes.NewReader(demoDocument(t, l, colorlog.Scope{}, "json.gz")))
	if err != nil {
		t.Fatal(err)
	}
	if text, err := io.ReadAll(packed); err != nil || !bytes.Equal(text, files["color-log.json"]) {
		t.Errorf("unpacked, the packed form is not the plain one (%v)", err)
	}
	folder := t.TempDir()
	for name, text := range files {
		path := filepath.Join(folder, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, text, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	check := exec.Command("sha256sum", "-c", "--strict", "SHA256SUMS")
	check.Dir = folder
	out, err := check.CombinedOutput()
	if err != nil || strings.Count(string(out), ": OK\n") != len(files)-1 {
		t.Errorf("sha256sum says of %d files: %v\n%s", len(files), err, out)
	}
	contents := string(files["CONTENTS.txt"])
	rows := demoRows(t, l)
	for _, want := range []string{fmt.Sprintf("%d rows of ", len(rows)), "the white of its footage is free to change",
		"cdl/to-intent-bt-1886-bt-709.ccc: "} {
		if !strings.Contains(contents, want) {
			t.Errorf("the contents do not say %q:\n%s", want, contents)
		}
	}
}

// A corrected is a correction in a collection, as its schema (ASC CDL 1.01) has it.
type corrected struct {
	ID      string   `xml:"id,attr"`
	About   []string `xml:"Description"`
	SOPNode struct{ Slope, Offset, Power string }
}

func readCollection(t *testing.T, name string, text []byte) (all []corrected) {
	t.Helper()
	var c struct {
		XMLName     xml.Name    `xml:"urn:ASC:CDL:v1.01 ColorCorrectionCollection"`
		Corrections []corrected `xml:"ColorCorrection"`
	}
	if err := xml.Unmarshal(text, &c); err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	ids := map[string]bool{}
	for _, one := range c.Corrections {
		var slope, offset, power [3]float64
		for _, p := range []struct {
			text string
			to   *[3]float64
		}{{one.SOPNode.Slope, &slope}, {one.SOPNode.Offset, &offset}, {one.SOPNode.Power, &power}} {
			if n, err := fmt.Sscan(p.text, &p.to[0], &p.to[1], &p.to[2]); n != 3 || err != nil {
				t.Errorf("%s: %s: %q is not three numbers", name, one.ID, p.text)
			}
		}
		if ids[one.ID] || one.ID == "" || min(slope[0], slope[1], slope[2]) < 0 || min(power[0], power[1], power[2]) <= 0 || len(one.About) < 4 {
			t.Errorf("%s: %+v: want an id of its own, slopes from 0, powers above 0, and what it rests on", name, one)
		}
		ids[one.ID] = true
	}
	if len(all) == 0 && len(c.Corrections) == 0 {
		t.Errorf("%s has no entries", name)
	}
	return c.Corrections
}

// What post would do with a collection, done by a program that post uses: the grey of each clip lands
// where the correction says.
func TestCollectionsAppliedByAnIndependentReader(t *testing.T) {
	const python, within = "/usr/bin/python3", 0.1 // steps
	if exec.Command(python, "-c", "import PyOpenColorIO").Run() != nil {
		needed.Missing(t, "the Debian package python3-pyopencolorio")
	}
	l := demoLog(t)
	files := unpacked(t, demoDocument(t, l, colorlog.Scope{}, "zip"))
	clips := map[string]colorlog.Row{}
	for _, r := range demoRows(t, l) {
		clips[r.Find.ClipName] = r
	}
	display, _, err := cameras.NamedEncoding("bt1886", "bt709", 0)
	if err != nil {
		t.Fatal(err)
	}
	checked := map[string]int{}
	for name, text := range files {
		if !strings.HasPrefix(name, "cdl/") {
			continue
		}
		path := filepath.Join(t.TempDir(), "one.ccc")
		if err := os.WriteFile(path, text, 0o600); err != nil {
			t.Fatal(err)
		}
		var lines strings.Builder
		var targets []colorimetry.XY
		for _, c := range readCollection(t, name, text) {
			row, ok := clips[c.About[0]]
			if !ok {
				t.Fatalf("%s: %s is of no clip", name, c.ID)
			}
			target, ok := targetOf(t, name, &row)
			if !ok {
				continue
			}
			level := row.Correction.ToIntent.Level
			fmt.Fprintf(&lines, "%s\t%.9f\t%.9f\t%.9f\n", c.ID, level.R, level.G, level.B)
			targets = append(targets, target)
		}
		cmd := exec.Command(python, "../../testdata/opencolorio/collection.py", path)
		cmd.Stdin = strings.NewReader(lines.String())
		out, err := cmd.Output()
		if err != nil {
			t.Fatalf("%s: OpenColorIO: %v", name, err)
		}
		for i, line := range strings.Split(strings.TrimSpace(string(out)), "\n") {
			var signal [3]float64
			if _, err := fmt.Sscan(line, &signal[0], &signal[1], &signal[2]); err != nil {
				t.Fatal(err)
			}
			xy, err := display.Chromaticity(signal)
			if err != nil {
				t.Fatal(err)
			}
			if off := xy.UVPrime().Distance(targets[i].UVPrime()) / colorimetry.StepUVPrime; off > within {
				t.Errorf("%s, correction %d: the grey lands %.2f steps from its target", name, i, off)
			}
			checked[name]++
		}
	}
	t.Log("checked: ", checked)
	if checked["cdl/to-intent-bt-1886-bt-709.ccc"] < 20 || checked["cdl/to-neutral-bt-1886-bt-709.ccc"] < 20 {
		t.Errorf("got %v corrections checked, want at least 20 of each target", checked)
	}
}

// targetOf is where the grey of a clip is to land; not known where it was lit otherwise than the clip.
func targetOf(t *testing.T, file string, row *colorlog.Row) (colorimetry.XY, bool) {
	t.Helper()
	if strings.HasPrefix(file, "cdl/to-neutral") {
		return colorimetry.D65, true
	}
	light := row.There.Reference
	if light == nil {
		light = row.Meant.Color
	}
	if light == nil || row.Meant.Aim == nil || row.Correction.Basis == "card in the clip" {
		return colorimetry.XY{}, false
	}
	// As JSON has them, a colour is its x and y alone.
	target, err := cameras.PictureXY(colorimetry.XY{X: light.X, Y: light.Y}, colorimetry.XY{X: row.Meant.Aim.X, Y: row.Meant.Aim.Y})
	if err != nil {
		t.Fatal(err)
	}
	return target, true
}

// The description of the columns is that of the table which lies beside it.
func TestTheArchiveDescribesItsTable(t *testing.T) {
	files := unpacked(t, demoDocument(t, demoLog(t), colorlog.Scope{}, "zip"))
	var said struct {
		URL         string
		TableSchema struct{ Columns []struct{ Titles string } }
	}
	if err := json.Unmarshal(files["color-log.csv-metadata.json"], &said); err != nil {
		t.Fatal(err)
	}
	header, _, _ := strings.Cut(string(files[said.URL]), "\r\n")
	if got := strings.Count(header, ",") + 1; got != len(said.TableSchema.Columns) {
		t.Errorf("%s has %d columns, %d are described", said.URL, got, len(said.TableSchema.Columns))
	}
}
