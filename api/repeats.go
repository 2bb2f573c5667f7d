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
	repeatLife      = 24 * time.Hour
	mostRepeats     = 2000
	mostRepeatBytes = 32 << 20
)

// repeats remembers the answers to requests that carried an Idempotency-Key, so
// that a phone that lost an answer may ask again.
type repeats struct {
	mu    sync.Mutex
	known map[string]*repeat
	order []string // oldest first
	bytes int      // of all bodies
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
// run; their answers go out after that, so that nobody waits for a client that
// reads slowly. Answers that are problems are not kept: nothing was stored then.
func (s *service) once(c echo.Context, key *string, run func() error) error {
	if key == nil {
		return run()
	}
	r := c.Request()
	name := callerOf(r.Context()).Device.String() + " " + *key
	hash := sha256.Sum256([]byte(r.Method + " " + r.URL.Path + "\n" + string(bodyOf(c))))
	answered, err := s.answerOnce(c, name, hash, run)
	if err != nil {
		return err
	}
	for field, values := range answered.header {
		c.Response().Header()[field] = values
	}
	return c.Blob(answered.status, answered.header.Get(echo.HeaderContentType), answered.body)
}

// answerOnce finds what was answered to the request, or runs it.
func (s *service) answerOnce(c echo.Context, name string, hash [32]byte, run func() error) (*repeat, error) {
	s.repeats.mu.Lock()
	defer s.repeats.mu.Unlock()
	if known, ok := s.repeats.known[name]; ok && s.Now().Sub(known.at) < repeatLife {
		if known.request != hash {
			return nil, ErrKeyReused
		}
		return known, nil
	}
	response := c.Response()
	client, instead := response.Writer, &recorder{ResponseWriter: response.Writer}
	response.Writer = instead
	status, err := func() (int, error) {
		defer func() { response.Writer, response.Committed, response.Size = client, false, 0 }() // also where run panics
		err := run()
		return response.Status, err
	}()
	if err != nil {
		return nil, err
	}
	answered := &repeat{hash, s.Now(), status, response.Header().Clone(), instead.body.Bytes()}
	s.repeats.keep(name, answered)
	return answered, nil
}

// keep notes an answer and forgets the oldest beyond the bounds. The caller holds
// the lock.
func (r *repeats) keep(name string, answer *repeat) {
	if r.known == nil {
		r.known = map[string]*repeat{}
	}
	if old, ok := r.known[name]; ok {
		r.bytes -= len(old.body)
	} else {
		r.order = append(r.order, name)
	}
	r.known[name] = answer
	r.bytes += len(answer.body)
	for len(r.order) > mostRepeats || r.bytes > mostRepeatBytes && len(r.order) > 1 {
		r.bytes -= len(r.known[r.order[0]].body)
		delete(r.known, r.order[0])
		r.order = r.order[1:]
	}
}

// recorder takes an answer in the place of the client.
type recorder struct {
	http.ResponseWriter
	body bytes.Buffer
}

func (r *recorder) WriteHeader(int) {}

func (r *recorder) Write(b []byte) (int, error) { return r.body.Write(b) }
