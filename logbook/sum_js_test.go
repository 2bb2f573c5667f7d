package logbook_test

import (
	"crypto/sha256"
	"math/rand/v2"
	"testing"

	"evenwhite/logbook"
)

func TestASumIsThatOfTheLibrary(t *testing.T) {
	chance := rand.New(rand.NewPCG(3, 5))
	for size := range 400 {
		text := make([]byte, size)
		for i := range text {
			text[i] = byte(chance.Uint32())
		}
		if got, want := logbook.Sum(text), sha256.Sum256(text); got != want {
			t.Fatalf("%d bytes: got %x, want %x", size, got, want)
		}
	}
}
