package demo

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"hash"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
)

// hashed is a store that hashes what is pushed to it, push by push.
type hashed struct {
	*logbook.Memory
	sum   hash.Hash
	edits int
}

func (h *hashed) Append(production logbook.ID, entries []logbook.Entry) ([]logbook.Receipt, error) {
	fmt.Fprintf(h.sum, "push to %s of %d\n", production, len(entries))
	for _, e := range entries {
		fmt.Fprintf(h.sum, "%s %x via %s at %d\n", e.Dot, e.Hash, e.Via, e.Received)
	}
	h.edits += len(entries)
	return h.Memory.Append(production, entries)
}

// Whoever changes the demo changes this digest knowingly; the golden colour log shows what
// else it changed.
func TestTheDemosEditsAreTheSameToTheByte(t *testing.T) {
	store := &hashed{Memory: logbook.NewMemory(), sum: sha256.New()}
	l, err := logbook.OpenLog(store, Production, kinds.Rules, func() logbook.Line { return logbook.Line{1} })
	if err != nil {
		t.Fatal(err)
	}
	if err := Fill(l, asWritten); err != nil {
		t.Fatal(err)
	}
	const edits, want = 219, "e61e23d3b244fe9ec42f1a964b06fac71c75d6120cbb9d735c41f956f19137c9"
	if got := hex.EncodeToString(store.sum.Sum(nil)); store.edits != edits || got != want {
		t.Errorf("got %d edits with the digest %s, want %d with %s", store.edits, got, edits, want)
	}
}
