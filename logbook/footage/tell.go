package footage

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
)

// tellShifts proposes each stretch of rows whose names are off by the same count, that are named for
// another card, or have no name.
func (j *joiner) tellShifts(job *job, by []int) {
	var now *NameShift
	var why stretch
	first, last := 0, 0
	end := func() {
		if now != nil {
			now.Words = job.shiftWords(now, why, first, last)
			j.out.Shifts = append(j.out.Shifts, *now)
			now = nil
		}
	}
	for i, row := range job.rows {
		if job.of[i] < 0 {
			continue
		}
		here := job.stretchAt(i, by[i])
		if here == slipped {
			continue // within a stretch, or alone
		}
		if now != nil && (by[i] != now.By || here != why) {
			end()
		}
		if here == wellNamed {
			continue
		}
		if now == nil {
			now, why, first = &NameShift{From: row.Clip, Camera: row.Camera, Card: row.Card, Day: row.Day, By: by[i]}, here, i
		}
		last = i
		now.Clips = append(now.Clips, row.Clip)
	}
	end()
}

// A stretch is why rows, one after another, want the names of their files.
type stretch int

const (
	wellNamed stretch = iota // they have them
	slipped                  // one slip, or something that is not clear
	miscount                 // they were counted wrongly
	otherCard                // they are named for another card
	nameless
)

func (j *job) stretchAt(i, by int) stretch {
	switch how := j.how(i); {
	case by != 0:
		return miscount
	case how == equally:
		return wellNamed
	case how == unnamed && j.clear(i):
		return nameless
	case j.otherCard(i):
		return otherCard
	}
	return slipped
}

// clear reports whether the time alone says which file a row has.
func (j *job) clear(i int) bool {
	row, rec := j.rows[i], j.recs[j.of[i]]
	return j.clock.timed && !math.IsNaN(rec.at) && !j.clock.tooFar(j.clock.off(row, rec)) && !j.rival(i)
}

// otherCard reports whether the file of a row is named for another card, and its time is clear.
func (j *job) otherCard(i int) bool {
	return j.recs[j.of[i]].renamed && j.how(i) != unnamed && j.clear(i)
}

func (j *job) shiftWords(s *NameShift, why stretch, first, last int) string {
	row, rec, end := j.rows[first], j.recs[j.of[first]], j.recs[j.of[last]]
	what := fmt.Sprintf("names shift by %+d", s.By)
	switch why {
	case otherCard:
		what = "the files are named for another card"
	case nameless:
		what = "the log has no names"
	}
	words := fmt.Sprintf("%s from %s (file %s) to %s (file %s): %s", what, Shown(cmp.Or(row.Name, "-")), Shown(rec.Name),
		Shown(cmp.Or(j.rows[last].Name, "-")), Shown(end.Name), counted(len(s.Clips), "clip"))
	setUps := []string{}
	for _, r := range j.rows[first : last+1] {
		if !slices.Contains(setUps, r.SetUp) {
			setUps = append(setUps, r.SetUp)
		}
	}
	if len(setUps) > 1 {
		words += fmt.Sprintf(" in %d set-ups", len(setUps))
	}
	var reasons []string
	if at := j.of[first] - 1; j.left[at] {
		reasons = append(reasons, "nobody logged "+Shown(j.recs[at].Name)+" before it")
	} else if first > 0 && j.of[first-1] < 0 {
		reasons = append(reasons, "no file is "+Shown(j.rows[first-1].Name)+" before it")
	}
	if j.clock.timed {
		var as, off []float64
		for i := first; i <= last; i++ {
			if at := j.of[i]; at >= 0 {
				off = append(off, math.Abs(j.clock.off(j.rows[i], j.recs[at])))
			}
		}
		numbers := map[int]*recorded{}
		for _, r := range j.recs {
			if why == miscount {
				numbers[r.number] = r
			}
		}
		for _, r := range j.rows[first : last+1] {
			if rec := numbers[r.number]; rec != nil && r.number >= 0 {
				as = append(as, math.Abs(j.clock.off(r, rec)))
			}
		}
		told := "so joined, times agree within " + seconds(median(off)) + " (median)"
		if len(as) > 0 {
			told += ", as named they are " + seconds(median(as)) + " apart"
		}
		reasons = append(reasons, told)
	}
	if d := len(j.recs) - len(j.rows); d != 0 {
		reasons = append(reasons, fmt.Sprintf("the card has %s, the log %d", counted(len(j.recs), "recording"), len(j.rows)))
	}
	if len(reasons) > 0 {
		words += "; " + strings.Join(reasons, "; ")
	}
	return words
}

func (j *joiner) unlogged(job *job, at int) {
	rec, first := job.recs[at], job.first()
	before, after := "", ""
	for i, of := range job.of {
		if of >= 0 && of < at {
			before = job.recs[job.of[i]].Name
		}
		if of > at {
			after = job.recs[job.of[i]].Name
			break
		}
	}
	words := "nobody logged it"
	switch {
	case before != "" && after != "":
		words += ": between " + Shown(before) + " and " + Shown(after)
	case before != "":
		words += ": after " + Shown(before) + ", the last one that is logged on the card"
	case after != "":
		words += ": before " + Shown(after) + ", the first one that is logged on the card"
	}
	j.noRow(UnloggedRecording{rec.Name, rec.Folder, first.Camera, first.Card, words})
}

func (j *joiner) noRow(u UnloggedRecording) {
	if j.out.Counts.NoRow++; len(j.out.NoRow) < mostUnlogged {
		j.out.NoRow = append(j.out.NoRow, u)
	}
}

func (j *joiner) tellReels(reels []*reel) {
	for _, r := range reels {
		card := JoinedCard{Folder: r.folder, Recordings: len(r.of)}
		if r.roll != nil {
			first := r.roll.first()
			card.Camera, card.Card, card.Day = first.Camera, first.Card, first.Day
			card.Words = r.roll.label() + ": " + r.roll.clock.words()
			j.out.Cards = append(j.out.Cards, card)
			continue
		}
		card.Words = r.problem
		j.out.Cards = append(j.out.Cards, card)
		for _, rec := range r.of {
			j.noRow(UnloggedRecording{File: rec.Name, Folder: rec.Folder, Words: r.problem})
		}
	}
}

func (c clock) words() string {
	if !c.timed {
		return "joined by names and order, without times"
	}
	ahead := "ahead of"
	if c.offset < 0 {
		ahead = "behind"
	}
	return fmt.Sprintf("the times of its files are %s %s the log, ± %.0f s", seconds(c.offset), ahead, c.spread)
}

func (j *joiner) explain(reels []*reel, rows int) {
	say := func(words string) { j.out.Explanations = append(j.out.Explanations, words) }
	joined, timed, timeless := 0, 0, 0
	for _, r := range reels {
		if r.roll == nil {
			continue
		}
		joined++
		if r.roll.clock.timed {
			timed++
		} else if slices.ContainsFunc(r.of, func(rec *recorded) bool { return !math.IsNaN(rec.at) }) {
			timeless++
		}
	}
	switch {
	case rows == 0:
		say("the log has no clips yet")
	case len(reels) == 0:
		say("the listing has no recordings: only folders, lists, sound or other files that stand beside them")
	case joined == 0:
		say("no recording is named like a clip of this production: is it the listing of another one?")
	case timed == 0 && timeless == 0:
		say("the listing has no times, by which most slips are found: list it with find -printf '%s %T@ %p\\n', " +
			"or give one that has them beside it")
	}
	if timeless > 0 {
		say(fmt.Sprintf("on %s the times of files do not follow the log: were they kept when the card was copied?", counted(timeless, "card")))
	}
}
