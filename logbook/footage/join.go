package footage

import (
	"fmt"
	"slices"
)

const mostUnlogged = 1000

// Join holds recordings against the clips of a log.
func Join(rows []*Row, c *Collection) Joined {
	j := &joiner{}
	j.out.Clips, j.out.NoRow, j.out.Shifts, j.out.Settings = []JoinedClip{}, []UnloggedRecording{}, []NameShift{}, []SettingDifference{}
	j.out.Cards, j.out.NotListed, j.out.Explanations = []JoinedCard{}, []string{}, []string{}
	rolls := rollsOf(rows)
	n := namesOf(rolls)
	recordings := c.Recordings(n.isClip)
	j.out.Counts.Files, j.out.Counts.Beside, j.out.Counts.Recordings = c.files, c.beside, len(recordings)
	reels := reelsOf(recordings, n)
	renamed(reels, rolls, assign(reels, n))
	strays(reels, rolls)
	var jobs []*job
	for _, r := range rolls {
		if len(r.reels) == 0 {
			j.out.NotListed = append(j.out.NotListed, fmt.Sprintf("%s: %s", r.label(), counted(len(r.rows), "clip")))
			continue
		}
		jobs = append(jobs, jobOf(r))
	}
	for from := 0; from < len(jobs); {
		to := from
		for to < len(jobs) && jobs[to].first().Body == jobs[from].first().Body {
			to++
		}
		clocks(jobs[from:to])
		from = to
	}
	for _, job := range jobs {
		j.tell(job)
	}
	j.tellReels(reels)
	j.explain(reels, len(rows))
	return j.out
}

type joiner struct{ out Joined }

func counted(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// strays gives a folder whose names say nothing to the roll whose folder it lies in, or whose
// card it is named like.
func strays(reels []*reel, rolls []*roll) {
	for _, r := range reels {
		if r.roll != nil || r.head != "\x00" {
			continue
		}
		var found []*roll
		for _, other := range reels {
			if other.roll != nil && other.folder == r.folder && !slices.Contains(found, other.roll) {
				found = append(found, other.roll)
			}
		}
		if len(found) == 0 {
			words := wordsOf(r.folder)
			for _, to := range rolls {
				if to.head == "" && to.told(words) >= 2 || to.told(words) >= 3 {
					found = append(found, to)
				}
			}
		}
		if len(found) == 1 {
			r.roll, r.problem = found[0], ""
			found[0].reels = append(found[0].reels, r)
		}
	}
}

// tell says what came of one card.
func (j *joiner) tell(job *job) {
	whole := job.whole()
	shifts := job.shifts()
	for i, row := range job.rows {
		c := JoinedClip{Clip: row.Clip, Camera: row.Camera, Card: row.Card, Day: row.Day, SetUp: row.SetUp, Logged: row.Name, Adopted: row.Listed}
		at := job.of[i]
		if at < 0 {
			c.Result, c.Words = NoFile, "no file of the card is this clip"
			j.add(c)
			continue
		}
		rec := job.recs[at]
		c.File, c.Folder, c.Files, c.By = rec.Name, rec.Folder, rec.Files, shifts[i]
		c.Result, c.Words = job.judge(i, whole, shifts[i])
		c.Confirmed = j.compare(row, rec, c)
		j.add(c)
	}
	j.tellShifts(job, shifts)
	for at := range job.recs {
		if job.left[at] {
			j.unlogged(job, at)
		}
	}
}

func (j *joiner) add(c JoinedClip) {
	n := &j.out.Counts
	switch c.Result {
	case Sure:
		n.Sure++
		if c.Confirmed {
			n.Confirmed++
		}
	case Likely:
		n.Likely++
	case Shifted:
		n.Shifted++
	case NearMiss:
		n.NearMiss++
	default:
		n.NoFile++
	}
	j.out.Clips = append(j.out.Clips, c)
}
