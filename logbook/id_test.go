package logbook_test

import (
	"testing"

	"evenwhite/logbook"
)

func TestIDsAreTextInJSON(t *testing.T) {
	id := logbook.ID{1: 2, 15: 3}
	text, err := id.MarshalText()
	if err != nil || string(text) != id.String() {
		t.Fatalf("got %s, %v", text, err)
	}
	var back logbook.ID
	if err := back.UnmarshalText(text); err != nil || back != id {
		t.Errorf("got %s, %v, want %s", back, err, id)
	}
	if err := back.UnmarshalText([]byte("00000000-0000-0000-0000-000000000000")); err == nil {
		t.Error("the nil UUID is taken")
	}
}
