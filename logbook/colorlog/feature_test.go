package colorlog

import (
	"fmt"
	"io"
	"math/rand/v2"
	"runtime"
	"testing"

	"evenwhite/logbook"
)

// longJob writes the long job feature-1 into a book: 60 days of 20 set-ups of 8
// takes with 3 cameras, 4 lights a set-up with 2 readings each, and 3 in 100 of
// the clips' settings edited twice without seeing each other. The seed is fixed.
func longJob(days int) *logbook.Book {
	j := &job{book: logbook.NewBook(logbook.ID{15: 1}), chance: rand.New(rand.NewPCG(1, 2)), at: 1_930_000_000_000}
	j.write(logbook.KindProduction, j.book.Production(), `{"title": "Long job", "timeZone": "Etc/UTC", "slating": "sceneAndLetter", "frameRate": "25", "gelFamily": "based5500"}`)
	var bodies, cameras [3]logbook.ID
	for c := range 3 {
		bodies[c] = j.make(logbook.KindBody, `{"label": "body %d", "whiteModes": ["kelvin"], "kelvinRanges": [{"min": 2000, "max": 10000, "step": %d}], "tintZero": "blend", "recordingModes/m": {"name": "plain", "white": "baked"}, "timecode": "timeOfDay"}`, c, []int{10, 50, 100}[c])
		cameras[c] = j.make(logbook.KindCamera, `{"letter": "%c", "body": {"body": "%s"}}`, 'A'+c, bodies[c])
	}
	for d := range days {
		day := j.make(logbook.KindDay, `{"number": %d, "date": "2031-%02d-%02d"}`, d+1, 1+d/28, 1+d%28)
		for s := range 20 {
			j.setUp(day, s, bodies, cameras)
		}
	}
	j.book.Settle()
	return j.book
}

type job struct {
	book   *logbook.Book
	chance *rand.Rand
	n      uint64
	at     logbook.Millis
}

func (j *job) make(kind logbook.Kind, format string, args ...any) logbook.ID {
	id := logbook.ID{0: 2, 6: 0x70, 8: 0x80, 12: byte(j.n >> 24), 13: byte(j.n >> 16), 14: byte(j.n >> 8), 15: byte(j.n)}
	j.write(kind, id, fmt.Sprintf(format, args...))
	return id
}

func (j *job) write(kind logbook.Kind, id logbook.ID, fields string) {
	v, err := logbook.ParseValue(fields)
	if err != nil {
		panic(err)
	}
	j.n++
	j.at += 20_000
	e := &logbook.Edit{Production: j.book.Production(), Kind: kind, Record: id, Dot: logbook.Dot{Line: logbook.Line{1}, N: j.n}, At: j.at, By: "DIT"}
	for field, value := range v.Members() {
		e.Set = append(e.Set, logbook.Change{Field: field, Value: value})
	}
	if err := j.book.Apply(e); err != nil {
		panic(err)
	}
}

func (j *job) setUp(day logbook.ID, s int, bodies, cameras [3]logbook.ID) {
	setUp := j.make(logbook.KindSetUp, `{"day": "%s", "name": "%c"}`, day, 'A'+s)
	kelvin := 2800 + 100*j.chance.IntN(35)
	var first logbook.ID
	for l := range 4 {
		light := j.make(logbook.KindLight, `{"setUp": "%s", "name": "light %d", "role": "%s"}`, setUp, l, []string{"key", "fill", "back", "practical"}[l])
		for range 2 {
			reading := j.make(logbook.KindReading, `{"setUp": "%s", "takenAt": "%s", "of": {"as": "light", "light": "%s"}, "measured": {"as": "cctDuv", "cctKelvin": %d, "duv": 0.00%02d}, "illuminance": {"value": 300, "unit": "lux"}}`,
				setUp, j.at.Time().Format("2006-01-02T15:04:05Z"), light, kelvin+j.chance.IntN(60)*10, j.chance.IntN(40))
			if first.IsZero() {
				first = reading
				j.make(logbook.KindWhite, `{"setUp": "%s", "from": {"as": "readings", "readings": [{"reading": "%s"}]}, "appliesFrom": {"as": "start"}}`, setUp, first)
			}
		}
	}
	for t := range 8 {
		take := j.make(logbook.KindTake, `{"setUp": "%s", "number": %d}`, setUp, t+1)
		for c := range 3 {
			clip := j.make(logbook.KindClip, `{"setUp": "%s", "camera": "%s", "body": "%s", "takes/%s": {}, "whiteMode": "kelvin", "kelvin": %d, "settingsAre": "readOff", "name": {"text": "%c%06d", "from": "counted"}, "card": "%c01"}`,
				setUp, cameras[c], bodies[c], take, kelvin/100*100, 'A'+c, j.n, 'A'+c)
			if j.chance.IntN(100) < 3 {
				j.write(logbook.KindClip, clip, fmt.Sprintf(`{"kelvin": %d}`, kelvin/100*100+100))
			}
		}
	}
}

// sizer counts what is written to it.
type sizer int

func (s *sizer) Write(p []byte) (int, error) {
	*s += sizer(len(p))
	return len(p), nil
}

func BenchmarkColorLog(b *testing.B) {
	book := longJob(60)
	head := HeadOf(book, Scope{}, Origin{Program: "bench"})
	for name, write := range map[string]func(io.Writer) error{
		"csv":  func(w io.Writer) error { return WriteCSV(w, head, Rows(book, Scope{})) },
		"json": func(w io.Writer) error { return WriteJSON(w, head, Rows(book, Scope{})) },
	} {
		b.Run(name, func(b *testing.B) {
			var out sizer
			for b.Loop() {
				if err := write(&out); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(b.Elapsed().Milliseconds())/float64(b.N), "feature1.colorlog_"+name+"_ms")
			b.ReportMetric(float64(int(out)/b.N)/(1<<20), "feature1.colorlog_"+name+"_size_mb")
		})
	}
}

func TestALongJobIsHeldOneSetUpAtATime(t *testing.T) {
	book := longJob(2)
	var before runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&before)
	var c counter
	if err := WriteJSON(&c, HeadOf(book, Scope{}, Origin{Program: "test"}), Rows(book, Scope{})); err != nil {
		t.Fatal(err)
	}
	if grown := int64(c.most) - int64(before.HeapAlloc); c.bytes < 1<<20 || grown > 2<<20 {
		t.Errorf("wrote %d bytes of 960 clips while the heap grew by %d; want at least 1 MiB written and at most 2 MiB held", c.bytes, grown)
	}
}
