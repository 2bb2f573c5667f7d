package handset

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/glance"
)

type inner struct {
	Deep  string  `json:"deep"`
	Count *int    `json:"count,omitempty"`
	Share float64 `json:"share,omitempty"`
}

// everything has each form of a member that answers use.
type everything struct {
	inner
	*State
	Text    string                `json:"text"`
	Plain   []inner               `json:"plain"`
	Some    map[string]any        `json:"some"`
	Known   map[logbook.Kind]bool `json:"known,omitempty"`
	Raw     json.RawMessage       `json:"raw,omitempty"`
	ID      logbook.ID            `json:"id,omitzero"`
	At      time.Time             `json:"at"`
	Later   *time.Time            `json:"later,omitzero"`
	Gone    time.Time             `json:"gone,omitzero"`
	Number  float64               `json:"number"`
	Whole   uint16                `json:"whole"`
	Pair    [2]int64              `json:"pair"`
	Edit    *logbook.Edit         `json:"edit"`
	Any     any                   `json:"any"`
	NoTag   bool
	Left    string `json:"-"`
	private string
}

func drawText(chance *rand.Rand) string {
	parts := []string{"a", `"`, `\`, "\n", "\r", "\t", "\b", "\f",
		"\x00", "\x1f", "<b>", "&", "\u2028", "\u2029", "é", "e\u0301", "\ufffd", "\xff", "\xe2\x80", "😀"}
	var out strings.Builder
	for range chance.IntN(6) {
		out.WriteString(parts[chance.IntN(len(parts))])
	}
	return out.String()
}

func drawNumber(chance *rand.Rand) float64 {
	for {
		f := []float64{0, math.Copysign(0, -1), 1e21, 1e-7, 1e-6, 5600, -0.003, math.MaxFloat64, math.SmallestNonzeroFloat64,
			math.Float64frombits(chance.Uint64())}[chance.IntN(10)]
		if !math.IsNaN(f) && !math.IsInf(f, 0) {
			return f
		}
	}
}

func TestAnswersAreWrittenAsTheServiceWritesThem(t *testing.T) {
	chance := rand.New(rand.NewPCG(7, 7))
	e := new(Engine)
	for i := range 2000 {
		n := chance.IntN(3)
		text := func() string { return drawText(chance) }
		raw, err := json.Marshal(text())
		if err != nil {
			t.Fatal(err)
		}
		at := time.UnixMilli(chance.Int64N(1 << 41)).UTC()
		v := everything{inner: inner{text(), []*int{nil, &n}[i%2], drawNumber(chance)}, Text: text(),
			Plain: [][]inner{nil, {}, {{text(), &n, 0}, {}}}[n],
			Some:  []map[string]any{nil, {}, {text(): text(), "b<": drawNumber(chance), "c": nil}}[n], Raw: [][]byte{nil, raw, []byte(`{"a":"<"}`)}[n],
			At: at, Later: []*time.Time{nil, &at}[i%2], Gone: []time.Time{{}, time.Time{}.UTC(), at}[n],
			Number: drawNumber(chance), Whole: uint16(chance.Uint32()), Pair: [2]int64{-1, chance.Int64()},
			Any: []any{nil, text(), &inner{Deep: text()}}[n], NoTag: i%3 == 0, Left: "left out", private: "left out"}
		if i%2 == 0 {
			v.Known, v.ID, v.State = map[logbook.Kind]bool{"take": true, "clip": false}, logbook.ID{1}, &State{Held: i}
			v.Edit = &logbook.Edit{Kind: "take", By: text(), Set: []logbook.Change{{Field: "number", Value: "12"}}}
		}
		want, err := json.Marshal(v)
		if err != nil {
			t.Fatal(err)
		}
		got, err := e.written(v)
		if err != nil || string(got) != string(want) {
			t.Fatalf("wrote\n%s (%v), and encoding/json writes\n%s", got, err, want)
		}
	}
}

func TestAnAnswerThatIsNoJSONIsAFault(t *testing.T) {
	e := new(Engine)
	for _, v := range []any{math.NaN(), []float64{math.Inf(1)}, map[string]any{"a": make(chan int)}} {
		if out, err := e.written(v); err == nil {
			t.Errorf("%T was written as %s", v, out)
		}
	}
}

// BenchmarkAnswer writes a long answer both ways.
func BenchmarkAnswer(b *testing.B) {
	page := Takes{Takes: make([]glance.TakeLine, 500)}
	for i := range page.Takes {
		page.Takes[i].Clips = make([]glance.ClipLine, 3)
	}
	e := new(Engine)
	b.Run("written", func(b *testing.B) {
		for b.Loop() {
			if _, err := e.written(page); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("marshalled", func(b *testing.B) {
		for b.Loop() {
			if _, err := json.Marshal(page); err != nil {
				b.Fatal(err)
			}
		}
	})
}
