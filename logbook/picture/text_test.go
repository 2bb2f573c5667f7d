package picture

import (
	"bytes"
	"crypto/sha256"
	"encoding/base64"
	"encoding/xml"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// TestTextsOfPeopleAreTexts: what is typed shows as it was typed, and does nothing.
func TestTextsOfPeopleAreTexts(t *testing.T) {
	evil := `</text><script>alert("1")</script><a href="javascript:x()">&#60;`
	plane := jetty()
	plane.Name, plane.Words, plane.Points[1].Name, plane.Points[1].Words, plane.Points[1].Key = evil, evil, evil, evil, evil
	svg := Plane(plane)
	if strings.Contains(string(svg), "<script") || strings.Contains(string(svg), "<a ") {
		t.Errorf("a tag got through:\n%s", svg)
	}
	all := mustBePicture(t, svg)
	if !strings.Contains(all[2].text, evil) || !strings.Contains(all[1].text, evil) {
		t.Errorf("the text is not shown as it was typed: %q, %q", all[1].text, all[2].text)
	}
	sum := sha256.Sum256([]byte(style))
	if want := "'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'"; StyleSource != want {
		t.Errorf("the style's source is %s, want %s", StyleSource, want)
	}
	if !strings.HasPrefix(Policy, "default-src 'none'; style-src 'sha256-") || strings.Contains(Policy, "unsafe") {
		t.Errorf("the policy is %q", Policy)
	}
}

// TestEscapedAsXML: of any bytes, the same as the package for XML writes.
func TestEscapedAsXML(t *testing.T) {
	bad := rapid.SampledFrom([]string{"\xff", "\xed\xa0\x80", "\ufffd", "\ufffe", "\uffff", "\x7f", "\t\r\n\v", `'"&<>&amp;`, "\u2066"})
	rapid.Check(t, func(t *rapid.T) {
		text := strings.Join(rapid.SliceOf(rapid.OneOf(names, bad)).Draw(t, "text"), "")
		var want bytes.Buffer
		if err := xml.EscapeText(&want, []byte(strings.Map(upright, text))); err != nil {
			t.Fatal(err)
		}
		if got := escaped(text); got != want.String() {
			t.Errorf("%q: got %q, want %q", text, got, want.String())
		}
	})
}

func TestTextIsBrokenAndCut(t *testing.T) {
	for _, text := range []string{"", "word", "many words that need more than a line", strings.Repeat("W", 90),
		"a " + strings.Repeat("灯", 60) + " b"} {
		lines := wrapped(text, 100, 12)
		for _, line := range lines {
			if w := width(line, 12); w > 100 {
				t.Errorf("%q is %v wide", line, w)
			}
		}
		squeeze := func(s string) string { return strings.ReplaceAll(s, " ", "") }
		if got := squeeze(strings.Join(lines, "")); got != squeeze(text) {
			t.Errorf("of %q is left %q", text, got)
		}
		if cut := fitting(text, 100, 12); width(cut, 12) > 100 || !strings.HasPrefix(text, strings.TrimSuffix(cut, "…")) {
			t.Errorf("%q is cut to %q", text, cut)
		}
	}
}
