package logbook

import (
	"testing"
)

func TestACorrectedTimeStaysWithinTheYearsThatCanBeWritten(t *testing.T) {
	for _, c := range []struct {
		name             string
		at, offset, want Millis
	}{
		{"an offset of ten years", 1e12, 315e9, 1e12 + 315e9},
		{"before 1970", 5, -10, 0},
		{"after the year 9999", yearTenThousand - 1, yearTenThousand - 1, yearTenThousand - 1},
	} {
		e := clipEdit(1, 1, "lens", `"35"`)
		e.At, e.Offset = c.at, c.offset
		if _, err := EncodeEdit(e); err != nil {
			t.Fatalf("%s: %v", c.name, err)
		}
		if got := e.Corrected(); got != c.want {
			t.Errorf("%s: got %d, want %d", c.name, got, c.want)
		}
		if _, err := e.Corrected().Time().MarshalJSON(); err != nil {
			t.Errorf("%s: %v", c.name, err)
		}
	}
}
