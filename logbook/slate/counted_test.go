package slate_test

import (
	"fmt"
	"strings"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/slate"
	"evenwhite/logbook/stage"
)

// What is typed into a service and cannot be is refused, by the rate of the clip, else of the production.
func TestImpossibleTimecodesOfAClipAreRefused(t *testing.T) {
	s := stage.New(t)
	s.Set(s.Book().Production(), "frameRate", `"25"`)
	s.Minute(5)
	_, clip, _ := s.Shoot("5600", "4300")
	s.Set(clip, "timecode/start", `"10:00:00:00"`)
	for _, c := range []struct{ set, field string }{
		{`timecode/start "10:00:00:24"`, ""}, {`timecode/start "10:00:00:59"`, "timecode/start"}, {`timecode/start "10:00:00;10"`, "timecode/start"},
		{`timecode/end "10:00:30:00"`, ""}, {`timecode/end "09:59:59:00"`, "timecode/end"}, {`timecode/end "00:00:00:30"`, "timecode/end"},
		{`timecode/rate "29.97" timecode/drop true timecode/start "00:01:00;00"`, "timecode/start"},
		{`timecode/rate "29.97" timecode/drop true timecode/start "00:01:00;02"`, ""},
		{`timecode/rate "25" timecode/drop true`, "timecode/rate"}, {`takes/#t {"beginsAt":"10:00:00:25"}`, "takes/#t"},
		{`timecode/start null`, ""}, {`lens "35"`, ""},
	} {
		var set []logbook.Change
		words := strings.Fields(c.set)
		for i := 0; i < len(words); i += 2 {
			set = append(set, logbook.Change{Field: words[i], Value: logbook.Value(words[i+1])})
		}
		_, err := slate.Counted(s.Book(), []logbook.Draft{{Kind: kinds.Clip, Record: clip, Set: set}})
		if got := fmt.Sprint(err); (c.field == "") != (err == nil) || err != nil && !strings.HasPrefix(got, c.field+" is ") {
			t.Errorf("%s: got %v, want an error about %q", c.set, err, c.field)
		}
	}
}
