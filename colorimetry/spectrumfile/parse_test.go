package spectrumfile

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"os"
	"runtime"
	"strings"
	"testing"

	"evenwhite/colorimetry"
	"evenwhite/logbook/needed"
)

// writers give a spectrum in every form that is read.
var writers = map[string]struct {
	format Format
	write  func(nm, values []float64) string
}{
	"TM-27": {TM27, func(nm, values []float64) string {
		var b strings.Builder
		b.WriteString("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<IESTM2714 xmlns=\"http://www.ies.org/iestm2714\" version=\"1.0\">\n" +
			"<Header><Description>a made-up lamp, 5 &lt; 6</Description><Comments></Comments></Header>\n" +
			"<SpectralDistribution><SpectralQuantity>relative</SpectralQuantity><BandwidthFWHM>5</BandwidthFWHM>\n")
		for i := range nm {
			fmt.Fprintf(&b, "<SpectralData wavelength=\"%v\">%v</SpectralData>\n", nm[i], values[i])
		}
		return b.String() + "</SpectralDistribution>\n</IESTM2714>\n"
	}},
	"CGATS, a field a band": {CGATS, func(nm, values []float64) string {
		var fields, data strings.Builder
		for i := range nm {
			fmt.Fprintf(&fields, "SPECTRAL_NM%v ", nm[i])
			fmt.Fprintf(&data, "%v ", values[i])
		}
		return fmt.Sprintf("CGATS.17\nORIGINATOR \"a BEGIN_DATA test\"\n# a comment\nNUMBER_OF_FIELDS %d\n"+
			"BEGIN_DATA_FORMAT\nSAMPLE_ID %s\nEND_DATA_FORMAT\nNUMBER_OF_SETS 1\nBEGIN_DATA\n1 %s\nEND_DATA\n", len(nm)+1, &fields, &data)
	}},
	"CGATS, a set a wavelength": {CGATS, func(nm, values []float64) string {
		var data strings.Builder
		for i := range nm {
			fmt.Fprintf(&data, "%d\t%v\t%v\r\n", i+1, nm[i], values[i])
		}
		return fmt.Sprintf("ISO28178\r\nBEGIN_DATA_FORMAT\r\nSAMPLE_ID\tSPECTRAL_NM\tSPECTRAL_DEC\r\nEND_DATA_FORMAT\r\n"+
			"NUMBER_OF_SETS %d\r\nBEGIN_DATA\r\n%sEND_DATA\r\n", len(nm), &data)
	}},
	"CSV with a head":       {CSV, columns("wavelength (nm),W/m2/nm\n", ",", false)},
	"CSV without a head":    {CSV, columns("", ",", false)},
	"CSV with blanks":       {CSV, columns("# made up\n", "  ", false)},
	"CSV with tabs":         {CSV, columns("a lamp\r\nnm\tpower\r\n", "\t", false)},
	"CSV by semicolons":     {CSV, columns("Wellenlänge [nm];Wert\n", ";", true)},
	"CSV with a byte order": {CSV, columns("\xef\xbb\xbf", ",", false)},
	"JSON, an object": {JSON, func(nm, values []float64) string {
		return fmt.Sprintf(`{"name": "made up", "unit": "nm", "wavelengths": %s, "values": %s}`, jsonArray(nm), jsonArray(values))
	}},
	"JSON, pairs": {JSON, func(nm, values []float64) string {
		var pairs []string
		for i := range nm {
			pairs = append(pairs, fmt.Sprintf("[%v, %v]", nm[i], values[i]))
		}
		return "[" + strings.Join(pairs, ",") + "]"
	}},
}

func jsonArray(v []float64) string { return strings.ReplaceAll(fmt.Sprint(v), " ", ", ") }

func columns(head, separator string, decimalComma bool) func(nm, values []float64) string {
	return func(nm, values []float64) string {
		var b strings.Builder
		b.WriteString(head)
		for i := range nm {
			line := fmt.Sprintf("%v%s%v\n", nm[i], separator, values[i])
			if decimalComma {
				line = strings.ReplaceAll(line, ".", ",")
			}
			b.WriteString(line)
		}
		return b.String()
	}
}

func TestASpectrumComesBackFromEveryForm(t *testing.T) {
	daylight, err := colorimetry.DaylightSpectrum(6504)
	if err != nil {
		t.Fatal(err)
	}
	uneven, err := colorimetry.NewSpectrum([]float64{
		372.5, 380, 381, 400, 420, 440, 457.25, 470, 490, 510, 530, 550,
		570, 590, 610, 630, 650, 670, 690, 710, 730, 750, 765.5, 785},
		[]float64{0, 0.5, 1, 2, 3, 4, 5e-3, 6, 7, 8, 9, 10, 9, 8, 7, 6, 5, 4, 3, 2, 1, 1, 1, 0})
	if err != nil {
		t.Fatal(err)
	}
	nm, values := make([]float64, colorimetry.MaxWavelengths), make([]float64, colorimetry.MaxWavelengths)
	for i := range nm {
		nm[i], values[i] = float64(200+i), 1000+float64(i)
	}
	longest, err := colorimetry.NewSpectrum(nm, values)
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range []colorimetry.Spectrum{daylight, uneven, longest} {
		for name, w := range writers {
			t.Run(name, func(t *testing.T) {
				got, format, err := Parse([]byte(w.write(s.Wavelengths(), s.Values())))
				if err != nil {
					t.Fatal(err)
				}
				if format != w.format || fmt.Sprint(got) != fmt.Sprint(s) {
					t.Errorf("got %v as %s, want %v as %s", got, format, s, w.format)
				}
			})
		}
	}
}

// The argyll package brings measured lights in a form of CGATS.
func TestSpectraOfAnotherProgramAreRead(t *testing.T) {
	const path = "/usr/share/color/argyll/ref/F5.sp"
	data, err := os.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) {
		needed.Missing(t, "the file F5.sp of the Debian package argyll")
	}
	if err != nil {
		t.Fatal(err)
	}
	s, _, err := Parse(data)
	if err != nil {
		t.Fatal(err)
	}
	xy, err := s.XY()
	if err != nil {
		t.Fatal(err)
	}
	// F5 as in cie15-illuminants.json.
	if !(math.Abs(xy.X-0.3138) <= 0.00005) || !(math.Abs(xy.Y-0.3452) <= 0.00005) {
		t.Errorf("got %v, want F5's 0.3138, 0.3452", xy)
	}
}

// The public example of TM-27 is read to its last number; that it ends at 650 nm is
// then said, for it has no colour.
func TestThePublicExampleOfTM27(t *testing.T) {
	data, err := os.ReadFile("../../testdata/colorimetry/tm27-example.spdx")
	if err != nil {
		t.Fatal(err)
	}
	got, err := parseTM27(data)
	if err != nil {
		t.Fatal(err)
	}
	if n := len(got.nm); n != 26 || got.nm[0] != 400 || got.values[0] != 0.47 || got.nm[17] != 570 || got.values[17] != 1 ||
		got.nm[n-1] != 650 || got.values[n-1] != 0.21 {
		t.Errorf("got %v, want 26 values: 0.47 at 400 nm, 1.00 at 570 nm, 0.21 at 650 nm", got)
	}
	if _, format, err := Parse(data); format != TM27 ||
		!errors.Is(err, colorimetry.ErrDomain) || !strings.Contains(err.Error(), "380 or less") {
		t.Errorf("got %v, %v, want TM-27 that starts too late", format, err)
	}
}

func TestBadSpectrumFilesAreRefused(t *testing.T) {
	nm, values := []float64{}, []float64{}
	for w := 380.0; w <= 780; w += 20 {
		nm, values = append(nm, w), append(values, 1)
	}
	good := func(name string) string { return writers[name].write(nm, values) }
	change := func(name, old, by string) string {
		if !strings.Contains(good(name), old) {
			t.Fatalf("%s does not hold %q", name, old)
		}
		return strings.Replace(good(name), old, by, 1)
	}
	const tm, bands, sets, csv, object, pairs = "TM-27", "CGATS, a field a band", "CGATS, a set a wavelength",
		"CSV with a head", "JSON, an object", "JSON, pairs"
	bomb := "<!DOCTYPE x [<!ENTITY a \"aaaaaaaaaa\"><!ENTITY b \"&a;&a;&a;&a;&a;&a;&a;&a;\">" +
		"<!ENTITY c \"&b;&b;&b;&b;&b;&b;&b;&b;\">]>\n<IESTM2714>"
	for _, c := range []struct{ name, data, says string }{
		{"an empty file", "", "allowed is IES TM-27"},
		{"blanks only", " \n\t ", "allowed is IES TM-27"},
		{"a picture", "\x89PNG\r\n\x1a\n\x00\x00", "not UTF-8 text"},
		{"UTF-16", "\xff\xfe<\x00I\x00", "not UTF-8 text"},
		{"prose", "a lamp\nanother lamp\n", "no line with two numbers"},
		{"more than 50 MB", strings.Repeat(" ", MaxBytes+1), "at most 52428800"},

		{"XML: an entity bomb", change(tm, "<IESTM2714", bomb), "document type"},
		{"XML: an unknown entity", change(tm, "a made-up lamp", "&lol;"), "well-formed"},
		{"XML: an external entity", change(tm, "<IESTM2714", "<!DOCTYPE x SYSTEM \"file:///etc/passwd\">\n<IESTM2714"), "document type"},
		{"XML: another document", "<html><body/></html>", "allowed is one IESTM2714"},
		{"XML: two documents", good(tm) + good(tm), "allowed is one IESTM2714"},
		{"XML: a reflectance", change(tm, ">relative<", ">reflectance<"), "allowed is flux"},
		{"XML: no quantity", change(tm, "<SpectralQuantity>relative</SpectralQuantity>", ""), "allowed is flux"},
		{"XML: a word for a value", change(tm, ">1<", ">much<"), "allowed are numbers"},
		{"XML: no wavelength", change(tm, "wavelength=\"400\"", ""), "allowed are numbers"},
		{"XML: an end missing", strings.TrimSuffix(good(tm), "</IESTM2714>\n"), "ends too early"},
		{"XML: a wrong end", change(tm, "</Header>", "</Foot>"), "closes nothing"},
		{"XML: very deep", change(tm, "<Comments>", strings.Repeat("<a>", 20)), "deep"},
		{"XML: endless elements", change(tm, "<Comments>", strings.Repeat("<a/>", 50000)+"<Comments>"), "elements"},
		{"XML: a very long value", change(tm, ">1<", ">"+strings.Repeat("1", 200)+"<"), "characters"},
		{"XML: another encoding", change(tm, "UTF-8", "UTF-16"), "well-formed"},
		{"XML: the standard's short range", change(tm, "wavelength=\"380\"", "wavelength=\"399\""), "380 or less"},

		{"CGATS: two spectra", change(bands, "1 1 1 ", "1 1 1 "+strings.Repeat("1 ", len(nm)+1)), "NUMBER_OF_SETS"},
		{"CGATS: a value missing", change(bands, "\n1 1 ", "\n1 "), "whole number of sets"},
		{"CGATS: no spectrum", "CGATS.17\nBEGIN_DATA_FORMAT\nSAMPLE_ID LAB_L\nEND_DATA_FORMAT\nBEGIN_DATA\n1 50\nEND_DATA\n", "no spectrum"},
		{"CGATS: no data", "CGATS.17\n", "one of each"},
		{"CGATS: not ended", strings.TrimSuffix(good(bands), "END_DATA\n"), "one of each"},
		{"CGATS: a wrong count of fields", change(bands, "NUMBER_OF_FIELDS", "NUMBER_OF_FIELDS 3 #"), "NUMBER_OF_FIELDS is 3"},
		{"CGATS: a wrong count of sets", change(sets, "NUMBER_OF_SETS 21", "NUMBER_OF_SETS 22"), "NUMBER_OF_SETS is 22"},
		{"CGATS: a word for a value", change(bands, "\n1 1 ", "\n1 much "), "allowed is a number"},
		{"CGATS: a word for a wavelength", change(sets, "400", "blue"), "allowed are numbers"},
		{"CGATS: an open quotation", change(bands, "test\"", "test"), "not closed"},
		{"CGATS: endless data", change(bands, "\n1 1 ", "\n1 "+strings.Repeat("1 ", 60000)), "more values"},

		{"CSV: falling wavelengths", change(csv, "400,", "379,"), "must rise"},
		{"CSV: a negative value", change(csv, "400,1", "400,-1"), "value at 400 nm"},
		{"CSV: NaN", change(csv, "400,1", "400,NaN"), "value at 400 nm is NaN"},
		{"CSV: infinity", change(csv, "400,1", "400,1e999"), "value at 400 nm is +Inf"},
		{"CSV: too coarse", change(csv, "400,1\n", ""), "1 to 20 nm"},
		{"CSV: too short", change(csv, "780,1\n", ""), "780 or more"},
		{"CSV: three columns", strings.ReplaceAll(good(csv), ",1\n", ",1,1\n"), "two numbers"},
		{"CSV: a word amid numbers", change(csv, "400,1", "400,much"), "line 3"},
		{"CSV: a hexadecimal number", change(csv, "400,1", "400,0x1p3"), "line 3"},
		{"CSV: micrometres in the head", change(csv, "wavelength (nm)", "wavelength (µm)"), "allowed are wavelengths in nm"},
		{"CSV: terahertz in the head", change(csv, "wavelength (nm)", "f [THz]"), "allowed are wavelengths in nm"},
		{"CSV: micrometres in the numbers", strings.ReplaceAll(good("CSV without a head"), "0,1\n", "e-3,1\n"), "not µm"},
		{"CSV: ångströms in the numbers", strings.ReplaceAll(good("CSV without a head"), "0,1\n", "00,1\n"), "not Å"},
		{"CSV: a line without end", "nm,W\n" + strings.Repeat("1", 5000), "characters"},
		{"CSV: endless lines", good(csv) + strings.Repeat("781,1\n", 3000), "more than"},

		{"JSON: an unknown member", change(object, `"name"`, `"maker"`), "unknown field"},
		{"JSON: another unit", change(object, `"nm"`, `"um"`), `allowed is "nm"`},
		{"JSON: null for a value", change(pairs, "[400, 1]", "[400, null]"), "not a number"},
		{"JSON: a string for a value", change(pairs, "[400, 1]", `[400, "1"]`), "not a number"},
		{"JSON: three numbers", change(pairs, "[400, 1]", "[400, 1, 1]"), "more than two"},
		{"JSON: a value missing", change(object, "[1, 1, ", "[1, "), "one value for each"},
		{"JSON: two spectra", good(pairs) + good(pairs), "one spectrum a file"},
		{"JSON: cut off", good(object)[:100], "allowed is"},
		{"JSON: endless numbers", `{"values": [` + strings.Repeat("1,", 5000) + `1]}`, "more than"},
		{"JSON: very deep", strings.Repeat("[", 1000000), "allowed is"},
		{"JSON: an empty object", "{}", "2 or more"},
		{"JSON: a very great number", change(pairs, "[400, 1]", "[400, 1e999]"), "allowed is"},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, _, err := Parse([]byte(c.data))
			if !errors.Is(err, ErrUnreadable) || !strings.Contains(fmt.Sprint(err), c.says) {
				t.Fatalf("got %v, %v, want ErrUnreadable that says %q", got, err, c.says)
			}
			if len(err.Error()) > 600 {
				t.Errorf("the message has %d characters", len(err.Error()))
			}
		})
	}
}

// fuzzForm checks what holds for bytes of any kind: no panic, an error of the
// right kind, and a spectrum that has a colour or an honest reason for none.
func fuzzForm(f *testing.F, format Format) {
	nm, values := []float64{}, []float64{}
	for w := 380.0; w <= 780; w += 20 {
		nm, values = append(nm, w), append(values, w/400)
	}
	for _, w := range writers {
		if w.format == format {
			f.Add([]byte(w.write(nm, values)))
		}
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		s, _, err := Parse(data)
		if err != nil {
			if !errors.Is(err, ErrUnreadable) {
				t.Fatalf("got %v, want ErrUnreadable", err)
			}
			return
		}
		if _, err := colorimetry.NewSpectrum(s.Wavelengths(), s.Values()); err != nil {
			t.Fatalf("the spectrum that was read is refused: %v", err)
		}
		xy, err := s.XY()
		if err != nil {
			if !errors.Is(err, colorimetry.ErrDomain) {
				t.Fatalf("got %v, want ErrDomain", err)
			}
			return
		}
		if xy.X < 0 || xy.Y < 0 || !(xy.X+xy.Y <= 1+1e-12) {
			t.Fatalf("got %v, want a chromaticity", xy)
		}
		if got, err := colorimetry.SSI(s, s); err == nil && got != 100 {
			t.Fatalf("the spectrum is %d like itself, want 100", got)
		}
	})
}

func FuzzTM27(f *testing.F)  { fuzzForm(f, TM27) }
func FuzzCGATS(f *testing.F) { fuzzForm(f, CGATS) }
func FuzzCSV(f *testing.F)   { fuzzForm(f, CSV) }
func FuzzJSON(f *testing.F)  { fuzzForm(f, JSON) }

// A large file must be refused without taking many times its size.
func TestLargeFilesTakeNoGreatRoom(t *testing.T) {
	const size = 10 << 20
	for name, data := range map[string][]byte{
		"numbers in JSON": append([]byte(`{"values": [`), bytes.Repeat([]byte("1,"), size/2)...),
		"arrays in JSON":  append([]byte(`[`), bytes.Repeat([]byte("[],"), size/3)...),
		"lines of CSV":    append([]byte("nm,W\n"), bytes.Repeat([]byte("\n"), size)...),
		"words of CGATS":  append([]byte("CGATS.17\nBEGIN_DATA\n"), bytes.Repeat([]byte("1 "), size/2)...),
		"elements of XML": append([]byte("<IESTM2714>"), bytes.Repeat([]byte("<a/>"), size/4)...),
	} {
		t.Run(name, func(t *testing.T) {
			var before, after runtime.MemStats
			runtime.ReadMemStats(&before)
			_, _, err := Parse(data)
			runtime.ReadMemStats(&after)
			if !errors.Is(err, ErrUnreadable) {
				t.Fatalf("got %v, want ErrUnreadable", err)
			}
			if got := after.TotalAlloc - before.TotalAlloc; got > 5*size {
				t.Errorf("%d bytes were allocated for a file of %d", got, size)
			}
		})
	}
}
