package slate

import (
	"flag"
	"fmt"
	"math/rand/v2"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/logtest"
)

var shotsSeed = flag.Uint64("shots.seed", 1, "the seed of the first history")

// drawShots makes edits of clips, takes, set-ups, days, cameras and bodies, in the order in
// which they arrive: any. Clips say when they began, or their takes do; names are counted
// or read off; days, cameras and bodies are joined; all may be struck out and brought back.
func drawShots(chance *rand.Rand) []*logbook.Edit {
	var edits []*logbook.Edit
	firsts := map[logbook.Kind]int{kinds.Day: 10, kinds.SetUp: 20, kinds.Camera: 30, kinds.Body: 40, kinds.Take: 50, kinds.Clip: 60}
	written := map[int]uint64{}
	some := func(kind logbook.Kind) logbook.ID {
		return logtest.ID(firsts[kind] + chance.IntN(3+map[logbook.Kind]int{kinds.Take: 5, kinds.Clip: 30}[kind]))
	}
	ref := func(kind logbook.Kind) logbook.Value { return logbook.IDValue(some(kind)) }
	oneOf := func(all ...string) logbook.Value { return logbook.Value(all[chance.IntN(len(all))]) }
	for range 60 + chance.IntN(120) {
		line := chance.IntN(4)
		written[line]++
		e := &logbook.Edit{Production: logtest.Production, Device: logtest.ID(90 + line), Dot: logtest.Dot(line, written[line]),
			At: logbook.Millis(1_900_000_000_000 + 60_000*chance.IntN(50)), By: "phone"}
		began := oneOf(`"2030-03-17T18:00:00Z"`, `"2030-03-17T17:50:00Z"`, `"2030-03-18T09:00:00Z"`, "null")
		switch chance.IntN(12) {
		case 0:
			e.Kind, e.Set = kinds.Day, []logbook.Change{{Field: "date", Value: oneOf(`"2030-03-17"`, `"2030-03-18"`)}}
		case 1:
			e.Kind, e.Set = kinds.SetUp, []logbook.Change{{Field: "day", Value: ref(kinds.Day)}}
		case 2:
			e.Kind, e.Set = kinds.Body, []logbook.Change{{Field: "clipNameRule", Value: logbook.Value(fmt.Sprintf(
				`[{"as":"fixed","text":"A"},{"as":"clip","digits":3,"reset":%s,"rollOver":%s,"start":1}]`,
				oneOf(`"newCard"`, `"never"`, `"daily"`), oneOf("9", "999")))}}
		case 3, 4:
			e.Kind, e.Set = kinds.Take, []logbook.Change{{Field: "startedAt", Value: began}}
		case 5, 6, 7, 8:
			e.Kind, e.Set = kinds.Clip, []logbook.Change{
				{Field: "camera", Value: ref(kinds.Camera)}, {Field: "body", Value: ref(kinds.Body)}, {Field: "setUp", Value: ref(kinds.SetUp)},
				{Field: "card", Value: oneOf(`"A1"`, `"A2"`, `"roll"`, "null")}, {Field: "takes/" + some(kinds.Take).String(), Value: oneOf("{}", "{}", "null")},
				{Field: "name", Value: logbook.Value(fmt.Sprintf(`{"from":%s,"text":"A%03d"}`, oneOf(`"counted"`, `"readOff"`), 1+chance.IntN(12)))}}
			chance.Shuffle(len(e.Set), func(i, j int) { e.Set[i], e.Set[j] = e.Set[j], e.Set[i] })
			e.Set = e.Set[:2+chance.IntN(5)]
		case 9:
			e.Kind, e.Set = kinds.Clip, []logbook.Change{{Field: "startedAt", Value: began}, {Field: "rolled", Value: oneOf("true", "false")}}
		default:
			for e.Kind = range firsts {
				if chance.IntN(3) == 0 {
					break
				}
			}
			e.Set = []logbook.Change{{Field: "same/" + some(e.Kind).String(), Value: oneOf(`"one"`, `"one"`, `"two"`)}}
			if chance.IntN(2) == 0 {
				e.Set = []logbook.Change{{Field: logbook.DeletedField, Value: oneOf("true", "null", "null")}}
			}
		}
		e.Record = some(e.Kind)
		for i := range e.Set {
			for _, before := range edits {
				if _, ok := before.Change(e.Set[i].Field); ok && before.Record == e.Record && chance.IntN(2) == 0 {
					e.Set[i].Over = append(e.Set[i].Over, before.Dot)
				}
			}
			e.Set[i].Value, _ = logbook.ParseValue(string(e.Set[i].Value))
		}
		if _, err := logbook.EncodeEdit(e); err != nil {
			panic(err)
		}
		edits = append(edits, e)
	}
	chance.Shuffle(len(edits), func(i, j int) { edits[i], edits[j] = edits[j], edits[i] })
	return edits
}

// lastByWalk states a second time which clip is the last: by a walk over all clips.
func lastByWalk(b *logbook.Book, upTo logbook.Millis, fits func(logbook.View) bool) (last logbook.ID) {
	when := logbook.Beginning
	for _, clip := range b.Records(kinds.Clip) {
		if at := momentOf(b, clip); fits(clip) && at >= when && at <= upTo {
			last, when = clip.ID, at
		}
	}
	return last
}

// countedByWalk is what a counter says once all clips of the body were looked at.
func countedByWalk(b *logbook.Book, body logbook.View) string {
	c := &clipCounter{book: b, last: map[string]int{}}
	if c.rule, c.known = clipRuleOf(body); c.known {
		for _, clip := range b.Records(kinds.Clip) {
			if clip.Ref("body") == body.ID {
				c.count(clip)
			}
		}
	}
	return said(c)
}

func said(c *clipCounter) string { return fmt.Sprint(c.known, c.last, c.cards) }

func TestTheLastClipAndTheCounterAreWhatAWalkOverAllClipsFinds(t *testing.T) {
	found, counted := 0, 0
	for i := range uint64(25) {
		chance := rand.New(rand.NewPCG(*shotsSeed+i, 3))
		b := logbook.NewBook(logtest.Production, kinds.Rules)
		edits := drawShots(chance)
		for n, e := range edits {
			if err := b.Apply(e); err != nil {
				t.Fatalf("edit %s is refused: %v", e.Dot, err)
			}
			b.Prepare(KeepShots, chance.IntN(8)) // edits come before all is told
			if chance.IntN(6) > 0 && n < len(edits)-1 {
				continue
			}
			for _, upTo := range []logbook.Millis{logbook.Ever, 1_900_000_900_000, 1_900_001_500_000} {
				for c := range 4 {
					camera := b.Resolve(logtest.ID(30 + c))
					for at := range 4 {
						body := logbook.ID{} // of clips that name none
						if at > 0 {
							body = b.Resolve(logtest.ID(39 + at))
						}
						for _, asked := range [][2]*logbook.ID{{&camera, nil}, {nil, &body}, {&camera, &body}} {
							got, _ := lastShot(b, asked[0], asked[1], upTo)
							want := lastByWalk(b, upTo, func(clip logbook.View) bool {
								return (asked[0] == nil || clip.Ref("camera") == camera) && (asked[1] == nil || clip.Ref("body") == body)
							})
							if got.ID != want {
								t.Fatalf("seed %d, after %d edits: the last of %v up to %d is %s, want %s", *shotsSeed+i, n+1, asked, upTo, got.ID, want)
							}
							if !want.IsZero() {
								found++
							}
						}
					}
				}
			}
			for _, body := range b.AllRecords(kinds.Body) {
				c := counterOf(b, body)
				if got, want := said(c), countedByWalk(b, body); got != want {
					t.Fatalf("seed %d, after %d edits: the counter of body %s is %s, want %s", *shotsSeed+i, n+1, body.ID, got, want)
				}
				counted += len(c.last)
			}
		}
	}
	if found < 1000 || counted < 300 {
		t.Errorf("%d clips and %d counters were looked at, want 1000 and 300 at least", found, counted)
	}
}
