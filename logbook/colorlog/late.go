package colorlog

import "time"

// Words says what was entered late, by whom and when.
func (l Late) Words() string { return l.On + " (" + l.By + ", " + l.At.Format(time.RFC3339) + ")" }
