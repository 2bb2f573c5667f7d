package footage

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// tellShifts proposes each stretch of rows that are off by the same count.
func (j *joiner) tellShifts(job *job, by []int) {
	var now *NameShift
	first, last := 0, 0
	end := func() {
		if now == nil {
			return
		}
		now.Words = job.shiftWords(now, first, last)
		j.out.Shifts = append(j.out.Shifts, *now)
		now = nil
	}
	for i := range job.rows {
		if job.of[i] < 0 || by[i] == 0 && job.how(i) != equally {
			continue // no file, or a slip within the stretch
		}
		if now != nil && by[i] != now.By {
			end()
		}
		if by[i] == 0 {
			continue
		}
		row := job.rows[i]
		if now == nil {
			now, first = &NameShift{From: row.Clip, Camera: row.Camera, Card: row.Card, Day: row.Day, By: by[i]}, i
		}
		last = i
		now.Clips = append(now.Clips, row.Clip)
	}
	end()
}

func (job *job) shiftWords(s *NameShift, first, last int) string {
	row, rec := job.rows[first], job.recs[job.of[first]]
	words := fmt.Sprintf("names shift by %+d from %s (file %s) to %s: %s", s.By, Shown(row.Name), Shown(rec.Name), Shown(job.rows[last].Name),
		counted(len(s.Clips), "clip"))
	setUps := []string{}
	for _, r := range job.rows[first : last+1] {
		if !slices.Contains(setUps, r.SetUp) {
			setUps = append(setUps, r.SetUp)
		}
	}
	if len(setUps) > 1 {
		words += fmt.Sprintf(" in %d set-ups", len(setUps))
	}
	var reasons []string
	if at := job.of[first] - 1; job.left[at] {
		reasons = append(reasons, "nobody logged "+Shown(job.recs[at].Name)+" before it")
	} else if first > 0 && job.of[first-1] < 0 {
		reasons = append(reasons, "no file is "+Shown(job.rows[first-1].Name)+" before it")
	}
	if job.clock.timed {
		var as, off []float64
		for i := first; i <= last; i++ {
			if at := job.of[i]; at >= 0 {
				off = append(off, math.Abs(job.clock.off(job.rows[i], job.recs[at])))
			}
		}
		numbers := map[int]*recorded{}
		for _, r := range job.recs {
			numbers[r.number] = r
		}
		for _, r := range job.rows[first : last+1] {
			if rec := numbers[r.number]; rec != nil && r.number >= 0 {
				as = append(as, math.Abs(job.clock.off(r, rec)))
			}
		}
		told := "shifted so, times agree within " + seconds(median(off)) + " (median)"
		if len(as) > 0 {
			told += ", as named they are " + seconds(median(as)) + " apart"
		}
		reasons = append(reasons, told)
	}
	if d := len(job.recs) - len(job.rows); d != 0 {
		reasons = append(reasons, fmt.Sprintf("the card has %s, the log %d", counted(len(job.recs), "recording"), len(job.rows)))
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
