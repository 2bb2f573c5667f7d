package setup

import (
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/cameras"
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
	// Contested are the whites that count as well: they were chosen by people who did not
	// know of this one, which is shown because it was chosen last. A white that names all of
	// them settles it.
	Contested      []Rival `json:"contested,omitempty"`
	ContestedWords string  `json:"contestedWords,omitempty"` // "contested: 3200 K or 4300 K"
	// ChooseAgain says that something which it rests on counts no more: it stays as it was.
	ChooseAgain string             `json:"chooseAgain,omitempty"`
	DecidedBy   string             `json:"decidedBy,omitempty"`
	JudgedOn    string             `json:"judgedOn,omitempty"`
	DecidedAt   time.Time          `json:"decidedAt"`
	by          string             // who entered it
	possible    []cameras.Possible // where it rests on a camera of which not all is known
	outlived    string             // why it is to be chosen again
	gone        logbook.ID         // what is the cause of that
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

// historyIn is the history of a set-up, and when its takes were.
func historyIn(b *logbook.Book, setUp logbook.ID) (*history, map[logbook.ID]logbook.Millis) {
	takes := b.Referring(kinds.Take, "setUp", setUp)
	at := takeMoments(b, takes)
	known := map[logbook.ID]White{}
	colour := func(v logbook.View) White {
		w, ok := known[v.ID]
		if !ok {
			w = WhiteOf(b, v)
			known[v.ID] = w
		}
		return w
	}
	return historyOf(b, WhitesOf(b, setUp), takes, func(take logbook.View) logbook.Millis { return at[take.ID] }, colour), at
}

// WhiteOfTake returns the white record in force at a take. ok is false where there is none.
// Of several that were chosen apart it is the one that is shown.
func WhiteOfTake(b *logbook.Book, take logbook.View) (white logbook.View, ok bool) {
	return first(whitesOfTake(b, take))
}

// whitesOfTake are all that count at a take and can be told apart, the one that is shown first.
func whitesOfTake(b *logbook.Book, take logbook.View) []logbook.View {
	h, times := historyIn(b, take.Ref("setUp"))
	at, listed := times[take.ID]
	if !listed {
		at = lighting.TakeTime(b, take)
	}
	return h.apart(h.count(spotOfTake(take, at)))
}

// WhiteForTake returns the white record that is in force for a take which is about to be
// logged under a number.
func WhiteForTake(b *logbook.Book, setUp logbook.ID, number float64, at logbook.Millis) (white logbook.View, ok bool) {
	h, _ := historyIn(b, setUp)
	return first(h.count(whiteSpot{at: at, number: number, numbered: true}))
}

func whitesNow(b *logbook.Book, setUp logbook.ID, now logbook.Millis) []logbook.View {
	h, _ := historyIn(b, setUp)
	return h.apart(h.count(h.comingNow(now)))
}

func first(all []logbook.View) (v logbook.View, ok bool) {
	if len(all) == 0 {
		return v, false
	}
	return all[0], true
}

// WhiteOf resolves a white's rule. A rule that cannot be resolved is no
// error: the answer has no colour and says why.
func WhiteOf(b *logbook.Book, white logbook.View) White { return whiteBy(newResolver(b), white) }

func whiteBy(r *resolver, white logbook.View) White {
	b := r.book
	w := White{
		White: white.ID, SetUp: white.Ref("setUp"), IntendedCast: intendedCast(b, white, logbook.ID{}),
		DecidedBy: white.Text("decidedBy"), JudgedOn: white.Text("judgedOn"), DecidedAt: white.CreatedAt().Time(), by: white.CreatedBy(),
	}
	w.From, _ = white.Value("from").Member("as").Text()
	w.Since = beginWords(b, white)
	xy, err := r.resolve(white)
	w.Words, w.Origin = r.words, r.origin
	if w.outlived, w.gone = r.outlived, r.gone; w.outlived != "" {
		w.ChooseAgain = "the white rests on " + w.outlived + "; choose again"
	}
	if err != nil {
		w.Problem = err.Error()
	} else {
		w.Color, w.possible = figure.ChromaticityOf(xy), r.possible
	}
	return w
}

// Possible are the colours that a white may have, with what each rests on: several where it is
// the setting of a camera of which not all is known, none where it has none.
func (w White) Possible() (all []PossibleWhite) {
	for _, p := range w.possible {
		if xy, err := p.White.XY(); err == nil {
			all = append(all, PossibleWhite{figure.ChromaticityOf(xy), p})
		}
	}
	if len(all) < 2 && w.Color != nil {
		return []PossibleWhite{{Color: w.Color}}
	}
	return all
}

// By are the whites of a camera that the colours of a white rest on, where it rests on one of
// which not all is known.
func (w White) By() []cameras.Possible { return w.possible }

// A PossibleWhite is a colour that a white may have.
type PossibleWhite struct {
	Color *figure.Chromaticity
	by    cameras.Possible
}
