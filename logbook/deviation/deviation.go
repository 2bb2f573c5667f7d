package deviation

import (
	"slices"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/setup"
)

// A List are the deviations of a scope, as they are answered.
type List struct {
	Deviations []Deviation `json:"deviations"`
}

// A Deviation is a finding: something differs from something by more than the
// tolerance, or data is missing or stale. Findings of one cause are one
// deviation with a count.
type Deviation struct {
	Kind  string `json:"kind"`  // one of Kinds
	Cause string `json:"cause"` // equal causes are one deviation; stable between calls
	// Count is how many takes show it, two records of one number counted once, and how many
	// clips that are in no take; where there are neither, how many lights or cameras.
	Count int `json:"count"`
	// Headline says it in words of the set, in at most 60 characters; ToDo what to do
	// about it, and Words the same with all numbers.
	Headline string `json:"headline"`
	ToDo     string `json:"toDo,omitempty"`
	Words    string `json:"words"` // one sentence
	// Value is the greatest size found and Limit the tolerance that it passes,
	// rounded to the step that is shown; both absent where nothing is counted.
	Value        *figure.Size     `json:"value,omitempty"`
	Limit        *figure.Size     `json:"limit,omitempty"`
	ComparedWith *figure.Compared `json:"comparedWith,omitempty"`
	Subjects     []logbook.ID     `json:"subjects"` // what it is about and the set-up, sorted: an acceptance names the same
	SetUp        logbook.ID       `json:"setUp,omitzero"`
	Takes        []logbook.ID     `json:"takes,omitempty"`
	Clips        []logbook.ID     `json:"clips,omitempty"`
	Cameras      []logbook.ID     `json:"cameras,omitempty"`
	// Also is what else follows from the same cause: a wrong dial on one camera
	// makes it differ from the others as well.
	Also     []Finding `json:"also,omitempty"`
	Accepted *Accepted `json:"accepted,omitempty"`
	times    float64   // how many times its limit
}

// Finding is one comparison, with the meaning that its parts have in Deviation.
type Finding struct {
	Kind         string           `json:"kind"`
	Headline     string           `json:"headline"`
	ToDo         string           `json:"toDo,omitempty"`
	Words        string           `json:"words"`
	Value        *figure.Size     `json:"value,omitempty"`
	Limit        *figure.Size     `json:"limit,omitempty"`
	ComparedWith *figure.Compared `json:"comparedWith,omitempty"`
}

// Accepted says who declared a deviation deliberate.
type Accepted struct {
	Acceptance logbook.ID   `json:"acceptance"`
	By         string       `json:"by"`
	Reason     string       `json:"reason"`
	Scope      string       `json:"scope"` // clip, fromTakeOn, setUp, scene or day
	Ceiling    *figure.Size `json:"ceiling,omitempty"`
	At         time.Time    `json:"at"`
}

// Scope picks what Of looks at: one set-up, one day, or everything where both are zero.
type Scope struct{ SetUp, Day logbook.ID }

// The kinds of deviations.
const (
	SettingOffAim         = "setting-off-aim"
	CamerasDiffer         = "cameras-differ"
	TakesDiffer           = "takes-differ"
	SetUpsDiffer          = "set-ups-differ"
	LightOffReference     = "light-off-reference"
	LightOffOwnColor      = "light-off-own-color"
	ReadingStale          = "reading-stale"
	LightDrifted          = "light-drifted"
	LightLeaving          = "light-leaving"
	LightChanged          = "light-changed"
	MixDrifted            = "mix-drifted"
	MixDisagrees          = "mix-disagrees"
	NoReading             = "no-reading"
	NoWhite               = "no-white"
	WhiteUnresolved       = "white-unresolved"
	WhiteOutlived         = "white-outlived"
	NoChart               = "no-chart"
	SettingsCarriedOver   = "settings-carried-over"
	NoSettings            = "no-settings"
	AutomaticWhite        = "automatic-white"
	SettingNotOnBody      = "setting-not-on-body"
	WhiteNotKnown         = "white-not-known"
	AimNotReachable       = "aim-not-reachable"
	ReferenceLeadsNowhere = "reference-leads-nowhere"
	TakeNumberTwice       = "take-number-twice"
	NotLogged             = "not-logged"
	NoBody                = "no-body"
	NoCamera              = "no-camera"
	TimecodeImpossible    = "timecode-impossible"
	ClipNameTwice         = "clip-name-twice"
	TakeEndsFirst         = "take-ends-first"
)

// Of finds what is off in one set-up, in the set-ups of one day, or in the whole
// production, and there also in references from records that belong to no set-up. The
// work grows with the set-ups looked at; the book, which must stay the same until the
// end, is borrowed for a few of them at a time.
func Of(from logbook.Lender, scope Scope, now logbook.Millis) []Deviation {
	w, all := walkOf(from, scope, now, false), []Deviation{}
	w.each(func(setUp logbook.View) { all = append(all, w.finder(setUp).Deviations(w.acceptances)...) })
	return w.whole(all)
}

// A walk goes through the set-ups of a scope.
type walk struct {
	from        logbook.Lender
	scope       Scope
	now         logbook.Millis
	book        *logbook.Book
	reader      *setup.Reader
	setUps      []logbook.View
	acceptances []Acceptance
}

// walkOf begins one, of a book that notes where something is to be kept.
func walkOf(from logbook.Lender, scope Scope, now logbook.Millis, noted bool) *walk {
	w := &walk{from: from, scope: scope, now: now}
	from.Read(func(b *logbook.Book) {
		if w.book = b; noted {
			w.book = b.Noted()
		}
		w.setUps, w.acceptances, w.reader = scope.setUps(w.book), Acceptances(w.book), setup.NewReader(w.book)
	})
	return w
}

// each has the set-ups looked at, a few in a call.
func (w *walk) each(look func(setUp logbook.View)) {
	for some := range slices.Chunk(w.setUps, setUpsAtOnce) {
		w.from.Read(func(*logbook.Book) {
			for _, setUp := range some {
				look(setUp)
			}
		})
	}
}

// finder reads a set-up of which nothing is kept.
func (w *walk) finder(setUp logbook.View) *Finder {
	w.reader.Leans() // of the set-up before
	return NewFinder(w.reader.ReadToWrap(setUp, w.now))
}

// whole adds what is of no set-up to what was found in all, and puts it in order.
func (w *walk) whole(all []Deviation) []Deviation {
	if w.scope == (Scope{}) {
		all = append(all, ofNone(w.from, w.reader, w.now)...)
	}
	Sort(all)
	return all
}

// ofNone finds references that lead nowhere from records that belong to no set-up.
func ofNone(from logbook.Lender, r *setup.Reader, now logbook.Millis) (found []Deviation) {
	var s *Finder
	var all []sighting
	from.Read(func(*logbook.Book) { s = NewFinder(r.None(now)) })
	for some := range slices.Chunk(elsewhere(from), walkedAtOnce) {
		from.Read(func(*logbook.Book) {
			for _, v := range some {
				all = append(all, s.leadsNowhere(v)...)
			}
		})
	}
	from.Read(func(*logbook.Book) { found = s.joined(all) })
	return found
}

// setUpsAtOnce is how many set-ups are looked at in one call.
const setUpsAtOnce = 4

func (scope Scope) setUps(b *logbook.Book) []logbook.View {
	switch {
	case !scope.SetUp.IsZero():
		if v, ok := b.RecordOf(kinds.SetUp, scope.SetUp); ok {
			return []logbook.View{v}
		}
		return nil
	case !scope.Day.IsZero():
		return b.Referring(kinds.SetUp, "day", scope.Day)
	}
	return b.Records(kinds.SetUp)
}

// A Finder looks for what is off in one set-up.
type Finder struct {
	*setup.SetUp
	made  []*Shot                     // the shots, once made
	off   map[logbook.Millis]sighting // the light that is off by most at a moment
	dials map[logbook.ID]*setup.Dial  // what to dial by camera, once asked
	spots []spot                      // where what was joined was found
}

func NewFinder(s *setup.SetUp) *Finder { return &Finder{SetUp: s, off: map[logbook.Millis]sighting{}} }

// Deviations joins what is off in the set-up, in no order; Sort puts them in theirs.
func (s *Finder) Deviations(acceptances []Acceptance) []Deviation {
	var all []sighting
	s.spots = nil
	all = append(all, s.cameraFindings()...)
	all = append(all, s.mustMatch()...)
	all = append(all, s.lightFindings()...)
	all = append(all, s.mixFindings()...)
	all = append(all, s.leaving()...)
	all = append(all, s.missingFindings()...)
	all = append(all, s.takeNumbersTwice()...)
	all = append(all, s.notLogged()...)
	all = append(all, s.impossible()...)
	all = append(all, s.references()...)
	all = s.ofTakes(all)
	s.accept(all, acceptances)
	return s.joined(all)
}
