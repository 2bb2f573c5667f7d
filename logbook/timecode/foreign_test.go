//go:build !js

package timecode

import (
	"fmt"
	"os"
	"os/exec"
	"strings"
	"testing"
)

// The npm package smpte-timecode counts alike: every frame of an hour with numbers dropped, and at every rate
// the frames around each minute of two hours and around midnight.
func TestAnotherProgramCountsAlike(t *testing.T) {
	if exec.Command("node", "--input-type=module", "-e", "0").Run() != nil || !here("../../testdata/clients/node_modules/smpte-timecode") {
		if os.Getenv("CI") != "" {
			t.Fatal("NOT CHECKED: Node.js or the npm package smpte-timecode is not here, and CI is set; make setup-test installs it")
		}
		t.Skip("SKIPPED, NOT CHECKED: Node.js or the npm package smpte-timecode is not here; make setup-test installs it")
	}
	var ask strings.Builder
	var want []string
	count := func(r Rate, frames int64) {
		drop := "-"
		if r.drop > 0 {
			drop = "drop"
		}
		fmt.Fprintln(&ask, r.name, drop, frames)
		want = append(want, r.Text(frames))
	}
	hour := rate(t, "29.97", true)
	for n := range int64(107_892) {
		count(hour, n)
	}
	for name := range bases {
		for _, drop := range []bool{false, true} {
			r, err := RateOf(name, drop)
			if err != nil {
				continue
			}
			for minute := range int64(121) {
				at, _ := r.Frames(fmt.Sprintf("%02d:%02d:00:%02d", minute/60, minute%60, r.drop))
				for n := at - 3; n <= at+3; n++ {
					if n >= 0 {
						count(r, n)
					}
				}
			}
			count(r, r.Day()-1)
		}
	}
	cmd := exec.Command("node", "../../testdata/clients/timecode.mjs")
	cmd.Stdin = strings.NewReader(ask.String())
	out, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	lines, said := strings.Split(strings.TrimSpace(ask.String()), "\n"), strings.Split(strings.TrimSpace(string(out)), "\n")
	if len(said) != len(want) || len(want) < 115_000 {
		t.Fatalf("%d timecodes came back of %d", len(said), len(want))
	}
	wrong := 0
	for i, text := range want {
		if said[i] != text {
			if wrong++; wrong < 10 {
				t.Errorf("%s frames: %s here, %s there", lines[i], text, said[i])
			}
		}
		parts := strings.Fields(lines[i])
		r := rate(t, parts[0], parts[1] == "drop")
		if frames, err := r.Frames(said[i]); err != nil || fmt.Sprint(frames) != parts[2] {
			t.Fatalf("%s at %s is frame %d here (%v), want %s", said[i], r, frames, err, parts[2])
		}
	}
}

func here(path string) bool {
	_, err := os.Stat(path)
	return err == nil
}
