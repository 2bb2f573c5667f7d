package growth

import (
	"encoding/binary"
	"fmt"
	"iter"
	"math/rand/v2"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
)

// A Size is how long a log is: so many edits by so many devices, all of the same job.
type Size struct {
	Name           string
	Edits, Devices int
}

// Sizes are the logs that figures of growth are measured on. A day, a set-up and a take
// are the same in both, and so are the three cameras; the larger one goes on for longer.
var Sizes = []Size{{"60k", 60_000, 20}, {"1m", 1_000_000, 200}}

// crewed is how many devices are at work on one day.
const crewed = 20

// All walks the edits in the order in which they were made: days of the long job, on
// each of which 20 of the devices start anew. What becomes known after a take is a second
// edit of it and of each clip; 1 in 200 takes is logged twice, every second of which
// somebody has answered, and 1 in 200 clips is struck out.
func (s Size) All() iter.Seq[*logbook.Edit] {
	return func(yield func(*logbook.Edit) bool) {
		left := s.Edits
		j := &job{chance: rand.New(rand.NewPCG(1, 2)), at: began, lived: true}
		j.take = func(e *logbook.Edit) bool {
			left--
			return yield(e) && left > 0
		}
		devices := j.phones(s.Devices)
		for d := 0; !j.over; d++ {
			j.start(devices, d)
			if d == 0 {
				j.begin()
			}
			j.day(d)
		}
	}
}

// start brings the crew of a day, each with a line of its own.
func (j *job) start(devices []phone, day int) {
	j.at = began + logbook.Millis(day)*24*60*60*1000
	j.crew = j.crew[:0]
	for i := range crewed {
		p := devices[(13*day+i)%len(devices)]
		binary.BigEndian.PutUint64(p.line[:], j.chance.Uint64())
		j.crew = append(j.crew, p)
	}
}

func (j *job) afterTake(setUp, take logbook.ID, number int) {
	ended := fmt.Sprintf(`{"endedAt": "%s", "state": "%s"}`, j.at.Time().Format("2006-01-02T15:04:05Z"), []string{"complete", "noGood"}[j.chance.IntN(2)])
	j.edit(j.chance.IntN(len(j.crew)), kinds.Take, take, changes(ended))
	if j.chance.IntN(200) == 0 {
		j.twins(take, j.make(kinds.Take, `{"setUp": "%s", "number": %d}`, setUp, number))
	}
}

// afterClip brings its lens; of some it is struck out, by who saw its first edit alone.
func (j *job) afterClip(clip logbook.ID) {
	made := j.first
	j.edit(j.chance.IntN(len(j.crew)), kinds.Clip, clip, changes(fmt.Sprintf(`{"lens": "%d mm"}`, 18+j.chance.IntN(80))))
	if j.chance.IntN(200) == 0 {
		set := []logbook.Change{{Field: logbook.DeletedField, Value: "true", Over: []logbook.Dot{made}}}
		j.edit(j.chance.IntN(len(j.crew)), kinds.Clip, clip, set)
	}
}

// twins answers every second time that a take was logged twice: as one or as two in turn.
func (j *job) twins(a, b logbook.ID) {
	answer := j.chance.IntN(4)
	if answer > 1 {
		return
	}
	if b.Less(a) {
		a, b = b, a
	}
	value := logbook.TextValue([]string{"one", "two"}[answer])
	j.edit(j.chance.IntN(len(j.crew)), kinds.Take, a, []logbook.Change{{Field: logbook.SamePrefix + b.String(), Value: value}})
}
