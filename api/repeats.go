package api

import (
	"bytes"
	"crypto/sha256"
	"net/http"
	"sync"
	"time"

	"github.com/labstack/echo/v4"
)

// How long, and how many, answers to requests with an Idempotency-Key are kept.
const (
	repeatLife  = 24 * time.Hour
	mostRepeats = 2000
)

// repeats remembers the answers to requests that carried an Idempotency-Key, so
// that a phone that lost an answer may ask again.
type repeats struct {
	mu    sync.Mutex
	known map[string]*repeat
	order []string // oldest first
}

type repeat struct {
	request [32]byte
	at      time.Time
	status  int
	header  http.Header
	body    []byte
}

// once runs a request that carries a key, or repeats what was answered to it.
// Requests with keys run one after another, so that two of one key cannot both
// run. Answers that are problems are not kept: nothing was stored then.
func (s *service) once(c echo.Context, key *string, run func() error) error {
	if key == nil {
		return run()
	}
	r := c.Request()
	name := callerOf(r.Context()).Device.String() + " " + *key
	hash := sha256.Sum256([]byte(r.Method + " " + r.URL.Path + "\n" + string(bodyOf(c))))
	s.repeats.mu.Lock()
	defer s.repeats.mu.Unlock()
	if known, ok := s.repeats.known[name]; ok && s.Now().Sub(known.at) < repeatLife {
		if known.request != hash {
			return ErrKeyReused
		}
		for field, values := range known.header {
			c.Response().Header()[field] = values
		}
		return c.Blob(known.status, known.header.Get(echo.HeaderContentType), known.body)
	}
	copied := &recorder{ResponseWriter: c.Response().Writer}
	c.Response().Writer = copied
	if err := run(); err != nil {
		return err
	}
	s.repeats.keep(name, &repeat{hash, s.Now(), c.Response().Status, c.Response().Header().Clone(), copied.body.Bytes()})
	return nil
}

// keep notes an answer and forgets the oldest beyond the bound. The caller holds
// the lock.
func (r *repeats) keep(name string, answer *repeat) {
	if r.known == nil {
		r.known = map[string]*repeat{}
	}
	if _, ok := r.known[name]; !ok {
		r.order = append(r.order, name)
	}
	r.known[name] = answer
	if len(r.order) > mostRepeats {
		delete(r.known, r.order[0])
		r.order = r.order[1:]
	}
}

// recorder keeps a copy of what is answered.
type recorder struct {
	http.ResponseWriter
	body bytes.Buffer
}

func (r *recorder) Write(b []byte) (int, error) {
	r.body.Write(b)
	return r.ResponseWriter.Write(b)
}
