package amend

import (
	"fmt"
	"slices"
	"strconv"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
)

// How many records one call may answer about: each pair that is two is an answer of its
// own.
const (
	MostOne = 1000
	MostTwo = 64
)

// AnswerAll makes the drafts of one answer to the whole run that a pair is in, as far as
// the same two devices logged it: to the pair alone where it is not asked about. The error
// is a *FieldError.
func AnswerAll(b *logbook.Book, first, second logbook.ID, answer string) ([]logbook.Draft, error) {
	drafts, err := Answer(b, first, second, answer)
	if err != nil {
		return nil, err
	}
	groups := runOf(b, first, second)
	if len(groups) == 0 {
		return drafts, nil
	}
	devices := []logbook.ID{deviceOf(b, first), deviceOf(b, second)}
	a := &answers{book: b, kind: groups[0].Kind, answer: answer}
	a.pair(first, second)
	for _, g := range groups {
		records := slices.DeleteFunc(slices.Clone(g.Records), func(id logbook.ID) bool {
			return !slices.Contains(devices, deviceOf(b, id))
		})
		if err := a.all(records); err != nil {
			return nil, err
		}
	}
	return a.drafts, nil
}

// runOf lists the groups of the run in which two records are asked about.
func runOf(b *logbook.Book, first, second logbook.ID) (groups []TwinGroup) {
	first, second = b.Resolve(first), b.Resolve(second)
	all := groupsAsked(b)
	at := slices.IndexFunc(all, func(g *TwinGroup) bool {
		return g.Kind == kinds.Take && slices.Contains(g.Records, first) && slices.Contains(g.Records, second)
	})
	if at < 0 {
		return nil
	}
	runs := runsOf(b, all, all[at].SetUp)
	for _, g := range all {
		if run, ok := runs[g]; ok && run == runs[all[at]] {
			groups = append(groups, *g)
		}
	}
	return groups
}

// AnswerGroup makes the drafts that answer about records that they are all one, or that
// each is one by itself; where wholeRun says so, about the other groups of their run as
// well. Answers stand in the records with the smaller ids. What one says of takes it says of their
// clips, as Answer does. The error is a *FieldError.
func AnswerGroup(b *logbook.Book, ids []logbook.ID, answer string, wholeRun bool) ([]logbook.Draft, error) {
	ids = slices.Clone(ids)
	slices.SortFunc(ids, compareIDs)
	ids = slices.Compact(ids)
	if len(ids) < 2 {
		return nil, &logbook.FieldError{Kind: "twin", Field: "records", Value: countOf(ids), Allowed: "at least two records"}
	}
	v, err := twinOf(b, "records", ids[0], answer)
	if err != nil {
		return nil, err
	}
	for _, id := range ids[1:] {
		if w, ok := b.RecordOf(v.Kind, id); !ok || w.Deleted() {
			return nil, &logbook.FieldError{Kind: "twin", Field: "records", Value: logbook.IDValue(id),
				Allowed: "records of one kind, here " + string(v.Kind) + ", that are in the log and not struck out"}
		}
	}
	a := &answers{book: b, kind: v.Kind, answer: answer}
	if err := a.all(ids); err != nil {
		return nil, err
	}
	if wholeRun {
		for _, g := range runOf(b, ids[0], ids[1]) {
			if slices.Contains(g.Records, b.Resolve(ids[0])) {
				continue
			}
			if err := a.all(g.Records); err != nil {
				return nil, err
			}
		}
	}
	return a.drafts, nil
}

func countOf(ids []logbook.ID) logbook.Value { return logbook.Value(strconv.Itoa(len(ids))) }

// answers are drafts of one answer about many records.
type answers struct {
	book   *logbook.Book
	kind   logbook.Kind
	answer string
	drafts []logbook.Draft
	said   map[logbook.FieldRef]bool
}

// all answers about records of one kind, by id.
func (a *answers) all(ids []logbook.ID) error {
	if len(ids) < 2 {
		return nil
	}
	most := MostOne
	if a.answer == TwinTwo {
		most = MostTwo
	}
	if len(ids) > most {
		return &logbook.FieldError{Kind: "twin", Field: "records", Value: countOf(ids),
			Allowed: fmt.Sprintf("at most %d records at once for the answer %s", most, a.answer)}
	}
	if a.answer == TwinTwo {
		for i, id := range ids {
			for _, other := range ids[i+1:] {
				a.pair(id, other)
			}
		}
		return nil
	}
	for _, id := range ids[1:] {
		a.pair(ids[0], id)
	}
	for _, pair := range twoAmong(a.book, a.kind, ids) {
		if pair[0] != ids[0] {
			a.pair(pair[0], pair[1]) // else they part again when the first is struck out
		}
	}
	return nil
}

// pair answers about two records, and about the clips of two takes.
func (a *answers) pair(first, second logbook.ID) {
	m, _ := a.book.Alone(a.kind, first)
	n, _ := a.book.Alone(a.kind, second)
	if answerOf(m, n) != a.answer {
		a.add(answering(m, n, a.answer))
	}
	if a.kind != kinds.Take {
		return
	}
	for _, pair := range clipPairs(a.book, first, second) {
		if now := answerOf(pair[0], pair[1]); now != a.answer && (a.answer == TwinOne || now == TwinOne) {
			a.add(answering(pair[0], pair[1], a.answer))
		}
	}
}

// mostBytes is how much one draft sets, well below what an edit may hold.
const mostBytes = 48 << 10

// add puts an answer into the draft of its record.
func (a *answers) add(d logbook.Draft) {
	at := logbook.FieldRef{RecordRef: logbook.RecordRef{Kind: d.Kind, Record: d.Record}, Field: d.Set[0].Field}
	if a.said[at] {
		return // clips may hold several of the takes
	}
	if a.said == nil {
		a.said = map[logbook.FieldRef]bool{}
	}
	a.said[at] = true
	for i := len(a.drafts) - 1; i >= 0; i-- {
		known := &a.drafts[i]
		if known.Kind == d.Kind && known.Record == d.Record && sizeOf(known.Set)+sizeOf(d.Set) <= mostBytes {
			known.Set = append(known.Set, d.Set...)
			return
		}
	}
	a.drafts = append(a.drafts, d)
}

// sizeOf is about how many bytes changes take.
func sizeOf(set []logbook.Change) (n int) {
	for _, c := range set {
		n += len(c.Field) + len(c.Value) + 20*len(c.Over) + 8
	}
	return n
}
