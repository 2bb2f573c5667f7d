package setup

import (
	"sort"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
)

// takeMoments are when the takes of one set-up were. A take that says no time and was entered
// after a later number had been shot came from paper: it stands just before that one.
func takeMoments(b *logbook.Book, takes []logbook.View) map[logbook.ID]logbook.Millis {
	at := make(map[logbook.ID]logbook.Millis, len(takes))
	type numbered struct {
		take   logbook.View
		number float64
		said   bool
	}
	var all []numbered
	for _, take := range takes {
		moment, said := lighting.TakeSays(b, take)
		at[take.ID] = moment
		if n, ok := take.Number("number"); ok {
			all = append(all, numbered{take, n, said})
		}
	}
	sort.SliceStable(all, func(i, j int) bool { return all[i].number > all[j].number })
	earliest := logbook.Ever // of the higher numbers
	for i := 0; i < len(all); {
		j, here := i, logbook.Ever
		for ; j < len(all) && all[j].number == all[i].number; j++ {
			id := all[j].take.ID
			if !all[j].said && at[id] > earliest {
				at[id] = earliest - 1
			}
			here = min(here, at[id])
		}
		earliest, i = min(earliest, here), j
	}
	return at
}

// clipMoment is when a clip was: as it says, else when its first take was, else when it was
// entered.
func (s *SetUp) clipMoment(clip logbook.View, takes []logbook.View) logbook.Millis {
	if at, ok := lighting.InstantOf(clip, "startedAt"); ok {
		return at
	}
	if len(takes) > 0 {
		return s.times[takes[0].ID]
	}
	return clip.CreatedAt()
}

// A Moment is one at which the lights are judged: a take, or now where Take is none.
type Moment struct {
	At     logbook.Millis
	Take   logbook.View
	Period *Period
}

// Moments are the takes that pictures come from, by time, each at the moment of its first clip,
// as rows have it, and now while somebody works here.
func (s *SetUp) Moments() (all []Moment) {
	of := s.firstClips()
	for _, take := range s.takes {
		if kind := take.Text("takeKind"); kind == "" || kind == "take" {
			all = append(all, s.momentOf(take, of))
		}
	}
	if s.Worked() {
		all = append(all, s.Here())
	}
	return all
}

// AtTake is the moment of a take of the set-up, of whatever kind it is.
func (s *SetUp) AtTake(take logbook.View) Moment { return s.momentOf(take, s.firstClips()) }

// Here is the moment for which the set-up was read.
func (s *SetUp) Here() Moment { return Moment{At: s.upTo, Period: s.current} }

func (s *SetUp) momentOf(take logbook.View, of map[logbook.ID]logbook.Millis) Moment {
	at, ok := of[take.ID]
	if !ok {
		at = s.times[take.ID]
	}
	return Moment{at, take, s.at(s.PeriodOfTake(take), at)}
}

// firstClips are the moments of the first clips of takes.
func (s *SetUp) firstClips() map[logbook.ID]logbook.Millis {
	of := map[logbook.ID]logbook.Millis{}
	for _, clip := range s.clips { // by time
		for _, take := range s.TakesOf(clip) {
			if _, ok := of[take.ID]; !ok {
				of[take.ID] = s.MomentOf(clip)
			}
		}
	}
	return of
}

// leftAfter is how long nothing is entered in a set-up before it counts as left: a choice of
// this program.
const leftAfter = logbook.Millis(12 * 60 * 60 * 1000)

// wrap is the moment of the last clip, else of the last take or entry, and whether the set-up was
// wrapped then: its day is closed, nothing was entered for long, or another set-up of the day
// and unit went on.
func (s *SetUp) wrap() (at logbook.Millis, wrapped bool) {
	at = logbook.Beginning
	for _, clip := range s.clips {
		at = max(at, s.MomentOf(clip))
	}
	if len(s.clips) == 0 {
		for _, t := range s.times {
			at = max(at, t)
		}
	}
	shot := at != logbook.Beginning
	if !shot {
		at = s.lastEntered()
	}
	day, _ := s.book.RecordOf(kinds.Day, s.day)
	if _, closed := ClosedSince(day); closed {
		return at, true
	}
	if s.now-s.lastEntered() >= leftAfter { // and so from now on
		return at, true
	}
	left := shot && s.reader.wentOn(s.day, s.setUp.ID, at)
	if !left {
		s.reader.byClock = true
	}
	return at, left
}

// lastEntered is when something was entered last.
func (s *SetUp) lastEntered() (last logbook.Millis) {
	for _, of := range [...]logbook.Kind{kinds.Take, kinds.Clip, kinds.Reading, kinds.White} {
		for _, v := range s.book.Referring(of, "setUp", s.setUp.ID) {
			last = max(last, v.CreatedAt())
		}
	}
	return last
}

// lastElsewhere is the moment of the last clip that a day's other set-ups have.
func (r *Reader) lastElsewhere(day, but logbook.ID) (last logbook.Millis, on logbook.Seen) {
	last = logbook.Beginning
	if day.IsZero() {
		return last, nil
	}
	if _, ok := r.lastClips[day]; !ok && len(r.lastClips) >= daysAtHand {
		clear(r.lastClips)
	}
	all := logbook.RestingApart(r.book, r.lastClips, day, func() map[logbook.ID]logbook.Millis {
		all := map[logbook.ID]logbook.Millis{}
		for _, setUp := range r.book.Referring(kinds.SetUp, "day", day) {
			latest := logbook.Beginning
			for _, clip := range r.book.Referring(kinds.Clip, "setUp", setUp.ID) {
				latest = max(latest, lighting.ClipTime(clip))
			}
			all[setUp.ID] = latest
		}
		return all
	})
	for setUp, at := range all.Value {
		if setUp != but {
			last = max(last, at)
		}
	}
	return last, all.On
}
