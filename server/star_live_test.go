package main

import (
	"bufio"
	"context"
	"fmt"
	"net/http"
	"strings"
	"sync"
	"time"

	"evenwhite/logbook"
)

// An arrival is an edit that a device holds from a time on, having been woken for
// it.
type arrival struct {
	dot logbook.Dot
	at  time.Time
}

// live lets devices listen to a hub, and exchange when they are woken.
type live struct {
	arrivals chan arrival
	failed   chan error
	ctx      context.Context
	stop     func() error
}

// listenAll opens the event streams of all devices and returns when all stand.
func (s *star) listenAll() *live {
	s.t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	l := &live{arrivals: make(chan arrival, 1024), failed: make(chan error, len(s.devices)), ctx: ctx}
	var running sync.WaitGroup
	l.stop = func() error {
		cancel()
		running.Wait()
		select {
		case err := <-l.failed:
			return err
		default:
			return nil
		}
	}
	for _, d := range s.devices {
		d.came = d.came[:0]
		events, err := d.events(ctx)
		if err != nil {
			s.t.Fatal(err)
		}
		running.Go(func() {
			defer events.Body.Close()
			if err := l.listen(d, events); err != nil && ctx.Err() == nil {
				l.failed <- fmt.Errorf("%s: %w", d.label, err)
			}
		})
	}
	return l
}

func (d *starDevice) events(ctx context.Context) (*http.Response, error) {
	answer, err := d.wire.pass.send(starClient, func() (*http.Request, error) {
		request, err := http.NewRequestWithContext(ctx, http.MethodGet, strings.TrimSuffix(d.wire.url, "exchange")+"events", nil)
		if err == nil {
			request.Header.Set("Last-Event-ID", d.cursor)
		}
		return request, err
	})
	if err == nil && answer.StatusCode != http.StatusOK {
		answer.Body.Close()
		err = refusal(answer.Status)
	}
	return answer, err
}

// listen exchanges whenever the device is woken for something that it lacks.
func (l *live) listen(d *starDevice, events *http.Response) error {
	lines := bufio.NewScanner(events.Body)
	for lines.Scan() {
		place, ok := strings.CutPrefix(lines.Text(), "id: ")
		if !ok {
			continue
		}
		d.mu.Lock()
		var err error
		if place != d.cursor {
			err = d.settleUp()
		}
		err = l.passOn(d, err)
		d.mu.Unlock()
		if err != nil {
			return err
		}
	}
	return lines.Err()
}

// passOn passes on what came to a device. The caller holds it.
func (l *live) passOn(d *starDevice, err error) error {
	now := time.Now()
	for _, dot := range d.came {
		select {
		case l.arrivals <- arrival{dot, now}:
		case <-l.ctx.Done():
		}
	}
	d.came = d.came[:0]
	return err
}

// save makes an edit on a device and pushes it. It returns the push's body size.
func (l *live) save(s *star, d *starDevice, e starEdit) (dot logbook.Dot, body int, err error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	record := s.records[e.record]
	dot = d.write(s.production, record, d.replace(record, e.field, e.value), e.at, e.offset).Dot
	before := d.wire.up
	_, err = d.exchange()
	body = d.wire.up - before
	return dot, body, l.passOn(d, err)
}

// awaitAll waits until an edit is on so many devices and returns how long after a
// time each of them held it.
func (l *live) awaitAll(dot logbook.Dot, devices int, since time.Time) (took []time.Duration, err error) {
	for len(took) < devices {
		select {
		case a := <-l.arrivals:
			if a.dot == dot {
				took = append(took, a.at.Sub(since))
			}
		case err := <-l.failed:
			return nil, err
		}
	}
	return took, nil
}
