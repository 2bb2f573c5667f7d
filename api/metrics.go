package api

import (
	"cmp"
	"errors"
	"fmt"
	"maps"
	"net/http"
	"runtime"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/labstack/echo/v4"

	"evenwhite/logbook"
)

// metrics count what was asked since the start, by operation and status: a number of
// rows that no caller can raise.
type metrics struct {
	mu    sync.Mutex
	asked map[asked]tally
}

type asked struct {
	method, path string
	status       int
}

type tally struct {
	count int
	spent time.Duration
}

func (m *metrics) add(a asked, spent time.Duration) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.asked == nil {
		m.asked = map[asked]tally{}
	}
	t := m.asked[a]
	m.asked[a] = tally{t.count + 1, t.spent + spent}
}

// GetMetrics gives an owner of the server its figures in the text form of Prometheus
// (exposition format 0.0.4).
func (s *service) GetMetrics(c echo.Context) error {
	var out strings.Builder
	s.metrics.write(&out)
	productions, err := s.Store.Productions()
	if err != nil {
		return err
	}
	row := header(&out, "evenwhite_log_edits", "gauge", "Edits in the log of a production.")
	for _, id := range productions {
		head, err := s.Store.Head(id)
		if errors.Is(err, logbook.ErrDamaged) || errors.Is(err, logbook.ErrNoProduction) {
			continue
		}
		if err != nil {
			return err
		}
		row(fmt.Sprintf(`{production="%s"}`, id), float64(head.Seq))
	}
	warnings, err := s.Logs.Warnings()
	if err != nil {
		return err
	}
	writable := 1.0
	if s.State != nil {
		state := s.State()
		if warnings = append(warnings, state.Warnings...); state.Err != nil {
			writable = 0
		}
	}
	header(&out, "evenwhite_warnings", "gauge", "Warnings that readyz tells, such as backups that fail.")("", float64(len(warnings)))
	header(&out, "evenwhite_writable", "gauge", "1 while the store takes changes.")("", writable)
	writeUplinks(&out, s.uplinkStates())
	var memory runtime.MemStats
	runtime.ReadMemStats(&memory)
	header(&out, "evenwhite_memory_bytes", "gauge", "Memory taken from the system by the Go runtime.")("", float64(memory.Sys))
	header(&out, "evenwhite_goroutines", "gauge", "Goroutines that exist.")("", float64(runtime.NumGoroutine()))
	c.Response().Header().Set("Cache-Control", "no-store")
	return c.Blob(http.StatusOK, "text/plain; version=0.0.4; charset=utf-8", []byte(out.String()))
}

// write writes the requests, sorted.
func (m *metrics) write(out *strings.Builder) {
	m.mu.Lock()
	defer m.mu.Unlock()
	rows := slices.SortedFunc(maps.Keys(m.asked), func(a, b asked) int {
		return cmp.Or(cmp.Compare(a.path, b.path), cmp.Compare(a.method, b.method), cmp.Compare(a.status, b.status))
	})
	labels := func(a asked) string {
		return fmt.Sprintf(`{method="%s",path="%s",status="%d"}`, a.method, a.path, a.status)
	}
	row := header(out, "evenwhite_requests_total", "counter", "Requests that were answered.")
	for _, a := range rows {
		row(labels(a), float64(m.asked[a].count))
	}
	row = header(out, "evenwhite_request_seconds_total", "counter", "Time spent on them; event streams count until they end.")
	for _, a := range rows {
		row(labels(a), m.asked[a].spent.Seconds())
	}
}

// header begins a metric; what it returns writes a row of it.
func header(out *strings.Builder, name, kind, help string) func(labels string, value float64) {
	fmt.Fprintf(out, "# HELP %s %s\n# TYPE %s %s\n", name, help, name, kind)
	return func(labels string, value float64) { fmt.Fprintf(out, "%s%s %g\n", name, labels, value) }
}
