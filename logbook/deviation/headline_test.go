package deviation_test

import (
	"fmt"
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"evenwhite/logbook"
	"evenwhite/logbook/deviation"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/stage"
)

// sayable holds a headline to what a phone shows.
func sayable(t *testing.T, kind, headline string) {
	t.Helper()
	n := utf8.RuneCountInString(headline)
	first, _ := utf8.DecodeRuneInString(headline)
	if n < 1 || n > 60 || unicode.IsLower(first) || strings.TrimSpace(headline) != headline {
		t.Errorf("%s: the headline %q has %d characters", kind, headline, n)
	}
}

func TestEveryFindingHasAHeadline(t *testing.T) {
	seen := map[string]bool{}
	for _, c := range deviationCases {
		s := stage.New(t)
		s.Minute(4)
		c.log(s)
		for _, d := range s.Deviations(s.SetUp, int((s.Clock-stage.DayBegins)/60000)+1) {
			for _, f := range append(d.Also, deviation.Finding{Kind: d.Kind, Headline: d.Headline, Words: d.Words}) {
				sayable(t, f.Kind, f.Headline)
				seen[f.Kind] = true
				if strings.Contains(f.Headline, "…") { // the names on the stage are short
					t.Errorf("%s: the headline %q was cut", f.Kind, f.Headline)
				}
			}
		}
	}
	if len(seen) < 18 {
		t.Errorf("only %d kinds were looked at", len(seen))
	}
}

// What is missing is said with what to do about it.
func TestWhatIsMissingInFewWords(t *testing.T) {
	noWhite := func(s *stage.Stage) { s.Set(s.White, "struckOut", `{"reason":"typed wrong"}`) }
	for _, c := range []struct {
		name           string
		log            func(s *stage.Stage)
		headline, toDo string
	}{
		{"one light", func(s *stage.Stage) { s.Light("window", "fill") }, "No reading of window", "meter window"},
		{"several lights", func(s *stage.Stage) {
			s.Light("window", "fill")
			s.Light("moon", "fill")
			s.Light("bulb", "key")
		}, "No reading of window, moon and bulb", "meter window, moon and bulb"},
		{"many lights", func(s *stage.Stage) {
			for i := range 6 {
				s.Light(fmt.Sprintf("panel number %d", i), "fill")
			}
		}, "No reading of 6 lights", "meter them"},
		{"a light with a long name", func(s *stage.Stage) {
			s.Light("the paper lantern that hangs above the second table from the door", "fill")
		}, "No reading of the paper lantern that hangs above the second…",
			"meter the paper lantern that hangs above the second table from the door"},
		{"no white", func(s *stage.Stage) { noWhite(s); shots(s, "5600 5600 5600") }, "No white chosen, takes 1–3", "choose a white"},
		{"no grey card", func(s *stage.Stage) {
			c := s.Add(kinds.Camera, "letter", `"C"`, "body", fmt.Sprintf(`{"body":%s}`, stage.Ref(s.BodyA)))
			s.Clip(c, s.Take(), "5600")
		}, "C: no grey card yet", "shoot a grey card with C"},
		{"never read off", func(s *stage.Stage) {
			spare := s.Add(kinds.Body, "label", `"spare"`, "whiteModes", `["kelvin"]`,
				"kelvinRanges", `[{"min":2000,"max":11000,"step":50}]`, "tintZero", `"blackBody"`, "timecode", `"none"`)
			for range 2 {
				s.Clip(s.A, s.Take(), "5600", "body", stage.Ref(spare), "settingsAre", `"carriedOver"`)
			}
		}, "A: settings never read off, takes 1 and 2", "read off A's settings"},
		{"not logged", func(s *stage.Stage) { shots(s, "5600 - 5600") }, "Camera B was not logged, take 2", "log it, or say that B did not roll"},
		{"a number twice", func(s *stage.Stage) { shots(s, "5600"); s.Takes--; shots(s, "5600") },
			"Logged twice, take 1", "say whether it is one take or two"},
		{"a lamp that is not here", func(s *stage.Stage) { s.Light("bulb", "practical", "lamp", stage.Ref(logbook.ID{1: 1})) },
			"Lamp of a light is not in the log", "name another, or wait for the phone that has it"},
		{"a reference light that was deleted", func(s *stage.Stage) {
			bulb := s.Light("bulb", "practical")
			s.Set(s.SetUp, "referenceLight", stage.Ref(bulb))
			s.Set(bulb, "deleted", "true")
		}, "Reference light of a set-up is deleted", "name another, or undo the deletion"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := stage.New(t)
			s.Minute(4)
			c.log(s)
			var got []string
			for _, d := range s.Deviations(s.SetUp, 5) {
				sayable(t, d.Kind, d.Headline)
				got = append(got, d.Headline+" | "+d.ToDo)
			}
			if want := c.headline + " | " + c.toDo; len(got) != 1 || got[0] != want {
				t.Errorf("got %q, want %q", got, want)
			}
		})
	}
}

// Two lights that were not measured are one finding, but what was accepted is not named in it.
func TestWhatIsAcceptedIsNotNamed(t *testing.T) {
	s := stage.New(t)
	window := s.Light("window", "fill")
	s.Light("moon", "fill")
	s.Add(kinds.Acceptance, "deviation", stage.Quoted(deviation.NoReading), "scope", `"setUp"`, "reason", `"out of reach"`,
		"subjects", fmt.Sprintf("[%s,%s]", stage.Ref(window), stage.Ref(s.SetUp)))
	all := s.Deviations(s.SetUp, 5)
	stage.MustKinds(t, all, "no-reading accepted no-reading")
	if all[0].Headline != "No reading of moon" || all[1].Headline != "No reading of window" || all[1].ToDo != "" {
		t.Errorf("got %q and %q, to do %q", all[0].Headline, all[1].Headline, all[1].ToDo)
	}
}

// Time passes for all lights: their old readings are one finding. A dial that was turned
// makes one of its own.
func TestOldReadingsAreOneFinding(t *testing.T) {
	s := stage.New(t)
	s.Read(s.Light("panel right", "fill"), stage.OnLocus5600)
	bulb := s.Light("bulb", "fill", "rigged/dialKelvin", "5600")
	s.Read(bulb, stage.OnLocus5600)
	s.Minute(20)
	shots(s, "5600")
	s.Minute(120)
	s.Set(bulb, "rigged/dialKelvin", "5000")
	s.Minute(125)
	shots(s, "5600 5600")
	all := s.Deviations(s.SetUp, 130)
	stage.MustKinds(t, all, "reading-stale reading-stale")
	said := map[string]string{}
	for _, d := range all {
		said[d.Headline] = d.ToDo
		if d.Count != 2 || len(d.Takes) != 2 {
			t.Errorf("%s: got count %d, %d takes; want takes 2 and 3", d.Headline, d.Count, len(d.Takes))
		}
	}
	if said["2 readings out of date since take 2"] != "meter panel left and panel right again" ||
		said["Bulb: reading out of date since take 2"] != "meter bulb again" {
		t.Errorf("got %v", said)
	}
}

// A white that has no colour says why once, and is told though only a chart was shot yet.
func TestAWhiteWithoutAColour(t *testing.T) {
	s := stage.New(t)
	s.Minute(3)
	other := s.Add(kinds.SetUp, "day", stage.Ref(s.Day), "name", `"B"`)
	s.Add(kinds.White, "setUp", stage.Ref(s.SetUp), "from", fmt.Sprintf(`{"as":"sameAs","setUp":%s}`, stage.Ref(other)),
		"appliesFrom", `{"as":"takeNumber","number":1}`, "supersedes", stage.Ref(s.White))
	s.Minute(4)
	s.Take("takeKind", `"chart"`)
	all := s.Deviations(s.SetUp, 5)
	stage.MustKinds(t, all, "white-unresolved")
	if d := all[0]; len(d.Takes) != 0 || d.Headline != "The white has no colour" {
		t.Errorf("got %q of %d takes", d.Headline, len(d.Takes))
	}
	shots(s, "5600 5600")
	d := stage.DeviationOf(t, s.Deviations(s.SetUp, 6), deviation.WhiteUnresolved)
	if d.Count != 2 || len(d.Clips) != 4 || strings.Count(d.Words, ";") != 0 || d.Headline != "The white has no colour, takes 2 and 3" {
		t.Errorf("got %d, %d clips, %q, %q", d.Count, len(d.Clips), d.Headline, d.Words)
	}
}

// A light that was off in earlier takes and is matched now leaves nothing to do.
func TestNothingIsToDoAboutWhatWasSo(t *testing.T) {
	s := stage.New(t)
	panel := s.Light("panel right", "fill", "rigged/dialKelvin", "5000")
	s.Read(panel, `{"as":"cctDuv","cctKelvin":5000,"duv":0}`)
	s.Minute(10)
	shots(s, "5600 5600")
	off := func() deviation.Deviation {
		return stage.DeviationOf(t, s.Deviations(s.SetUp, 40), deviation.LightOffReference)
	}
	if d := off(); d.ToDo == "" || d.Count != 2 {
		t.Errorf("got %q to do of %d takes", d.ToDo, d.Count)
	}
	s.Minute(20)
	s.Set(panel, "rigged/dialKelvin", "5600")
	s.Minute(21)
	s.Read(panel, stage.OnLocus5600)
	s.Minute(30)
	shots(s, "5600")
	if d := off(); d.ToDo != "" || d.Count != 2 || !strings.HasSuffix(d.Headline, ", takes 1 and 2") {
		t.Errorf("got %q, to do %q; want nothing to do", d.Headline, d.ToDo)
	}
}
