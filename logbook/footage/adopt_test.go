package footage

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/amend"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/stage"
)

// aDay logs six takes of camera A on one card, of which the third recording was not logged; the
// file of the second says another kelvin, and that of the first the same.
func aDay(t *testing.T) (s *stage.Stage, clips []logbook.ID, listings []string) {
	s = stage.New(t)
	var listing, table strings.Builder
	table.WriteString("File,Kelvin,Lens\n")
	for n := range 7 {
		s.Minute(10 + n*3 + n*n%4)
		fmt.Fprintf(&listing, "5000000 %d.25 /card/A003/A003C%03d_0304_XY.mov\n", s.Clock/1000+900, n+1)
		if n == 0 || n == 1 {
			fmt.Fprintf(&table, "A003C%03d_0304_XY.mov,%d,\n", n+1, []int{5600, 4300}[n])
		}
		if n == 2 {
			continue
		}
		clips = append(clips, s.Clip(s.A, s.Take(), "5600", "settingsAre", `"carriedOver"`, "card", `"A003"`,
			"name", fmt.Sprintf(`{"text":"A003C%03d","from":"counted"}`, len(clips)+1)))
	}
	return s, clips, []string{listing.String(), table.String()}
}

func joinDay(t *testing.T, b *logbook.Book, listings []string) Joined {
	t.Helper()
	c := NewCollection()
	for i, form := range []Form{{}, {Columns: Columns{Name: "File", Kelvin: "Kelvin", Lens: "Lens"}}} {
		if err := c.Read(strings.NewReader(listings[i]), form); err != nil {
			t.Fatal(err)
		}
	}
	return Join(RowsOf(b), c)
}

// apply writes drafts into a book as one act.
func apply(t *testing.T, b *logbook.Book, n uint64, drafts []logbook.Draft) []*logbook.Edit {
	t.Helper()
	like := &logbook.Edit{Production: b.Production(), Device: logbook.ID{15: 7}, By: "post", At: stage.DayBegins + 86_400_000,
		Dot: logbook.Dot{Line: logbook.Line{3}, N: n}}
	act := logbook.Act(like, drafts, kinds.Rules.MostNames)
	for _, e := range act {
		if err := b.Apply(e); err != nil {
			t.Fatal(err)
		}
	}
	return act
}

func said(b *logbook.Book, clip logbook.ID) string {
	v, _ := b.RecordOf(kinds.Clip, clip)
	return fmt.Sprintln(v.Value("name").Member("text"), v.Value("name").Member("from"), v.Value("kelvin"), v.Value("settingsAre"))
}

// What is sure is adopted as one act and taken back as one; shifts and settings are others, each a
// person's own.
func TestAdoptingAndTakingBack(t *testing.T) {
	s, clips, listings := aDay(t)
	b := s.Book()
	j := joinDay(t, b, listings)
	if got := results(j); got != "sure sure shifted+1 shifted+1 shifted+1 shifted+1" {
		t.Fatalf("got %s of the day: %+v", got, j)
	}
	if len(j.Settings) != 1 || j.Settings[0].Words != "file 4300 K, log 5600 K" || j.Counts.Confirmed != 1 {
		t.Fatalf("got settings %+v, want one that differs, and one confirmed: %+v", j.Settings, j.Counts)
	}
	all := func() (list []string) {
		for _, clip := range clips {
			list = append(list, said(b, clip))
		}
		return list
	}
	before := fmt.Sprint(all())
	n := uint64(1)
	var acts [][]*logbook.Edit
	var states []string
	for _, what := range []string{AdoptSure, AdoptShift + clips[2].String(), AdoptSettings} {
		states = append(states, fmt.Sprint(all()))
		drafts, err := Adopt(b, joinDay(t, b, listings), what)
		if err != nil {
			t.Fatalf("%s: %v", what, err)
		}
		acts = append(acts, apply(t, b, n, drafts))
		n += 100
	}
	if got, want := said(b, clips[0]), `"A003C001_0304_XY" "fromListing" 5600 "fromFile"`+"\n"; got != want {
		t.Errorf("the first clip says %swant %s", got, want)
	}
	if got, want := said(b, clips[1]), `"A003C002_0304_XY" "fromListing" 4300 "fromFile"`+"\n"; got != want {
		t.Errorf("the second clip says %swant %s", got, want)
	}
	if got, want := said(b, clips[5]), `"A003C007_0304_XY" "fromListing" 5600 "carriedOver"`+"\n"; got != want {
		t.Errorf("the last clip says %swant %s", got, want)
	}
	if again := joinDay(t, b, listings); again.Counts.Sure != 6 || len(again.Settings) > 0 {
		t.Errorf("after all that is adopted, joining again gives %+v, %+v", again.Counts, again.Settings)
	}
	if _, err := Adopt(b, joinDay(t, b, listings), AdoptSure); err != nil && !errors.Is(err, ErrNothing) {
		t.Errorf("adopting again: %v", err)
	}
	for i := len(acts) - 1; i >= 0; i-- {
		undone, err := amend.UndoAct(b, acts[i])
		if err != nil || len(undone.Left) > 0 {
			t.Fatalf("taking back act %d: %v, left %v", i, err, undone.Left)
		}
		apply(t, b, n, undone.Drafts)
		n += 100
		if got := fmt.Sprint(all()); got != states[i] {
			t.Errorf("after taking back act %d the clips say\n%s\nwant\n%s", i, got, states[i])
		}
	}
	if got := fmt.Sprint(all()); got != before {
		t.Errorf("after all is taken back the clips say\n%s\nwant\n%s", got, before)
	}
}

func TestWhatCannotBeAdopted(t *testing.T) {
	s, clips, listings := aDay(t)
	b := s.Book()
	j := joinDay(t, b, listings)
	for _, c := range []struct {
		what string
		want error
	}{{"all", nil}, {AdoptShift + clips[0].String(), ErrNothing}, {AdoptClip + logbook.ID{}.String(), ErrNothing}, {AdoptShift, ErrNothing}} {
		_, err := Adopt(b, j, c.what)
		var field *logbook.FieldError
		if c.want == nil && !errors.As(err, &field) || c.want != nil && !errors.Is(err, c.want) {
			t.Errorf("%s: got %v, want %v", c.what, err, c.want)
		}
	}
	t.Run("one clip is", func(t *testing.T) {
		drafts, err := Adopt(b, j, AdoptClip+clips[3].String())
		if err != nil || len(drafts) != 1 {
			t.Errorf("got %v, %v", drafts, err)
		}
	})
	t.Run("after somebody named a clip anew", func(t *testing.T) {
		s.Set(clips[1], "name", `{"text":"A003C009","from":"readOff"}`)
		if _, err := Adopt(s.Book(), j, AdoptSure); !errors.Is(err, ErrMoved) {
			t.Errorf("got %v, want %v", err, ErrMoved)
		}
	})
	t.Run("a name that two people gave is never sure", func(t *testing.T) {
		apart := s.Book()
		apply(t, apart, 1, []logbook.Draft{{Kind: kinds.Clip, Record: clips[0], Set: []logbook.Change{
			{Field: "name", Value: `{"text":"A003C077","from":"readOff"}`}}}})
		j := joinDay(t, apart, listings)
		for _, c := range j.Clips {
			if c.Clip == clips[0] && c.Result == Sure {
				t.Error("it is sure")
			}
		}
		if _, err := Adopt(apart, j, AdoptClip+clips[0].String()); !errors.Is(err, ErrMoved) {
			t.Errorf("got %v, want that somebody chooses first", err)
		}
	})
	t.Run("a name that cannot be seen", func(t *testing.T) {
		turned := strings.ReplaceAll(listings[0], "_XY", "_\u202eXY")
		j := joinDay(t, b, []string{turned, "File,Kelvin,Lens\n"})
		if j.Counts.Sure > 0 {
			t.Errorf("got %+v, want nothing sure", j.Counts)
		}
		if _, err := Adopt(b, j, AdoptClip+clips[0].String()); err == nil || strings.ContainsRune(err.Error(), '\u202e') {
			t.Errorf("got %q, want it refused and shown", err)
		}
	})
}

// What a file says of the camera is compared with what the log can say.
func TestSettingsOfTheFile(t *testing.T) {
	for _, c := range []struct {
		name      string
		row       Row
		file      Settings
		words     string
		confirmed bool
	}{
		{"the same", Row{Mode: "kelvin", Said: Settings{Kelvin: "4300", Tint: "0"}}, Settings{Kelvin: "4300.0", Tint: "+0"}, "", true},
		{"no tint is none", Row{Mode: "kelvin", Said: Settings{Kelvin: "4300"}}, Settings{Kelvin: "4300", Tint: "0"}, "", true},
		{"another kelvin", Row{Mode: "kelvin", Said: Settings{Kelvin: "4400"}}, Settings{Kelvin: "4300"}, "file 4300 K, log 4400 K", false},
		{"another tint and lens", Row{Mode: "kelvin", Said: Settings{Kelvin: "4300", Lens: "35mm"}},
			Settings{Kelvin: "4300", Tint: "2", Lens: "50 mm"}, "file tint 2, log tint none; file lens 50 mm, log lens 35mm", false},
		{"one that it was changed to", Row{Mode: "kelvin", Said: Settings{Kelvin: "4400"}, Changed: []Settings{{Kelvin: "4300"}}}, Settings{Kelvin: "4300"}, "", true},
		{"a preset is not compared", Row{Mode: "preset"}, Settings{Kelvin: "4300"}, "", false},
		{"a lens alone confirms nothing", Row{Mode: "kelvin", Said: Settings{Kelvin: "4300", Lens: "35 MM"}}, Settings{Lens: "35mm"}, "", false},
	} {
		t.Run(c.name, func(t *testing.T) {
			j := &joiner{}
			confirmed := j.compare(&c.row, &recorded{Recording: &Recording{Said: c.file}}, JoinedClip{Result: Sure})
			var words string
			for _, d := range j.out.Settings {
				words += d.Words
			}
			if words != c.words || confirmed != c.confirmed {
				t.Errorf("got %q, confirmed %v; want %q, %v", words, confirmed, c.words, c.confirmed)
			}
		})
	}
}
