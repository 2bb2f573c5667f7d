package exchange_test

import (
	"testing"
)

// kept are schedules that once failed, or that a broken rule fails, cut down.
var kept = []struct {
	name  string
	steps []step
}{
	{"a contested edit is offered once, also where a restored log takes it", []step{
		{"new phone", 0, 0, 0},            // phone 0 is new
		{"new phone", 0, 0, 0},            // phone 1 is new
		{"edit", 0, 0, 0},                 // phone 0: clip 3 anew
		{"copy a running phone", 0, 0, 0}, // phone 0 is copied while it runs
		{"copy a running phone", 0, 0, 0}, // phone 0 is copied while it runs
		{"back up", 0, 0, 0},              // server 0 is backed up at 0
		{"edit", 3, 0, 0},                 // phone 3: lens of clip 3 to "0" over 1
		{"edit", 0, 0, 3},                 // phone 0: lens of clip 3 to "0" over 1
		{"exchange", 3, 0, 0},             // phone 3 with server 0: brings 0, gets 0
		{"exchange", 3, 0, 0},             // phone 3 with server 0: brings 2, gets 0
		{"push half", 0, 0, 0},            // phone 0 with server 0: brings 0, gets 2
		{"restore the backup", 0, 0, 0},   // server 0 is set back to 0 of 2 edits
	}},
	{"a copy that runs on does not write under a dot that it knows is taken", []step{
		{"new phone", 0, 0, 0},
		{"new phone", 0, 0, 0},
		{"new phone", 0, 0, 0},
		{"edit", 1, 0, 0},                 // phone 1: clip 4 anew
		{"copy a running phone", 1, 0, 0}, // phone 1 is copied while it runs
		{"make a record", 1, 0, 0},        // phone 1: clip 5 anew
		{"exchange all", 1, 0, 0},         // phone 1 with server 0: brings 0, gets 0, until there is no more
		{"send twice", 7, 0, 0},           // phone 3 with server 0: brings 0, gets 2
		{"edit", 3, 0, 0},                 // phone 3: lens of clip 4 to "0" over 1
	}},
	{"a copy that runs on does not write under a dot that it saw named", []step{
		{"new phone", 0, 0, 0},
		{"new phone", 0, 0, 0},
		{"edit", 1, 0, 0},                         // phone 1: clip 3 anew
		{"send twice", 1, 0, 0},                   // phone 1 with server 0: brings 0, gets 0
		{"exchange", 1, 0, 0},                     // phone 1 with server 0: brings 1, gets 0
		{"edit", 1, 0, 0},                         // phone 1: lens of clip 3 to "0" over 1
		{"exchange", 0, 0, 0},                     // phone 0 with server 0: brings 0, gets 1
		{"exchange", 1, 0, 0},                     // phone 1 with server 0: brings 1, gets 0
		{"refer to what may be nowhere", 0, 0, 0}, // phone 0: setUp of clip 3 over 0
		{"copy a running phone", 0, 0, 0},         // phone 0 is copied while it runs
		{"new phone", 0, 0, 0},                    // phone 3 is new
		{"edit", 6, 0, 135},                       // phone 2: lens of clip 3 to "2" over 1
		{"start a phone again", 2, 0, 0},          // phone 2 starts again
		{"push in another order", 6, 0, 0},        // phone 2 with server 0: brings 2, gets 1
		{"empty the server", 0, 0, 0},             // server 0 is emptied
		{"push half", 0, 0, 0},                    // phone 0 with server 0: brings 0, gets 0, reset
		{"settle a conflict", 2, 0, 0},            // phone 2: lens of clip 3, in conflict, to "2" over 2
		{"cut the answer", 2, 0, 0},               // phone 2 with server 0: brings 1, gets 0, reset, cut off after 0
		{"send twice", 0, 0, 0},                   // phone 0 with server 0: brings 2, gets 1
		{"edit", 0, 0, 0},                         // phone 0: lens of clip 3 to "0" over 2
	}},
	{"a phone begins a new line after a start", []step{
		{"new phone", 0, 0, 0},
		{"new phone", 0, 0, 0},
		{"edit", 1, 0, 0},          // phone 1: clip 3 anew
		{"copy a phone", 1, 0, 0},  // phone 1 is copied
		{"make a record", 5, 0, 0}, // phone 2: clip 4 anew
		{"edit", 1, 0, 0},          // phone 1: lens of clip 3 to "0" over 1
	}},
	{"a server begins a new line after a start", []step{
		{"new phone", 0, 0, 0},
		{"back up", 0, 0, 0},               // server 0 is backed up at 0
		{"edit by REST", 0, 0, 0},          // server 0: clip 2 anew
		{"push in another order", 0, 0, 0}, // phone 0 with server 0: brings 0, gets 1
		{"restore the backup", 0, 0, 0},    // server 0 is set back to 0 of 1 edits
		{"edit by REST", 0, 0, 0},          // server 0: clip 3 anew
	}},
}

func TestSchedulesThatWereKept(t *testing.T) {
	for _, c := range kept {
		t.Run(c.name, func(t *testing.T) {
			if r := run(c.steps); r.err != nil {
				t.Errorf("%v\n%s", r.err, rowsOf(c.steps, r.words))
			}
		})
	}
}
