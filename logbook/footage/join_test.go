package footage

import (
	"flag"
	"fmt"
	"strconv"
	"strings"
	"testing"
	"time"

	"evenwhite/logbook"
)

// Other jobs: go test ./logbook/footage -run Sure -v -args -footage.seed 7 -footage.days 60.
var (
	seedDrawn = flag.Uint64("footage.seed", 1, "the seed of the jobs that are drawn")
	daysDrawn = flag.Int("footage.days", 8, "how many days they have")
)

// A name that exists proves nothing: on drawn jobs, of which the truth is known, what is called sure is
// right, and most of what is right is called sure, however the clocks of the cameras are off.
func TestWhatIsSureIsRight(t *testing.T) {
	for _, c := range []struct {
		name        string
		set         func(*shoot)
		sure, wrong float64 // least share of right names, most share of sure ones
	}{
		{"clocks 15 min off, 12 s of jitter", func(*shoot) {}, 0.95, 0.002},
		{"files written at the end of each recording", func(s *shoot) { s.ends = true }, 0.95, 0.002},
		{"another zone, 40 s of jitter, all cards of a day in one folder", func(s *shoot) { s.clock, s.jitter, s.unfolded = 9*3600, 40, true }, 0.95, 0.002},
		{"many that nobody logged, and some that nobody shot", func(s *shoot) { s.unlogged, s.phantom = 0.03, 0.01 }, 0.95, 0.002},
		{"a card in twelve that was changed and not logged", func(s *shoot) { s.forgotten = 0.08 }, 0.95, 0.002},
		// A card on which one clip more was logged and another not looks whole: so what was counted proves nothing.
		{"no times", func(s *shoot) { s.timeless, s.phantom = true, 0.005 }, 0, 0},
		{"no times, one name in three read off the camera", func(s *shoot) { s.timeless, s.phantom, s.readOff = true, 0.005, 0.33 }, 0.3, 0.002},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := aShoot(*seedDrawn, *daysDrawn)
			c.set(s)
			j, err := s.draw().join()
			if err != nil {
				t.Fatal(err)
			}
			r := s.judge(j)
			t.Logf("seed %d: %d clips, %d files; %+v; %+v", *seedDrawn, len(s.rows), s.files, r, j.Counts)
			if r.wrongShare() > c.wrong {
				t.Errorf("%.2f %% of the sure ones got another's file, want at most %.2f %%", 100*r.wrongShare(), 100*c.wrong)
			}
			if r.sureShare() < c.sure {
				t.Errorf("%.1f %% of the right names are sure, want at least %.0f %%", 100*r.sureShare(), 100*c.sure)
			}
			if !s.timeless && r.mended*100 < r.names*98 {
				t.Errorf("of %d clips with a wrong name %d got their own file, want nearly all", r.names, r.mended)
			}
			if len(j.Clips) < len(s.rows)*99/100 {
				t.Errorf("the join tells of %d clips of %d", len(j.Clips), len(s.rows))
			}
		})
	}
}

// The same listing in any order of its lines gives the same, and so does asking twice.
func TestTheOrderOfLinesIsNothing(t *testing.T) {
	s := aShoot(3, 2).draw()
	first, err := s.join()
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.SplitAfter(strings.TrimSuffix(s.listing.String(), "\n"), "\n")
	lines[len(lines)-1] += "\n"
	s.Shuffle(len(lines), func(i, k int) { lines[i], lines[k] = lines[k], lines[i] })
	s.listing.Reset()
	s.listing.WriteString(strings.Join(lines, ""))
	again, err := s.join()
	if err != nil {
		t.Fatal(err)
	}
	if fmt.Sprint(first) != fmt.Sprint(again) {
		t.Error("another order of lines joins otherwise")
	}
}

// shotAt is when something was recorded: at irregular moments, as takes are.
func shotAt(i int) logbook.Millis {
	at := logbook.MillisOf(time.Date(2031, 3, 4, 9, 0, 0, 0, time.UTC))
	for n := range i {
		at += logbook.Millis(60+(n*n*37)%190) * 1000
	}
	return at
}

// card logs clips of one card: moment:name, with - for none, and ! where it was read off the camera.
func card(clips string) (rows []*Row) {
	for i, clip := range strings.Fields(clips) {
		at, name, _ := strings.Cut(clip, ":")
		n, err := strconv.Atoi(at)
		if err != nil {
			panic(err)
		}
		rows = append(rows, &Row{Clip: logbook.ID{6: 0x70, 15: byte(i + 1)},
			Name: strings.Trim(name, "-!"), ReadOff: strings.HasSuffix(name, "!"), Camera: "A", Body: logbook.ID{15: 1},
			Card: "A001", Day: "1", Date: "2031-03-04", SetUp: strconv.Itoa(1 + i/3), At: shotAt(n), Mode: "kelvin", number: -1})
	}
	return rows
}

// shot lists the first so many recordings of the card, by a clock that is 83 s ahead.
func shot(count int) string {
	var b strings.Builder
	for i := range count {
		fmt.Fprintf(&b, "9000000 %d.5 /d/A001/A001C%03d_3103.mov\n", shotAt(i)/1000+83, i+1)
	}
	return b.String()
}

func listed(t *testing.T, listings ...string) *Collection {
	t.Helper()
	c := NewCollection()
	for _, listing := range listings {
		if err := c.Read(strings.NewReader(listing), Form{}); err != nil {
			t.Fatal(err)
		}
	}
	return c
}

// results writes what came of each clip: + and - where names shift.
func results(j Joined) string {
	var all []string
	for _, c := range j.Clips {
		text := c.Result
		if c.By != 0 {
			text += fmt.Sprintf("%+d", c.By)
		}
		all = append(all, text)
	}
	return strings.Join(all, " ")
}

func TestOneCard(t *testing.T) {
	const named = "/d/A001/A001C001.mov\n/d/A001/A001C002.mov\n/d/A001/A001C003.mov\n"
	for _, k := range []struct {
		name, clips string
		files       string
		want, words string // the words are of the first clip, of a shift or of a recording without a row
	}{
		{"all is well", "0:A001C001 1:A001C002 2:A001C003 3:A001C004", shot(4), "sure sure sure sure", "name and card agree, the times agree within 0 s"},
		{"one was not logged", "0:A001C001 1:A001C002 3:A001C003 4:A001C004 5:A001C005", shot(6), "sure sure shifted+1 shifted+1 shifted+1",
			"names shift by +1 from A001C003 (file A001C004_3103) to A001C005 (file A001C006_3103): 3 clips in 2 set-ups; " +
				"nobody logged A001C003_3103 before it; " +
				"so joined, times agree within 0 s (median), as named they are 3 min apart; the card has 6 recordings, the log 5"},
		{"one was logged that nobody shot", "0:A001C001 1:A001C002 2:A001C004 3:A001C005 4:A001C006", shot(5),
			"sure sure shifted-1 shifted-1 shifted-1", "names shift by -1"},
		{"slips in names", "0:A001C001 1:A001C002 2:A001C0O3 3:A001C050 4:A01C005 5:A001C006 6:A001C007", shot(7),
			"sure sure nearMiss likely nearMiss sure sure", ""},
		{"typed as its neighbour", "0:A001C001 1:A001C002 2:A001C004 3:A001C004 4:A001C005", shot(5), "sure sure nearMiss sure sure", ""},
		{"no name in the log", "0:A001C001 1:A001C002 2:- 3:A001C004", shot(4), "sure sure likely sure", ""},
		{"a card was changed, and nobody logged it", "0:A001C001 1:A001C002 2:A001C003 3:A001C004 4:A001C005 5:A001C006",
			shot(2) + strings.Join(strings.SplitAfter(strings.ReplaceAll(shot(6), "A001", "A002"), "\n")[2:], ""),
			"sure sure shifted shifted shifted shifted",
			"the files are named for another card from A001C003 (file A002C003_3103) to A001C006 (file A002C006_3103): 4 clips in 2 set-ups"},
		{"no names in the log", "0:- 1:- 2:- 3:- 4:-", shot(5), "likely likely likely likely likely", "the log has no names from - (file A001C001_3103) to"},
		{"the last one was not logged", "0:A001C001 1:A001C002 2:A001C003", shot(4), "sure sure sure", "after A001C003_3103, the last one"},
		{"names alone", "0:A001C001 1:A001C002 2:A001C003", named, "likely likely likely", "but the name was counted"},
		{"names alone, one read off", "0:A001C001 1:A001C002! 2:A001C003", named, "likely sure likely", "but the name was counted"},
		{"names alone, and one too many", "0:A001C001 1:A001C002", named,
			"likely likely", "no times tell where"},
		{"another production", "0:A001C001 1:A001C002", "/d/X77/X77_0001.mov\n/d/X77/X77_0002.mov\n", "", "is it the listing of another one?"},
		{"one clip", "0:A001C001", shot(1), "sure", ""},
	} {
		t.Run(k.name, func(t *testing.T) {
			j := Join(card(k.clips), listed(t, k.files))
			if got := results(j); got != k.want {
				t.Errorf("got %s\nwant %s\n%+v", got, k.want, j)
			}
			var told []string
			for _, c := range j.Clips[:min(1, len(j.Clips))] {
				told = append(told, c.Words)
			}
			if told := fmt.Sprint(told, j.NoRow, j.Shifts, j.Explanations); !strings.Contains(told, k.words) {
				t.Errorf("%q does not say %q", told, k.words)
			}
		})
	}
}

// Copies that did not keep the times say when they were copied: then names, order and count are all
// there is, and they prove nothing.
func TestTimesOfACopyAreNotBelieved(t *testing.T) {
	var copied strings.Builder
	for i := range 8 {
		fmt.Fprintf(&copied, "9000000 %d.5 /d/A001/A001C%03d.mov\n", shotAt(30)/1000+logbook.Millis(i*4), i+1)
	}
	j := Join(card("0:A001C001 1:A001C002 2:A001C003 4:A001C004 5:A001C005 6:A001C006 7:A001C007"), listed(t, copied.String()))
	if j.Counts.Sure > 0 || j.Counts.Likely != 7 || !strings.Contains(fmt.Sprint(j.Explanations), "were they kept when the card was copied?") {
		t.Errorf("got %+v, want nothing sure, and why: %q", j.Counts, j.Explanations)
	}
}

// Names come again: on each card, on each day. Times tell which is which, or else the folders do;
// where neither does, nobody guesses.
func TestNamesComeAgain(t *testing.T) {
	var rows []*Row
	var timed, named, bare strings.Builder
	for day := range 3 {
		for i := range 9 {
			at := shotAt(i+3*day) + logbook.Millis(day)*86_400_000
			rows = append(rows, &Row{Clip: logbook.ID{6: 0x70, 14: byte(day), 15: byte(i + 1)}, Name: fmt.Sprintf("C%04d", i+1), Camera: "B",
				Body: logbook.ID{15: 1}, Card: "1", Day: strconv.Itoa(day + 1), Date: fmt.Sprintf("2031-03-%02d", 4+day), At: at, number: -1})
			fmt.Fprintf(&timed, "900%d%d000 %d.5 /x%d/C%04d.mp4\n", i, day, at/1000+900, 7-day, i+1)
			fmt.Fprintf(&named, "/job/day%d/B/1/C%04d.mp4\n", day+1, i+1)
			fmt.Fprintf(&bare, "/x%d/C%04d.mp4\n", 7-day, i+1)
		}
	}
	sortRows(rows)
	for listing, want := range map[string]string{timed.String(): "/x", named.String(): "/job/day", bare.String(): ""} {
		j := Join(rows, listed(t, listing))
		if want == "" {
			if len(j.Clips) > 0 || !strings.Contains(fmt.Sprint(j.Cards), "neither the folder nor times tell which") {
				t.Errorf("got %+v of folders that say nothing, want none joined", j)
			}
			continue
		}
		if agree := j.Counts.Sure + j.Counts.Likely; agree != len(rows) || want == "/x" && j.Counts.Likely > 0 {
			t.Errorf("%s: of %d clips %d are sure and %d likely: %+v", want, len(rows), j.Counts.Sure, j.Counts.Likely, j.Cards)
		}
		for _, c := range j.Clips {
			day, _ := strconv.Atoi(c.Day)
			if want == "/x" && c.Folder != fmt.Sprintf("/x%d", 8-day) || want != "/x" && c.Folder != fmt.Sprintf("/job/day%d/B/1", day) {
				t.Fatalf("a clip of day %d is joined with %s", day, c.Folder)
			}
		}
	}
}

// A camera that never counts anew makes one long card: it is looked at in a band.
func TestALongCardIsJoinedInABand(t *testing.T) {
	const clips = 3000
	var rows []*Row
	var listing strings.Builder
	at, logged := shotAt(0), 0
	for i := range clips {
		at += logbook.Millis(50+(i*i*37)%190) * 1000
		fmt.Fprintf(&listing, "9000000 %d.0 /d/A%06d.mov\n", at/1000+500, i+1)
		if i == 1000 || i == 2000 {
			continue
		}
		logged++
		rows = append(rows, &Row{Clip: logbook.ID{6: 0x70, 14: byte(i >> 8), 15: byte(i)}, Name: fmt.Sprintf("A%06d", logged), Camera: "A",
			Body: logbook.ID{15: 1}, Day: "1", At: at, Mode: "kelvin", number: -1})
	}
	j := Join(rows, listed(t, listing.String()))
	if j.Counts.Sure != 1000 || j.Counts.Shifted != clips-1002 || len(j.Shifts) != 2 || j.Counts.NoRow != 2 {
		t.Errorf("got %+v and %d shifts, want the first 1000 sure and two stretches that are shifted", j.Counts, len(j.Shifts))
	}
}
