package colorlog

import (
	"cmp"
	"errors"
	"fmt"
	"iter"
	"slices"
	"sort"

	"evenwhite/logbook"
)

// ErrScope is wrapped by errors about a scope that leads to no record.
var ErrScope = errors.New("nothing of this scope is in the log")

// HeadOf makes what stands before the rows.
func HeadOf(b *logbook.Book, scope Scope, origin Origin) Head {
	h := Head{
		Schema: Schema, Program: origin.Program, Signs: signs,
		Production: Production{ID: b.Production()},
		Log:        LogState{Identity: origin.Log.Identity.String(), Sequence: origin.Log.Seq, Chain: fmt.Sprintf("%x", origin.Log.Chain[:])},
		Scope:      ScopeHead{Day: scope.Day, SetUp: scope.SetUp},
	}
	if p, ok := b.RecordOf(logbook.KindProduction, b.Production()); ok {
		h.Production.Title, h.Production.ShortName, h.Production.TimeZone = p.Text("title"), p.Text("shortName"), p.Text("timeZone")
	}
	return h
}

// Rows assembles the rows of a scope in the order in which they were shot: by
// day, by set-up, by start, by camera. Clips whose set-up is struck out or leads
// nowhere come last: post has their footage all the same. It holds one set-up at
// a time. The book must not change until it ends. Errors wrap ErrScope.
func Rows(b *logbook.Book, scope Scope) iter.Seq2[Row, error] {
	return func(yield func(Row, error) bool) {
		setUps, err := setUpsOf(b, scope)
		if err != nil {
			yield(Row{}, err)
			return
		}
		w := writerOf(b)
		for _, setUp := range setUps {
			for _, row := range w.setUp(setUp) {
				if !yield(row, nil) {
					return
				}
			}
		}
		if scope != (Scope{}) {
			return
		}
		for _, clip := range b.Records(logbook.KindClip) {
			if _, ok := b.RecordOf(logbook.KindSetUp, clip.Ref("setUp")); ok {
				continue
			}
			for _, row := range w.lost(clip) {
				if !yield(row, nil) {
					return
				}
			}
		}
	}
}

// setUpsOf lists the set-ups of a scope: of a day its own, of a production by
// day, then those struck out or without a day that still have clips.
func setUpsOf(b *logbook.Book, scope Scope) ([]logbook.View, error) {
	if !scope.SetUp.IsZero() {
		setUp, ok := b.RecordOf(logbook.KindSetUp, scope.SetUp)
		if !ok {
			return nil, fmt.Errorf("%w: setUp is %s, allowed is a set-up of the production", ErrScope, scope.SetUp)
		}
		if day := setUp.Ref("day"); !scope.Day.IsZero() && b.Resolve(scope.Day) != day {
			return nil, fmt.Errorf("%w: setUp is %s, which is not of day %s", ErrScope, scope.SetUp, scope.Day)
		}
		return []logbook.View{setUp}, nil
	}
	if !scope.Day.IsZero() {
		day, ok := b.RecordOf(logbook.KindDay, scope.Day)
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
	for _, setUp := range b.AllRecords(logbook.KindSetUp) {
		if !scope.Day.IsZero() && setUp.Ref("day") != scope.Day {
			continue
		}
		p := place{setUp: setUp, lost: true}
		if day, ok := b.RecordOf(logbook.KindDay, setUp.Ref("day")); ok {
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
	book      *logbook.Book
	frameRate string
	dropFrame bool
}

func writerOf(b *logbook.Book) *writer {
	w := &writer{book: b}
	if p, ok := b.RecordOf(logbook.KindProduction, b.Production()); ok {
		w.frameRate, w.dropFrame = p.Text("frameRate"), p.Flag("dropFrame", false)
	}
	return w
}

// setUp is a set-up with what its rows share.
type setUp struct {
	*writer
	view       logbook.View
	clips      []logbook.View
	readings   []*logbook.Measurement
	lights     []logbook.View
	reference  logbook.ID // camera
	deviations []logbook.Deviation
	limits     []logbook.Limits
	whites     map[logbook.ID]logbook.WhiteInForce
	shots      map[logbook.ID]*shot // by clip
}

// setUp assembles the rows of one set-up.
func (w *writer) setUp(view logbook.View) []Row {
	s := &setUp{writer: w, view: view, clips: w.book.Referring(logbook.KindClip, "setUp", view.ID),
		whites: map[logbook.ID]logbook.WhiteInForce{}, shots: map[logbook.ID]*shot{}}
	if len(s.clips) == 0 {
		return nil
	}
	s.readings = logbook.MeasurementsOf(w.book, view.ID)
	s.lights = w.book.Referring(logbook.KindLight, "setUp", view.ID)
	s.reference = logbook.ReferenceCamera(w.book, view)
	s.limits = s.limitsUsed()
	last := logbook.Millis(0)
	for _, clip := range s.clips {
		sh := s.shotOf(clip)
		s.shots[clip.ID] = sh
		last = max(last, sh.start)
	}
	// Post asks what was off when it was shot: nothing ages after the last clip,
	// and the bytes do not depend on when the document is made.
	s.deviations = logbook.Deviations(w.book, logbook.DeviationScope{SetUp: view.ID}, last)
	var rows []Row
	for _, clip := range s.inOrder() {
		sh := s.shots[clip.ID]
		if len(sh.takes) == 0 {
			rows = append(rows, s.row(sh, logbook.View{}))
		}
		for _, take := range sh.takes {
			rows = append(rows, s.row(sh, take))
		}
	}
	return rows
}

// lost assembles the rows of a clip whose set-up is not in the log.
func (w *writer) lost(clip logbook.View) []Row {
	s := &setUp{writer: w, clips: []logbook.View{clip}, whites: map[logbook.ID]logbook.WhiteInForce{}, shots: map[logbook.ID]*shot{}, limits: []logbook.Limits{}}
	sh := s.shotOf(clip)
	s.shots[clip.ID] = sh
	row := s.row(sh, logbook.View{})
	row.Off.Missing = append(row.Off.Missing, "the set-up of this clip is not in the log")
	return []Row{row}
}

func (s *setUp) inOrder() []logbook.View {
	clips := slices.Clone(s.clips)
	sort.SliceStable(clips, func(i, j int) bool {
		a, c := s.shots[clips[i].ID], s.shots[clips[j].ID]
		return cmp.Or(cmp.Compare(a.start, c.start), cmp.Compare(a.letter, c.letter), cmp.Compare(a.part(), c.part())) < 0
	})
	return clips
}

// limitsUsed lists the limits of the camera and of each role that has a light.
func (s *setUp) limitsUsed() []logbook.Limits {
	out := []logbook.Limits{logbook.LimitsOf(s.book, s.view, "camera")}
	seen := map[string]bool{"camera": true}
	for _, light := range s.lights {
		if role := light.Text("role"); !seen[role] {
			seen[role] = true
			out = append(out, logbook.LimitsOf(s.book, s.view, role))
		}
	}
	return out
}

func (s *setUp) row(sh *shot, take logbook.View) Row {
	white, ok := s.whiteOf(sh, take)
	meant := s.meant(sh, white, ok)
	there, light := s.there(sh, take, meant.Color)
	return Row{
		Find: s.find(sh, take), Set: s.set(sh), Meant: meant, There: there,
		Gives: s.gives(sh, meant, light), Off: s.off(sh, take), Limits: s.limits,
	}
}
