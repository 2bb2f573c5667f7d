package states_test

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"math/big"
	"os"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"evenwhite/logbook"
	"evenwhite/logbook/logtest"
	"evenwhite/logbook/states"
)

var rules = logbook.Rules{Version: 1, Judge: func(*logbook.Edit) error { return nil }}

func drawRanges(t *rapid.T) logbook.Ranges {
	held := &logbook.Held{}
	for range rapid.IntRange(0, 30).Draw(t, "spans") {
		from := rapid.Uint64Range(1, 60).Draw(t, "from")
		line := logtest.Line(rapid.IntRange(0, 6).Draw(t, "line"))
		held.AddSpan(line, logbook.Span{From: from, To: from + rapid.Uint64Range(0, 5).Draw(t, "more")})
	}
	return held.Ranges()
}

func TestANameIsReadAsItWasWritten(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := states.State{Held: drawRanges(t)}
		copy(s.Digest[:], rapid.SliceOfN(rapid.Byte(), 16, 16).Draw(t, "digest"))
		got, err := states.Parse(s.String())
		if err != nil || got.String() != s.String() || got.Digest != s.Digest || got.Edits() != s.Edits() {
			t.Fatalf("%s was read as %s (%v)", s, got, err)
		}
	})
}

func TestWhatIsNoNameIsRefused(t *testing.T) {
	const digest, line, later = "00112233445566778899aabbccddeeff", ".00c0ffee00c0ffee", ".00c0ffee00c0fff0"
	for _, good := range []string{digest, digest + line + "_1", digest + line + "_5_7_9-9" + later + "_2-3"} {
		if _, err := states.Parse(strings.Replace(good, "_5_7", "_5_7-7", 1)); err != nil {
			t.Errorf("%s: %v", good, err)
		}
	}
	for what, text := range map[string]string{
		"nothing": "", "words": "one two three", "a digest too short": digest[2:] + line + "_1", "a digest too long": digest + "00",
		"capitals": strings.ToUpper(digest), "a line without spans": digest + line, "a line twice": digest + line + "_1" + line + "_5-6",
		"lines the wrong way round": digest + later + "_1" + line + "_1", "edit 0": digest + line + "_0", "a span from 0": digest + line + "_0-4",
		"a zero before a number": digest + line + "_01",
		"spans that meet":        digest + line + "_4_5-6", "spans that overlap": digest + line + "_4_3-6",
		"a span backwards": digest + line + "_6-4", "a span from 1 in full": digest + line + "_1-4", "no number": digest + line + "_x",
		"more than a number holds": digest + line + "_99999999999999999999", "a line that is none": digest + ".00c0ffee_1",
	} {
		if s, err := states.Parse(text); !errors.Is(err, states.ErrName) {
			t.Errorf("%s was read as %v (%v)", what, s, err)
		}
	}
}

// drawLog makes a log of drawn edits of some lines, and returns them in the order in which they came.
func drawLog(t *rapid.T) (store *logbook.Memory, l *logbook.Log, edits []*logbook.Edit) {
	for line := range rapid.IntRange(1, 4).Draw(t, "lines") {
		for n := range rapid.Uint64Range(1, 12).Draw(t, "edits") {
			edits = append(edits, logtest.ClipEdit(line, n+1, "lens", logbook.TextValue(rapid.StringMatching("[a-z]{1,5}").Draw(t, "lens"))))
		}
	}
	edits = rapid.Permutation(edits).Draw(t, "order")
	store = logbook.NewMemory()
	l, err := logbook.OpenLog(store, logtest.Production, rules, logtest.Lines(0x10))
	if err != nil {
		t.Fatal(err)
	}
	return store, l, edits
}

func push(t *rapid.T, l *logbook.Log, edits []*logbook.Edit) {
	if _, err := l.Push(edits, logtest.ID(60), 9); err != nil {
		t.Fatal(err)
	}
}

// stated says the digest of edits as the documentation does.
func stated(t *rapid.T, edits []*logbook.Edit) (digest logbook.Hash) {
	edits = slices.Clone(edits)
	slices.SortFunc(edits, func(a, b *logbook.Edit) int { return bytes.Compare(key(a), key(b)) })
	var all []byte
	for i := 0; i < len(edits); {
		line, hashes := edits[i].Dot.Line, []byte(nil)
		for ; i < len(edits) && edits[i].Dot.Line == line; i++ {
			b, err := logbook.EncodeEdit(edits[i])
			if err != nil {
				t.Fatal(err)
			}
			hash := logbook.HashOf(b)
			hashes = append(hashes, hash[:]...)
		}
		sum := sha256.Sum256(hashes)
		all = append(append(all, line[:]...), sum[:]...)
	}
	sum := sha256.Sum256(all)
	copy(digest[:], sum[:])
	return digest
}

func key(e *logbook.Edit) []byte { return append(e.Dot.Line[:], byte(e.Dot.N)) }

// However a log came to its edits, and wherever it was asked before, its state is that of the edits.
func TestAStateIsThatOfTheEditsInAnyOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		_, l, edits := drawLog(t)
		var digests states.Digests
		for at := 0; at < len(edits); {
			some := rapid.IntRange(1, len(edits)-at).Draw(t, "some")
			push(t, l, edits[at:at+some])
			at += some
			head, err := l.Head()
			if err != nil {
				t.Fatal(err)
			}
			if rapid.Bool().Draw(t, "of an earlier head") {
				head.Seq = logbook.Seq(rapid.IntRange(1, at).Draw(t, "head"))
				head.Chain, _, _ = l.ChainAt(head.Seq)
			}
			s, err := digests.At(l.Page, l.Production(), head)
			if err != nil || s.Digest != stated(t, edits[:head.Seq]) || s.Edits() != uint64(head.Seq) {
				t.Fatalf("at %d of %d: got %s (%v), want the digest %x", head.Seq, at, s, err, stated(t, edits[:head.Seq]))
			}
		}
	})
}

func TestTheBookOfAStateIsMadeAgain(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		_, l, edits := drawLog(t)
		then := rapid.IntRange(0, len(edits)).Draw(t, "then")
		push(t, l, edits[:then])
		head, err := l.Head()
		if err != nil {
			t.Fatal(err)
		}
		var digests states.Digests
		s, err := digests.At(l.Page, l.Production(), head)
		if err != nil {
			t.Fatal(err)
		}
		want := logtest.Records(logtest.Book(rules, edits[:then]...), []logbook.Kind{"clip"})
		other, again, order := drawnAgain(t, edits)
		push(t, again, order)
		b, err := states.Book(other, l.Production(), rules, s)
		if err != nil {
			t.Fatal(err)
		}
		if got := logtest.Records(b, []logbook.Kind{"clip"}); got != want || len(b.Holds()) != len(s.Held) {
			t.Fatalf("got\n%s\nwant\n%s", got, want)
		}
	})
}

// drawnAgain is an empty log, and the edits in another order: that of a restored one.
func drawnAgain(t *rapid.T, edits []*logbook.Edit) (*logbook.Memory, *logbook.Log, []*logbook.Edit) {
	store := logbook.NewMemory()
	l, err := logbook.OpenLog(store, logtest.Production, rules, logtest.Lines(0x20))
	if err != nil {
		t.Fatal(err)
	}
	return store, l, rapid.Permutation(edits).Draw(t, "order elsewhere")
}

func TestALogThatLacksAStateSaysWhatIsMissing(t *testing.T) {
	var all []*logbook.Edit
	for n := range uint64(6) {
		all = append(all, logtest.ClipEdit(1, n+1, "lens", `"50"`))
	}
	all = append(all, logtest.ClipEdit(2, 1, "lens", `"35"`))
	store := logbook.NewMemory()
	l := logtest.Open(t, store, rules, 0x10)
	if _, err := l.Push(all, logtest.ID(60), 9); err != nil {
		t.Fatal(err)
	}
	var digests states.Digests
	head, err := l.Head()
	if err != nil {
		t.Fatal(err)
	}
	s, err := digests.At(l.Page, l.Production(), head)
	if err != nil {
		t.Fatal(err)
	}
	poor := logbook.NewMemory()
	if _, err := logtest.Open(t, poor, rules, 0x20).Push([]*logbook.Edit{all[0], all[1], all[4]}, logtest.ID(60), 9); err != nil {
		t.Fatal(err)
	}
	_, err = states.Book(poor, logtest.Production, rules, s)
	want := "this log does not hold the state: of line " + logtest.Line(1).String() + " it lacks 3 to 4, 6 to 6; of line " +
		logtest.Line(2).String() + " it lacks 1 to 1"
	if !errors.Is(err, states.ErrNotHeld) || err.Error() != want {
		t.Errorf("got %v\nwant %s", err, want)
	}
	other := logbook.NewMemory()
	all[3] = logtest.ClipEdit(1, 4, "lens", `"85"`)
	if _, err := logtest.Open(t, other, rules, 0x20).Push(all, logtest.ID(60), 9); err != nil {
		t.Fatal(err)
	}
	_, err = states.Book(other, logtest.Production, rules, s)
	if !errors.Is(err, states.ErrNotHeld) || !strings.Contains(err.Error(), "other edits") {
		t.Errorf("of a log that holds others under the same numbers: %v", err)
	}
}

// The words are 66 bits of the digest, 11 each, the first first.
func TestAStateIsToldInSixWords(t *testing.T) {
	text, err := os.ReadFile("words.txt")
	if err != nil {
		t.Fatal(err)
	}
	words, begin := strings.Fields(string(text)), map[string]bool{}
	for _, w := range words {
		begin[w[:min(4, len(w))]] = true
	}
	if len(words) != 2048 || len(begin) != 2048 || !slices.IsSorted(words) {
		t.Errorf("%d words, which begin with %d different four letters; want 2048 of both, in order", len(words), len(begin))
	}
	rapid.Check(t, func(t *rapid.T) {
		var s states.State
		copy(s.Digest[:], rapid.SliceOfN(rapid.Byte(), 16, 16).Draw(t, "digest"))
		n := new(big.Int)
		for _, w := range strings.Fields(s.Words()) {
			n.Add(n.Lsh(n, 11), big.NewInt(int64(slices.Index(words, w))))
		}
		if want := new(big.Int).Rsh(new(big.Int).SetBytes(s.Digest[:]), 128-66); n.Cmp(want) != 0 {
			t.Fatalf("%x is told as %s, which is %x; want %x", s.Digest, s.Words(), n, want)
		}
	})
	if got := (states.State{}).Words(); got != "abandon abandon abandon abandon abandon abandon" {
		t.Errorf("got %s", got)
	}
}

func TestAStateThatWasHandedOutIsFoundByItsShortNames(t *testing.T) {
	store := logbook.NewMemory()
	named := func(n byte) states.State {
		return states.State{Digest: logbook.Hash{n, n, 7, n}, Held: logbook.Ranges{logtest.Line(1): {{From: 1, To: uint64(n)}}}}
	}
	for n := byte(1); n <= 120; n++ {
		for range 2 { // again is no other
			if err := states.Hand(store, logtest.Production, named(n), logbook.Millis(n)); err != nil {
				t.Fatal(err)
			}
		}
	}
	find := func(text string) (states.State, error) {
		return states.Find(store, logtest.Production, text, named(200))
	}
	for _, n := range []byte{21, 120, 200} {
		for _, text := range []string{named(n).String(), named(n).Key(), named(n).Words(), strings.ToUpper(named(n).Words())} {
			if got, err := find(text); err != nil || got.String() != named(n).String() {
				t.Errorf("%q: got %s (%v)", text, got, err)
			}
		}
	}
	forgotten, never := named(20), named(201)
	for _, text := range []string{forgotten.Key(), forgotten.Words(), never.Key(), "zoo zoo zoo zoo zoo zoo"} {
		if got, err := find(text); !errors.Is(err, states.ErrUnknown) {
			t.Errorf("%q: got %s (%v)", text, got, err)
		}
	}
	if got, err := find("such a thing"); !errors.Is(err, states.ErrName) {
		t.Errorf("got %s (%v)", got, err)
	}
	if _, err := states.Find(store, logtest.ID(9), named(21).Key(), named(200)); !errors.Is(err, states.ErrUnknown) {
		t.Errorf("another production's state was found: %v", err)
	}
}
