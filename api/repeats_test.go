package api

import (
	"net/http"
	"net/http/httptest"
	"testing"
	"time"

	"github.com/labstack/echo/v4"
)

// slow looks, whenever it is written to, whether others could go on.
type slow struct {
	*httptest.ResponseRecorder
	s    *service
	held bool
}

func (w *slow) Write(b []byte) (int, error) {
	if !w.s.repeats.mu.TryLock() {
		w.held = true
	} else {
		w.s.repeats.mu.Unlock()
	}
	return w.ResponseRecorder.Write(b)
}

func TestAClientThatReadsSlowlyHoldsNobodyUp(t *testing.T) {
	s := &service{Config: Config{Now: time.Now}}
	key := "one"
	for _, turn := range []string{"the answer", "its repetition"} {
		w := &slow{ResponseRecorder: httptest.NewRecorder(), s: s}
		c := echo.New().NewContext(httptest.NewRequest("POST", "/", nil), w)
		ran := false
		err := s.once(c, &key, func() error {
			ran = true
			c.Response().Header().Set("ETag", `"t"`)
			return answer(c, http.StatusCreated, "stored")
		})
		if err != nil || w.Code != 201 || w.Body.String() != `"stored"` || w.Header().Get("ETag") != `"t"` || ran != (turn == "the answer") {
			t.Errorf("%s: got %d %s %v (%v), run %v", turn, w.Code, w.Body, w.Header(), err, ran)
		}
		if w.held {
			t.Errorf("%s went out while every other request with a key waited", turn)
		}
	}
}

func TestKeptAnswersTakeBoundedRoom(t *testing.T) {
	var r repeats
	big := &repeat{body: make([]byte, mostRepeatBytes/4)}
	for _, name := range []string{"a", "b", "b", "c", "d", "e", "f"} {
		r.keep(name, big)
	}
	if len(r.known) != 4 || len(r.order) != 4 || r.known["b"] != nil || r.known["f"] == nil || r.bytes != mostRepeatBytes {
		t.Errorf("got %v of %d bytes, want the last four of %d", r.order, r.bytes, mostRepeatBytes)
	}
	r.keep("g", &repeat{body: make([]byte, mostRepeatBytes+1)})
	if len(r.known) != 1 || r.known["g"] == nil {
		t.Errorf("got %v, want only the last", r.order)
	}
}
