package colorlog

import (
	"cmp"
	"errors"
	"fmt"
	"iter"
	"slices"
	"sort"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/amend"
	"evenwhite/logbook/cameras"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/glance"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/slate"
)

// ErrScope is wrapped by errors about a scope that leads to no record.
var ErrScope = errors.New("nothing of this scope is in the log")

// HeadOf makes what stands before the rows.
func HeadOf(b *logbook.Book, scope Scope, origin Origin) Head {
	h := Head{
		Schema: Schema, Program: origin.Program, Signs: signs,
		Production: Production{ID: b.Production()},
		State:      stateOf(origin.State),
		Scope:      ScopeHead{Day: scope.Day, SetUp: scope.SetUp},
	}
	if p, ok := b.RecordOf(kinds.Production, b.Production()); ok {
		h.Production.Title, h.Production.ShortName, h.Production.TimeZone = p.Text("title"), slate.ShortName(p), p.Text("timeZone")
	}
	return h
}

// Rows assembles the rows of a scope in the order in which they were shot: by
// day, by set-up, by start, by camera. Clips whose set-up is struck out or leads
// nowhere come last: post has their footage all the same. It holds one set-up at
// a time, and borrows the book, which must stay the same until it ends, for a few clips
// at a time: whoever takes the rows may be slow. Errors wrap ErrScope.
func Rows(from logbook.Lender, scope Scope) iter.Seq2[Row, error] {
	return func(yield func(Row, error) bool) {
		var w *writer
		var setUps []logbook.ID
		var err error
		from.Read(func(b *logbook.Book) {
			var views []logbook.View
			if views, err = SetUps(b, scope); err == nil {
				w = writerOf(b)
			}
			for _, view := range views {
				setUps = append(setUps, view.ID)
			}
		})
		if err != nil {
			yield(Row{}, err)
			return
		}
		for _, id := range setUps {
			if !w.rowsOf(from, id, yield) {
				return
			}
		}
		if scope == (Scope{}) {
			w.lostRows(from, yield)
		}
	}
}

// clipsAtOnce is of how many clips rows are made in one call, walkedAtOnce how many are
// only looked through.
const (
	clipsAtOnce  = 20
	walkedAtOnce = 5000
)

// rowsOf hands on the rows of a set-up.
func (w *writer) rowsOf(from logbook.Lender, id logbook.ID, yield func(Row, error) bool) bool {
	var s *setUp
	var shots []*shot
	from.Read(func(b *logbook.Book) {
		view, _ := b.RecordOf(kinds.SetUp, id)
		if s = w.setUp(view); s != nil {
			shots = s.inOrder()
		}
	})
	for some := range slices.Chunk(shots, clipsAtOnce) {
		var rows []Row
		from.Read(func(*logbook.Book) { rows = s.rows(some) })
		for _, row := range rows {
			if !yield(row, nil) {
				return false
			}
		}
	}
	return true
}

// lostRows hands on the rows of the clips whose set-up is not in the log.
func (w *writer) lostRows(from logbook.Lender, yield func(Row, error) bool) {
	lost := logbook.Sift(from, kinds.Clip, walkedAtOnce, func(b *logbook.Book, clip logbook.View) bool {
		_, ok := b.RecordOf(kinds.SetUp, clip.Ref("setUp"))
		return !ok
	})
	for _, clip := range lost {
		var row Row
		from.Read(func(*logbook.Book) { row = w.lost(clip) })
		if !yield(row, nil) {
			return
		}
	}
}

// SetUps lists the set-ups of a scope: of a day its own, of a production by
// day, then those struck out or without a day that still have clips.
func SetUps(b *logbook.Book, scope Scope) ([]logbook.View, error) {
	if !scope.SetUp.IsZero() {
		setUp, ok := b.RecordOf(kinds.SetUp, scope.SetUp)
		if !ok {
			return nil, fmt.Errorf("%w: setUp is %s, allowed is a set-up of the production", ErrScope, scope.SetUp)
		}
		if day := setUp.Ref("day"); !scope.Day.IsZero() && b.Resolve(scope.Day) != day {
			return nil, fmt.Errorf("%w: setUp is %s, which is not of day %s", ErrScope, scope.SetUp, scope.Day)
		}
		return []logbook.View{setUp}, nil
	}
	if !scope.Day.IsZero() {
		day, ok := b.RecordOf(kinds.Day, scope.Day)
		if !ok {
			return nil, fmt.Errorf("%w: day is %s, allowed is a day of the production", ErrScope, scope.Day)
		}
		scope.Day = day.ID
	}
	type place struct {
		lost   bool // struck out, or its day is
		number float64
		unit   string
		setUp  logbook.View
	}
	var places []place
	for _, setUp := range b.AllRecords(kinds.SetUp) {
		if !scope.Day.IsZero() && setUp.Ref("day") != scope.Day {
			continue
		}
		p := place{setUp: setUp, lost: true}
		if day, ok := b.RecordOf(kinds.Day, setUp.Ref("day")); ok {
			p.number, _ = day.Number("number")
			p.unit, p.lost = unitOf(day), setUp.Deleted() || day.Deleted()
		}
		places = append(places, p)
	}
	sort.SliceStable(places, func(i, j int) bool {
		a, c := places[i], places[j]
		if a.lost != c.lost {
			return c.lost
		}
		return cmp.Or(cmp.Compare(a.number, c.number), cmp.Compare(a.unit, c.unit)) < 0
	})
	setUps := make([]logbook.View, len(places))
	for i, p := range places {
		setUps[i] = p.setUp
	}
	return setUps, nil
}

func unitOf(day logbook.View) string { return cmp.Or(day.Text("unit"), "main") }

// writer assembles rows; what holds for the whole production is looked up once.
type writer struct {
	book       *logbook.Book
	summarizer *glance.Summarizer
	frameRate  string
	dropFrame  bool
	timeZone   string // of the production
	zones      map[string]*time.Location
}

func writerOf(b *logbook.Book) *writer {
	w := &writer{book: b, summarizer: glance.NewSummarizer(b), zones: map[string]*time.Location{}}
	if p, ok := b.RecordOf(kinds.Production, b.Production()); ok {
		w.frameRate, w.dropFrame, w.timeZone = p.Text("frameRate"), p.Flag("dropFrame", false), p.Text("timeZone")
	}
	return w
}

// setUp is a set-up with what its rows share.
type setUp struct {
	*writer
	view      logbook.View
	clips     []logbook.View
	shots     map[logbook.ID]*shot           // by clip
	times     map[logbook.ID]logbook.Millis  // of takes, once looked up
	undecided map[recordKey][]amend.Conflict // of records, once looked up
	closed    *glance.Closed                 // nil where its day is open
	corrected map[logbook.ID]Correction      // by clip, once worked out
	summary   *glance.SetUpSummary
	shared    OfSetUp
}

// setUp reads a set-up for its rows; nil where it has no clips.
func (w *writer) setUp(view logbook.View) *setUp {
	s := w.empty()
	s.view, s.clips = view, w.book.Referring(kinds.Clip, "setUp", view.ID)
	if len(s.clips) == 0 {
		return nil
	}
	s.closed = glance.ClosedOf(view)
	// Post asks what was off when it was shot: the bytes do not depend on when the document
	// is made.
	s.summary = w.summarizer.Summarize(view)
	s.shared = OfSetUp{NameOf(w.book, view), s.summary.Deviations()}
	for _, clip := range s.clips {
		s.shots[clip.ID] = s.shotOf(clip)
	}
	return s
}

// rows are those of some of its clips.
func (s *setUp) rows(shots []*shot) []Row {
	rows := make([]Row, 0, len(shots))
	for _, sh := range shots {
		clip := s.summary.Clip(sh.clip)
		if len(sh.takes) == 0 {
			rows = append(rows, s.row(sh, logbook.View{}, &clip))
		}
		for _, take := range sh.takes {
			rows = append(rows, s.row(sh, take, &clip))
		}
	}
	return rows
}

// empty is a set-up of which nothing was read.
func (w *writer) empty() *setUp {
	return &setUp{
		writer: w, shots: map[logbook.ID]*shot{}, times: map[logbook.ID]logbook.Millis{}, undecided: map[recordKey][]amend.Conflict{},
		corrected: map[logbook.ID]Correction{},
	}
}

// lost assembles the row of a clip whose set-up is not in the log: what was meant
// and what was there is not known.
func (w *writer) lost(clip logbook.View) Row {
	s := w.empty()
	sh := s.shotOf(clip)
	row := s.row(sh, logbook.View{}, &glance.ClipSummary{Limits: []figure.Limits{}, Problem: "the set-up is not known"})
	row.Off.Missing = append(row.Off.Missing, "the set-up of this clip is not in the log")
	return row
}

func (s *setUp) inOrder() []*shot {
	shots := make([]*shot, len(s.clips))
	for i, clip := range s.clips {
		shots[i] = s.shots[clip.ID]
	}
	sort.SliceStable(shots, func(i, j int) bool {
		a, c := shots[i], shots[j]
		return cmp.Or(cmp.Compare(a.start, c.start), cmp.Compare(a.letter, c.letter), cmp.Compare(a.part(), c.part())) < 0
	})
	return shots
}

func (s *setUp) row(sh *shot, take logbook.View, c *glance.ClipSummary) Row {
	ofTake := c
	if s.summary != nil {
		ofTake = s.summary.OfTake(sh.clip, take, c)
	}
	row := Row{
		Find: s.find(sh, take), Set: s.set(sh, ofTake), Meant: meant(sh, ofTake), There: s.there(sh, ofTake),
		Gives: s.gives(sh, ofTake), Off: s.off(sh, take, ofTake), Correction: s.correction(sh, c.White, ofTake.White), Limits: ofTake.Limits,
		SetUp: &s.shared,
	}
	if row.Correction.Basis == cameras.CardInClip {
		row.Gives.Measured = row.Correction.ToNeutral.Cast
	}
	return row
}
