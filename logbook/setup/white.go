package setup

import (
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
)

// White is the white of a set-up that applies at a take or a time, with
// its rule resolved to a chromaticity.
type White struct {
	White logbook.ID `json:"white"` // the record
	SetUp logbook.ID `json:"setUp"` // the set-up that it was chosen for
	From  string     `json:"from"`  // the form of its rule: readings, nominal, mix …
	Words string     `json:"words"` // "nominal 5600 K", "key, measured 12 min before"
	Since string     `json:"since"` // "start", "take 6", "14:05 UTC"
	// Color is absent where the rule cannot be resolved; Problem says why.
	Color        *figure.Chromaticity `json:"color,omitempty"`
	Problem      string               `json:"problem,omitempty"`
	Origin       figure.Origin        `json:"origin"`
	IntendedCast figure.IntendedCast  `json:"intendedCast"`
	DecidedBy    string               `json:"decidedBy,omitempty"`
	JudgedOn     string               `json:"judgedOn,omitempty"`
	DecidedAt    time.Time            `json:"decidedAt"`
}

// WhitesOf lists the whites of a set-up that count, in the order in which they
// were chosen. A superseded one stays: it was in force until the next applied.
func WhitesOf(b *logbook.Book, setUp logbook.ID) []logbook.View {
	var all []logbook.View
	for _, v := range b.Referring(kinds.White, "setUp", setUp) {
		if !lighting.Withdrawn(v) {
			all = append(all, v)
		}
	}
	return all
}

// WhiteOfTake returns the white record in force at a take: the one that the take
// names, else by the set-up's history. ok is false where there is none.
func WhiteOfTake(b *logbook.Book, take logbook.View) (white logbook.View, ok bool) {
	if v, found := b.RecordOf(kinds.White, take.Ref("white")); found && !lighting.Withdrawn(v) {
		return v, true
	}
	return pickWhite(b, take.Ref("setUp"), func(w logbook.View) (logbook.Millis, bool) {
		start, known := since(b, w)
		from, ok := b.RecordOf(kinds.Take, start.Take)
		if !known || !ok {
			return start.At, known && (start.At == logbook.Beginning || start.At <= lighting.TakeTime(b, take))
		}
		a, numbered := from.Number("number")
		n, too := take.Number("number")
		if numbered && too && from.Ref("setUp") == take.Ref("setUp") {
			return start.At, n >= a
		}
		return start.At, start.At <= lighting.TakeTime(b, take)
	})
}

// WhiteAt returns the white record in force at a time. ok is false where there
// is none.
func WhiteAt(b *logbook.Book, setUp logbook.ID, at logbook.Millis) (white logbook.View, ok bool) {
	return pickWhite(b, setUp, func(w logbook.View) (logbook.Millis, bool) {
		start, known := since(b, w)
		return start.At, known && start.At <= at
	})
}

// since reads appliesFrom; known is false where it leads to no take.
func since(b *logbook.Book, white logbook.View) (s lighting.Start, known bool) {
	from := white.Value("appliesFrom")
	switch as, _ := from.Member("as").Text(); as {
	case "take":
		id, _ := from.Member("take").ID()
		take, ok := b.RecordOf(kinds.Take, id)
		if !ok || take.Deleted() {
			return lighting.Start{Words: "a take that is not in the log"}, false
		}
		return lighting.Start{At: lighting.TakeTime(b, take), Take: take.ID, Words: lighting.TakeName(take)}, true
	case "time":
		text, _ := from.Member("at").Text()
		t, err := time.Parse(time.RFC3339, text)
		return lighting.Start{At: logbook.MillisOf(t), Words: t.Format(time.DateOnly) + " " + figure.ClockIn(t, figure.OffsetOf(t))}, err == nil
	}
	return lighting.Start{At: logbook.Beginning, Words: "start"}, true
}

// pickWhite takes of the whites that apply the one that began last; of several
// that began together one that no other of them supersedes, chosen last.
func pickWhite(b *logbook.Book, setUp logbook.ID, applies func(logbook.View) (logbook.Millis, bool)) (best logbook.View, ok bool) {
	var candidates []logbook.View
	last := logbook.Beginning
	for _, w := range WhitesOf(b, setUp) {
		began, applied := applies(w)
		if !applied || len(candidates) > 0 && began < last {
			continue
		}
		if began > last {
			candidates = candidates[:0]
		}
		last = began
		candidates = append(candidates, w)
	}
	replaced := map[logbook.ID]bool{}
	for _, w := range candidates {
		replaced[w.Ref("supersedes")] = true
	}
	for _, w := range candidates {
		if !replaced[w.ID] || !ok {
			best, ok = w, true
		}
	}
	return best, ok
}

// WhiteOf resolves a white's rule. A rule that cannot be resolved is no
// error: the answer has no colour and says why.
func WhiteOf(b *logbook.Book, white logbook.View) White {
	w := White{
		White: white.ID, SetUp: white.Ref("setUp"), IntendedCast: intendedCast(b, white, logbook.ID{}),
		DecidedBy: white.Text("decidedBy"), JudgedOn: white.Text("judgedOn"), DecidedAt: white.CreatedAt().Time(),
	}
	w.From, _ = white.Value("from").Member("as").Text()
	start, _ := since(b, white)
	w.Since = start.Words
	r := newResolver(b)
	xy, err := r.resolve(white)
	w.Words, w.Origin = r.words, r.origin
	if err != nil {
		w.Problem = err.Error()
	} else {
		w.Color = figure.ChromaticityOf(xy)
	}
	return w
}
