package amend_test

import (
	"cmp"
	"flag"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/amend"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/logtest"
)

var keptSeed = flag.Uint64("kept.seed", 1, "the seed of the first history")

// drawDay makes edits of few set-ups, cameras, takes and clips, with answers about twins,
// strikings-out, values written apart and edits that are refused, in the order in which
// they arrive: any.
func drawDay(chance *rand.Rand) []*logbook.Edit {
	var edits []*logbook.Edit
	id := func(from, n int) logbook.ID { return logtest.ID(from + chance.IntN(n)) }
	written := map[int]uint64{}
	for range 20 + chance.IntN(80) {
		line := chance.IntN(4)
		written[line]++
		e := &logbook.Edit{Production: logtest.Production, Device: logtest.ID(60 + line), Dot: logtest.Dot(line, written[line]),
			At: logbook.Millis(chance.IntN(30)), By: "phone"}
		var set []string
		switch chance.IntN(8) {
		case 0:
			e.Kind, e.Record = kinds.SetUp, id(10, 3)
			set = []string{"day", string(logbook.IDValue(id(5, 2))), "name", pick(chance, `"A"`, `"a"`, `"Caf\u00e9"`, `"Cafe\u0301"`)}
		case 1:
			e.Kind, e.Record = kinds.Camera, id(20, 3)
			set = []string{"letter", pick(chance, `"A"`, `"B"`)}
		case 2, 3:
			e.Kind, e.Record = kinds.Take, id(30, 6)
			set = []string{"setUp", string(logbook.IDValue(id(10, 3))), "number", pick(chance, "1", "1.0", "2"),
				"state", pick(chance, `"complete"`, `"numberUsedAgain"`)}
		case 4, 5:
			e.Kind, e.Record = kinds.Clip, id(40, 6)
			set = []string{"camera", string(logbook.IDValue(id(20, 3))), "takes/" + id(30, 6).String(), pick(chance, "{}", "{}", "null"),
				"kelvin", pick(chance, "3200", "5600", "-3")}
		default:
			e.Kind, e.Record = pick(chance, kinds.SetUp, kinds.Camera, kinds.Take, kinds.Clip), logbook.ID{}
			from := map[logbook.Kind]int{kinds.SetUp: 10, kinds.Camera: 20, kinds.Take: 30, kinds.Clip: 40}[e.Kind]
			e.Record = id(from, 6)
			set = []string{"same/" + id(from, 6).String(), pick(chance, `"one"`, `"one"`, `"two"`, "null")}
			if chance.IntN(3) == 0 {
				set = []string{logbook.DeletedField, pick(chance, "true", "null")}
			}
		}
		for i := 0; i < len(set); i += 2 {
			c := logbook.Change{Field: set[i], Value: logbook.Value(set[i+1])}
			if v, err := logbook.ParseValue(set[i+1]); err == nil {
				c.Value = v
			}
			for _, before := range edits {
				if _, ok := before.Change(c.Field); ok && before.Record == e.Record && chance.IntN(2) == 0 {
					c.Over = append(c.Over, before.Dot)
				}
			}
			e.Set = append(e.Set, c)
		}
		if _, err := logbook.EncodeEdit(e); err != nil {
			panic(err)
		}
		edits = append(edits, e)
	}
	chance.Shuffle(len(edits), func(i, j int) { edits[i], edits[j] = edits[j], edits[i] })
	return edits
}

func pick[T any](chance *rand.Rand, all ...T) T { return all[chance.IntN(len(all))] }

// pairsAsked states a second time which pairs are asked about: of records with an equal key,
// of which no part of one was answered to be two with a part of the other.
func pairsAsked(b *logbook.Book) []string {
	found := map[string]bool{}
	for i := range kinds.Specs {
		spec := &kinds.Specs[i]
		all := b.Records(spec.Kind)
		for j, v := range all {
			for _, w := range all[:j] {
				equal := slices.ContainsFunc(amend.NaturalKeys(b, spec, v), func(key string) bool {
					return slices.Contains(amend.NaturalKeys(b, spec, w), key)
				})
				for _, m := range v.Parts() {
					for _, n := range w.Parts() {
						if n.ID.Less(m.ID) {
							equal = equal && n.Text("same/"+m.ID.String()) != "two"
						} else {
							equal = equal && m.Text("same/"+n.ID.String()) != "two"
						}
					}
				}
				if equal {
					found[pairText(spec.Kind, v.ID, w.ID)] = true
				}
			}
		}
	}
	return sortedKeys(found)
}

func pairText(kind logbook.Kind, a, b logbook.ID) string {
	if b.Less(a) {
		a, b = b, a
	}
	return fmt.Sprint(kind, " ", a, " ", b)
}

func sortedKeys(set map[string]bool) (all []string) {
	for key := range set {
		all = append(all, key)
	}
	slices.Sort(all)
	return all
}

// pairsIn are the pairs of the groups that have no answer.
func pairsIn(groups []amend.TwinGroup) []string {
	found := map[string]bool{}
	for _, g := range groups {
		for i, id := range g.Records {
			for _, other := range g.Records[:i] {
				if !slices.Contains(g.Two, [2]logbook.ID{other, id}) {
					found[pairText(g.Kind, id, other)] = true
				}
			}
		}
	}
	return sortedKeys(found)
}

// undecided states a second time what is not decided, by a walk over all records.
func undecided(b *logbook.Book) (text string) {
	counts := map[logbook.ID]int{}
	for i := range kinds.Specs {
		for _, v := range b.AllRecords(kinds.Specs[i].Kind) {
			for _, c := range amend.ConflictsOf(v) {
				if !v.Deleted() || c.Deletion || c.Field == logbook.DeletedField {
					text += fmt.Sprintln(c.Kind, c.Record, c.SetUp, c.Field, c.Deletion, len(c.Heads))
					counts[c.SetUp]++
				}
			}
		}
	}
	var sums []amend.SetUpCount
	for setUp, n := range counts {
		sums = append(sums, amend.SetUpCount{SetUp: setUp, Count: n})
	}
	slices.SortFunc(sums, func(x, y amend.SetUpCount) int { return cmp.Compare(x.SetUp.String(), y.SetUp.String()) })
	return text + fmt.Sprint(sums)
}

func listedConflicts(b *logbook.Book, page int) (text string) {
	after, more := amend.ConflictPlace{}, true
	for more {
		var found []amend.Conflict
		found, after, more = amend.ConflictsFrom(b, after, page)
		for _, c := range found {
			text += fmt.Sprintln(c.Kind, c.Record, c.SetUp, c.Field, c.Deletion, len(c.Heads))
		}
	}
	return text + fmt.Sprint(amend.ConflictCounts(b))
}

func TestTwinsAndConflictsAreKeptAsAWholeWalkFindsThem(t *testing.T) {
	asked, open := 0, 0
	for i := range uint64(60) {
		chance := rand.New(rand.NewPCG(*keptSeed+i, 7))
		b := logbook.NewBook(logtest.Production, kinds.Rules)
		edits := drawDay(chance)
		for n, e := range edits {
			_ = b.Apply(e)
			if chance.IntN(4) > 0 && n < len(edits)-1 {
				continue
			}
			groups := amend.Twins(b)
			if got, want := pairsIn(groups), pairsAsked(b); !slices.Equal(got, want) {
				t.Fatalf("seed %d, after %d edits: asked is\n%s\nwant\n%s", *keptSeed+i, n+1, strings.Join(got, "\n"), strings.Join(want, "\n"))
			}
			fresh := logtest.Book(kinds.Rules, edits[:n+1]...)
			if got, want := fmt.Sprint(groups), fmt.Sprint(amend.Twins(fresh)); got != want {
				t.Fatalf("seed %d, after %d edits: got groups\n%s\na book that was read at once has\n%s", *keptSeed+i, n+1, got, want)
			}
			var paged []amend.TwinGroup
			for place := (amend.TwinPlace{Kind: -1}); ; {
				page := amend.TwinsFrom(b, place, 2)
				if paged = append(paged, page...); len(page) == 0 {
					break
				}
				place = page[len(page)-1].Place()
			}
			if fmt.Sprint(paged) != fmt.Sprint(groups) {
				t.Fatalf("seed %d, after %d edits: pages hold\n%v\nwant\n%v", *keptSeed+i, n+1, paged, groups)
			}
			if got, want := listedConflicts(b, 1+chance.IntN(4)), undecided(b); got != want {
				t.Fatalf("seed %d, after %d edits: got conflicts\n%s\nwant\n%s", *keptSeed+i, n+1, got, want)
			}
			asked, open = asked+len(groups), open+len(amend.Conflicts(b))
		}
	}
	if asked < 300 || open < 300 {
		t.Errorf("%d groups and %d conflicts were looked at, want 300 of each at least", asked, open)
	}
}
