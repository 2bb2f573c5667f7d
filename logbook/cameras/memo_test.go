package cameras_test

import (
	"fmt"
	"reflect"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/cameras"
	"evenwhite/logbook/stage"
)

// A long job has new settings on each date: else who writes its colour log would hold them all.
func TestAMemoDoesNotGrowWithTheJob(t *testing.T) {
	s := stage.New(t)
	b := s.Book()
	body, _ := b.Record(s.BodyB)
	m := cameras.NewMemo(b)
	for i := range 500 {
		set := cameras.SettingOf(`"kelvin"`, logbook.Value(fmt.Sprint(3000+10*i)), "", "", "")
		if got, want := m.Label(set, body), cameras.NewMemo(b).Label(set, body); !reflect.DeepEqual(got, want) {
			t.Fatalf("setting %d: got %+v, want %+v as by a new one", i, got, want)
		}
	}
	if n := m.Labels(); n < 20 || n > 100 {
		t.Errorf("of 500 settings it keeps %d, want those of some set-ups", n)
	}
}
