package main

import (
	"bytes"
	"compress/gzip"
	"errors"
	"fmt"
	"io"
	"net/http"

	"evenwhite/logbook"
)

const rowsMedia = "application/vnd.evenwhite.rows"

// A rowsWire exchanges with one address in packed rows, as a phone does.
type rowsWire struct {
	url, token string // of the exchange of a production
	production logbook.ID
	up, down   int // bytes of bodies so far, as they went over the wire
	calls      int
}

// exchange is one exchange of a replica with the log that was last met there. Where
// either side lacks a record that was left out, it is said again with all of them.
func (w *rowsWire) exchange(r *logbook.Replica, log logbook.Line) (logbook.ExchangeRequest, logbook.ExchangeAnswer, error) {
	q := r.Request(log)
	for known := r.Shared(log); ; {
		text, err := q.Rows(known)
		if err != nil {
			return q, logbook.ExchangeAnswer{}, err
		}
		status, said, err := w.send(text)
		if err != nil {
			return q, logbook.ExchangeAnswer{}, err
		}
		if status == http.StatusConflict && known != nil {
			known = nil
			continue
		}
		if status != http.StatusOK {
			return q, logbook.ExchangeAnswer{}, fmt.Errorf("status %d: %s", status, said)
		}
		a, err := logbook.ReadAnswerRows(said, w.production, r.Records)
		if !errors.Is(err, logbook.ErrRecords) || q.Whole {
			return q, a, err
		}
		q.Whole = true
	}
}

// send packs a text, posts it, and unpacks what is said to it.
func (w *rowsWire) send(text []byte) (status int, said []byte, err error) {
	var body bytes.Buffer
	z := gzip.NewWriter(&body)
	_, _ = z.Write(text)
	_ = z.Close()
	w.up, w.calls = w.up+body.Len(), w.calls+1
	request, err := http.NewRequest(http.MethodPost, w.url, &body)
	if err != nil {
		return 0, nil, err
	}
	for name, value := range map[string]string{
		"Authorization": "Bearer " + w.token, "Content-Type": rowsMedia, "Content-Encoding": "gzip", "Accept": rowsMedia, "Accept-Encoding": "gzip",
	} {
		request.Header.Set(name, value)
	}
	response, err := http.DefaultClient.Do(request)
	if err != nil {
		return 0, nil, err
	}
	defer response.Body.Close()
	packed, err := io.ReadAll(response.Body)
	if err != nil || response.Header.Get("Content-Encoding") != "gzip" {
		return response.StatusCode, packed, err
	}
	w.down += len(packed)
	from := bytes.NewReader(packed)
	unpack, err := gzip.NewReader(from)
	if err != nil {
		return 0, nil, err
	}
	unpack.Multistream(false) // a browser stops there
	said, err = io.ReadAll(unpack)
	if err == nil && from.Len() > 0 {
		err = fmt.Errorf("%d bytes stand behind the first gzip member", from.Len())
	}
	return response.StatusCode, said, err
}
