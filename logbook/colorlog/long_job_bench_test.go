package colorlog

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/bolt"
	"evenwhite/logbook/deviation"
	"evenwhite/logbook/glance"
	"evenwhite/logbook/growth"
	"evenwhite/logbook/kinds"
)

// theLongJob is made once for all benchmarks of a run.
var theLongJob = sync.OnceValue(func() []*logbook.Edit { return growth.LongJob(60) })

// afterTheLongJob is the evening of its last day.
func afterTheLongJob() logbook.Millis {
	edits := theLongJob()
	return edits[len(edits)-1].At + 60_000
}

func milliseconds(d time.Duration) float64 { return float64(d.Microseconds()) / 1000 }

// sizer counts what is written to it.
type sizer int

func (s *sizer) Write(p []byte) (int, error) {
	*s += sizer(len(p))
	return len(p), nil
}

func BenchmarkColorLog(b *testing.B) {
	book := bookOf(b, theLongJob())
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
			b.ReportMetric(milliseconds(b.Elapsed())/float64(b.N), "feature1.colorlog_"+name+"_ms")
			b.ReportMetric(float64(int(out)/b.N)/(1<<20), "feature1.colorlog_"+name+"_size_mb")
		})
	}
}

func BenchmarkDeviations(b *testing.B) {
	now := afterTheLongJob()
	b.Run("cold", func(b *testing.B) {
		book := bookOf(b, theLongJob())
		for b.Loop() {
			if found := deviation.Of(book, deviation.Scope{}, now); len(found) == 0 {
				b.Fatal("got no deviations, want some: a part of the fields was changed")
			}
		}
		b.ReportMetric(milliseconds(b.Elapsed())/float64(b.N), "feature1.deviations_cold_ms")
	})
	// The clip is merged and its set-up looked at again: what a phone does that is
	// open on the set-up. The whole production is not looked at.
	b.Run("one clip", func(b *testing.B) {
		book := bookOf(b, theLongJob())
		last := lastClip(theLongJob())
		setUp, _ := fieldOf(last, "setUp").ID()
		for n := uint64(1); b.Loop(); n++ {
			clip := *last
			clip.Record[0], clip.Record[15], clip.Record[14] = 3, byte(n), byte(n>>8)
			clip.Dot = logbook.Dot{Line: logbook.Line{9}, N: n}
			if err := book.Apply(&clip); err != nil {
				b.Fatal(err)
			}
			deviation.Of(book, deviation.Scope{SetUp: setUp}, now)
		}
		b.ReportMetric(milliseconds(b.Elapsed())/float64(b.N), "feature1.deviations_one_clip_ms")
	})
}

func lastClip(edits []*logbook.Edit) *logbook.Edit {
	for i := len(edits) - 1; ; i-- {
		if e := edits[i]; e.Kind == kinds.Clip && len(e.Set) > 1 {
			return e
		}
	}
}

func fieldOf(e *logbook.Edit, name string) logbook.Value {
	c, _ := e.Change(name)
	return c.Value
}

// openedFile names, for the process that BenchmarkOpen starts, the store to open.
const openedFile = "EVENWHITE_BENCH_OPEN"

func TestMain(m *testing.M) {
	if path := os.Getenv(openedFile); path != "" {
		if err := openAndAnswer(path, os.Stdout); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		return
	}
	os.Exit(m.Run())
}

// openAndAnswer opens a store as the server does and reads one set-up as it is
// now; then it prints how long that took and the memory of this process.
func openAndAnswer(path string, out io.Writer) error {
	start := time.Now()
	store, err := bolt.Open(path)
	if err != nil {
		return err
	}
	log, err := logbook.OpenLog(store, growth.Production, kinds.Rules, func() logbook.Line { return logbook.Line{8} })
	if err != nil {
		return err
	}
	log.Read(func(b *logbook.Book) {
		setUps := b.Records(kinds.SetUp)
		_, err = glance.Now(b, setUps[len(setUps)-1].ID, logbook.MillisOf(start))
	})
	if err != nil {
		return err
	}
	took := time.Since(start)
	status, err := os.ReadFile("/proc/self/status")
	if err != nil {
		return err
	}
	_, resident, _ := strings.Cut(string(status), "VmRSS:")
	_, err = fmt.Fprintln(out, milliseconds(took), strings.Fields(resident)[0])
	return err
}

// BenchmarkOpen opens the long job in a process of its own, whose resident memory
// holds nothing of the making of it.
func BenchmarkOpen(b *testing.B) {
	if _, err := os.Stat("/proc/self/status"); err != nil {
		b.Skip("the memory of a process is read from /proc, which is not here")
	}
	path := filepath.Join(b.TempDir(), "long.db")
	storeLongJob(b, path)
	var ms, kilobytes float64
	for b.Loop() {
		child := exec.Command(os.Args[0])
		child.Env = append(os.Environ(), openedFile+"="+path)
		var failure bytes.Buffer
		child.Stderr = &failure
		out, err := child.Output()
		if err != nil {
			b.Fatalf("%v: %s", err, &failure)
		}
		words := strings.Fields(string(out))
		for i, to := range []*float64{&ms, &kilobytes} {
			value, err := strconv.ParseFloat(words[i], 64)
			if err != nil {
				b.Fatal(err)
			}
			*to += value
		}
	}
	b.ReportMetric(ms/float64(b.N), "feature1.open_ms")
	b.ReportMetric(kilobytes*1024/1e6/float64(b.N), "feature1.rss_mb")
}

func storeLongJob(b *testing.B, path string) {
	store, err := bolt.Open(path)
	if err != nil {
		b.Fatal(err)
	}
	log, err := logbook.OpenLog(store, growth.Production, kinds.Rules, func() logbook.Line { return logbook.Line{8} })
	if err != nil {
		b.Fatal(err)
	}
	for edits := theLongJob(); len(edits) > 0; {
		n := min(1000, len(edits))
		answers, err := log.Push(edits[:n], edits[0].Device, edits[n-1].At)
		if err != nil {
			b.Fatal(err)
		}
		for _, a := range answers {
			if a.Outcome != logbook.AnswerTaken {
				b.Fatalf("edit %s: got %s %s, want it taken", a.Dot, a.Outcome, a.Reason)
			}
		}
		edits = edits[n:]
	}
	if err := store.Close(); err != nil {
		b.Fatal(err)
	}
}
