package lighting_test

import (
	"errors"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/lighting"
	"evenwhite/logbook/stage"
)

func TestWhatIsLearntOfNothing(t *testing.T) {
	s := stage.New(t)
	b := s.Book()
	for what, err := range map[string]error{
		"a lamp":  second(lighting.LearntOfLamp(b, s.Key, s.Clock)),
		"a gel":   second(lighting.LearntOfGel(b, s.Key, s.Clock)),
		"a meter": second(lighting.LearntOfMeter(b, s.Key, s.Clock)),
	} {
		if !errors.Is(err, logbook.ErrNoRecord) {
			t.Errorf("%s that is none: got %v, want ErrNoRecord", what, err)
		}
	}
}

func second[T any](_ T, err error) error { return err }
