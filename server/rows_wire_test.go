package main

import (
	"bytes"
	"compress/gzip"
	"errors"
	"fmt"
	"io"
	"net/http"
	"sync"

	"evenwhite/logbook"
	"evenwhite/logbook/exchange"
)

// starClient keeps the connections of many devices, and has no limit of time: event
// streams stand.
var starClient = &http.Client{Transport: &http.Transport{MaxIdleConnsPerHost: 100}}

const rowsMedia = "application/vnd.evenwhite.rows"

// A rowsWire exchanges with one address in packed rows, as a phone does.
type rowsWire struct {
	url        string // of the exchange of a production
	pass       *pass
	production logbook.ID
	up, down   int // bytes of bodies so far, as they went over the wire
	calls      int
}

// exchange is one exchange of a replica with the log that was last met there. Where
// either side lacks a record that was left out, it is said again with all of them.
func (w *rowsWire) exchange(r *exchange.Replica, log logbook.Line) (exchange.Request, exchange.Answer, error) {
	q := r.Request(log)
	for known := r.Shared(log); ; {
		text, err := q.Rows(known)
		if err != nil {
			return q, exchange.Answer{}, err
		}
		status, said, err := w.send(text)
		if err != nil {
			return q, exchange.Answer{}, err
		}
		if status == http.StatusConflict && known != nil {
			known = nil
			continue
		}
		if status != http.StatusOK {
			return q, exchange.Answer{}, fmt.Errorf("status %d: %s", status, said)
		}
		a, err := exchange.ReadAnswerRows(said, w.production, r.Records)
		if !errors.Is(err, exchange.ErrRecords) || q.Whole {
			return q, a, err
		}
		q.Whole = true
	}
}

// send packs a text, posts it, and unpacks what is said to it.
func (w *rowsWire) send(text []byte) (status int, said []byte, err error) {
	body := packed(text)
	status, answer, err := postRows(w.url, w.pass, body)
	w.up, w.down, w.calls = w.up+len(body), w.down+len(answer), w.calls+1
	if err != nil || status != http.StatusOK {
		return status, answer, err
	}
	said, err = unpacked(answer)
	return status, said, err
}

// Devices of a star share the processors with the hub: what packs short texts is made
// ready in less time than what packs long ones well.
var (
	packers      = sync.Pool{New: func() any { return newPacker(gzip.DefaultCompression) }}
	quickPackers = sync.Pool{New: func() any { return newPacker(gzip.BestSpeed) }}
	unpackers    = sync.Pool{New: func() any { return new(gzip.Reader) }}
)

func newPacker(level int) *gzip.Writer {
	z, err := gzip.NewWriterLevel(nil, level)
	if err != nil {
		panic(err) // the level is a constant
	}
	return z
}

func packed(text []byte) []byte {
	pool := &packers
	if len(text) < 4<<10 {
		pool = &quickPackers
	}
	var body bytes.Buffer
	z := pool.Get().(*gzip.Writer)
	defer pool.Put(z)
	z.Reset(&body)
	_, _ = z.Write(text)
	_ = z.Close()
	return body.Bytes()
}

func unpacked(body []byte) ([]byte, error) {
	from := bytes.NewReader(body)
	z := unpackers.Get().(*gzip.Reader)
	defer unpackers.Put(z)
	if err := z.Reset(from); err != nil {
		return nil, err
	}
	z.Multistream(false) // a browser stops there
	said, err := io.ReadAll(z)
	if err == nil && from.Len() > 0 {
		err = fmt.Errorf("%d bytes stand behind the first gzip member", from.Len())
	}
	return said, err
}

// postRows posts packed rows and returns the answer as it came, packed unless it is a
// problem.
func postRows(url string, p *pass, body []byte) (status int, answer []byte, err error) {
	response, err := p.send(starClient, func() (*http.Request, error) {
		request, err := http.NewRequest(http.MethodPost, url, bytes.NewReader(body))
		if err != nil {
			return nil, err
		}
		for name, value := range map[string]string{
			"Content-Type": rowsMedia, "Content-Encoding": "gzip", "Accept": rowsMedia, "Accept-Encoding": "gzip",
		} {
			request.Header.Set(name, value)
		}
		return request, nil
	})
	if err != nil {
		return 0, nil, err
	}
	defer response.Body.Close()
	answer, err = io.ReadAll(response.Body)
	if err == nil && response.StatusCode == http.StatusOK && response.Header.Get("Content-Encoding") != "gzip" {
		err = errors.New("the answer is not packed")
	}
	return response.StatusCode, answer, err
}
