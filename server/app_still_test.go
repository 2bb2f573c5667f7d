package main

import (
	"encoding/json"
	"fmt"
	"path/filepath"
	"regexp"
	"slices"
	"testing"

	"evenwhite/server/browsertest"
)

// A still as a phone came to read it: what the card then shows, the edit that was saved, and what the server holds of it.
type stillRead struct {
	Shown []string
	Said  string
	Set   struct {
		RGB                json.RawMessage `json:"rgb"`
		AreaPixels         float64
		ReadAt             string
		Camera, Body, Mode string
	}
	There json.RawMessage
}

// A grey card comes out of a still: of 8 bits by the engine, with no network; of 16 bits and out of a TIFF by the server, which
// says the same of it on the same screen. What goes wrong is told, and nothing that was typed is lost.
func TestAGreyCardOutOfAStill(t *testing.T) {
	t.Parallel()
	s := servePagesIn(t, filepath.Join(t.TempDir(), "data"), "--demo")
	day := appDay(t, s)
	var got struct {
		Want struct {
			PNG8    []float64
			Sixteen []float64 `json:"16"`
		}
		Around, PNG8, PNG16, TIFF, Motorola, After stillRead
		First, Dragged                             []string
		Said                                       map[string]string
		Broken                                     []string
	}
	browsertest.Browser{Trusts: s.root(t), Hosts: "MAP set7.local 127.0.0.1"}.Run(t, "../testdata/browser/still.mjs",
		map[string]any{"origin": s.origin, "day": day, "code": s.code}, &got)

	for _, b := range got.Broken {
		t.Error(b)
	}
	for _, c := range []struct {
		name  string
		read  stillRead
		bits  int
		want  []float64
		saved bool
	}{
		{"looking around", got.Around, 16, got.Want.Sixteen, false}, {"a PNG of 8 bits", got.PNG8, 8, got.Want.PNG8, true},
		{"a PNG of 16 bits", got.PNG16, 16, got.Want.Sixteen, true}, {"a TIFF", got.TIFF, 16, got.Want.Sixteen, true},
		{"a TIFF with its highest byte first", got.Motorola, 16, got.Want.Sixteen, false},
		{"after a frame that was refused", got.After, 16, got.Want.Sixteen, false},
	} {
		if len(c.want) != 3 {
			t.Fatalf("the drawn card has a mean of %v", c.want)
		}
		var shown []string
		for _, v := range c.want {
			shown = append(shown, fmt.Sprint(v))
		}
		if !slices.Equal(c.read.Shown, shown) || !regexp.MustCompile(`White \d+ K`).MatchString(c.read.Said) {
			t.Errorf("%s: the card shows %q and says %q, want %q and a white", c.name, c.read.Shown, c.read.Said, shown)
		}
		if !c.saved {
			continue
		}
		want := fmt.Sprintf(`{"as":"codeValues","b":%v,"bits":%d,"encoding":"bt1886","g":%v,"primaries":"bt709","r":%v,"range":"full"}`,
			c.want[2], c.bits, c.want[1], c.want[0])
		for whose, rgb := range map[string]json.RawMessage{"edit": c.read.Set.RGB, "server": c.read.There} {
			var members map[string]any
			if err := json.Unmarshal(rgb, &members); err != nil {
				t.Fatal(err)
			}
			if text, err := json.Marshal(members); err != nil || string(text) != want {
				t.Errorf("%s: the %s has %s (%v), want %s", c.name, whose, text, err, want)
			}
		}
		if set := c.read.Set; set.AreaPixels != 50*35 || set.ReadAt != "recordedFile" || set.Camera == "" {
			t.Errorf("%s: the edit has %+v, want 1750 pixels of a recorded file", c.name, set)
		}
	}
	if want := []string{"134", "100", "53", "40"}; !slices.Equal(got.First, want) {
		t.Errorf("of a TIFF of 320 by 240 pixels the frame begins at %q, want its middle sixth %q", got.First, want)
	}
	if want := []string{"80", "80", "160", "80"}; !slices.Equal(got.Dragged, want) {
		t.Errorf("dragged in the empty picture the frame is at %q, want %q", got.Dragged, want)
	}
	for about, want := range map[string]string{
		"png16": `16 bits.*the server reads it`, "tiff": `(?s)TIFF: the server reads it.*320 by 240 pixels`,
		"away": `(?s)The server does not answer.*does not keep it.*Nothing is lost`, "stays": "^98$", "outside": `Width is a whole number from 8 to 320`,
		"dark": `(?s)^The patch is too dark.*Nothing is lost`, "cut": `cut\.tif cannot be read`, "long": `at most 40 MiB`, "log": `(?s)encoding.*Nothing is lost`,
	} {
		if !regexp.MustCompile(want).MatchString(got.Said[about]) {
			t.Errorf("%s: got %q, want %s", about, got.Said[about], want)
		}
	}
}
