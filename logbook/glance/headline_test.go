package glance_test

import (
	"fmt"
	"testing"
	"unicode/utf8"

	"evenwhite/logbook/deviation"
	"evenwhite/logbook/glance"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/stage"
)

func TestTheHeadlineOfNow(t *testing.T) {
	for _, c := range []struct {
		name string
		log  func(s *stage.Stage)
		want string
	}{
		{"one light, and it is fine", func(*stage.Stage) {}, "1 light is fine"},
		{"one light was not metered", func(s *stage.Stage) { s.Light("window", "fill") }, "1 light is fine; 1 should be metered: window"},
		{"two lights were not metered", func(s *stage.Stage) {
			s.Read(s.Light("panel", "fill"), stage.OnLocus5600)
			s.Light("window", "fill")
			s.Light("moon", "fill")
			s.Light("bulb", "practical", "intent", `"leave"`)
			s.Light("spot", "fill", "rigged/on", "false")
		}, "2 lights are fine; 2 should be metered: window, moon"},
		{"none is fine", func(s *stage.Stage) { s.Set(s.Key, "deleted", "true"); s.Light("window", "fill") }, "1 light should be metered: window"},
		{"one was turned since", func(s *stage.Stage) { s.Set(s.Key, "rigged/dialKelvin", "5000") }, "1 light should be metered: panel left"},
		{"many were not metered", func(s *stage.Stage) {
			for i := range 5 {
				s.Light(fmt.Sprintf("panel number %d", i), "fill")
			}
		}, "1 light is fine; 5 should be metered"},
		{"nothing is there", func(s *stage.Stage) {
			s.SetUp = s.Add(kinds.SetUp, "day", stage.Ref(s.Day), "name", `"B"`)
		}, "Nothing is off"},
		{"the worst comes first", func(s *stage.Stage) {
			s.Light("window", "fill")
			s.Clip(s.A, s.Take(), "", "whiteMode", `"auto"`)
		}, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := stage.New(t)
			s.Minute(4)
			c.log(s)
			n, err := glance.Now(s.Book(), s.SetUp, stage.Minute(5))
			if err != nil {
				t.Fatal(err)
			}
			want := c.want
			if want == "" {
				want = n.Deviations[0].Headline + "; 1 more"
				if n.Deviations[0].Kind != deviation.AutomaticWhite || utf8.RuneCountInString(want) > 60 {
					want = n.Deviations[0].Headline
				}
			}
			if n.Headline != want {
				t.Errorf("got %q, want %q", n.Headline, want)
			}
		})
	}
	t.Run("what was accepted is not in it", func(t *testing.T) {
		s := stage.New(t)
		window := s.Light("window", "fill")
		s.Read(window, `{"as":"cctDuv","cctKelvin":5200,"duv":0}`)
		s.Add(kinds.Acceptance, "deviation", stage.Quoted(deviation.LightOffReference), "scope", `"setUp"`, "reason", `"wanted"`,
			"subjects", fmt.Sprintf("[%s,%s]", stage.Ref(window), stage.Ref(s.SetUp)))
		n, err := glance.Now(s.Book(), s.SetUp, stage.Minute(5))
		if err != nil || n.Headline != "1 light is fine" {
			t.Errorf("got %q, %v", n.Headline, err)
		}
	})
}
