package main

import (
	"bufio"
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"math/rand/v2"
	"net/http"
	"os/exec"
	"strings"
	"sync"
	"testing"
	"time"

	"evenwhite/api/pairing/prooftest"
	"evenwhite/logbook"
	"evenwhite/logbook/exchange"
	"evenwhite/logbook/kinds"
)

// crash is a server that is killed again and again, and the devices that push to
// it.
type crash struct {
	t          *testing.T
	program    string
	folder     string
	options    []string  // of evenwhite serve, beside where
	stderr     io.Writer // of the server; nil: kept for messages
	production logbook.ID
	devices    []*crashDevice

	process *exec.Cmd // nil while none runs
	read    chan struct{}
	code    string // of the invitation at the first start

	mu      sync.Mutex
	changed sync.Cond
	url     string // "" while the server is down
	starts  int    // so far; two may get the same port
	budget  int    // edits that the devices may still write
	ended   bool
	acked   map[logbook.Dot]string // the bytes of each acknowledged edit
	cut     int                    // exchanges without an answer
	waiting int                    // devices that wait for a server, or for something to write

	backups                   []string
	restored, damaged, lacked int // restores, rows, and edits that restores lost at first
}

// crashDevice is one device: a replica and a connection.
type crashDevice struct {
	id      logbook.ID
	replica *exchange.Replica
	chance  *rand.Rand
	pass    *pass
	address string // of its exchange, after the server's
	rows    bool   // whether it speaks in packed rows
	log     logbook.Line
	held    int // how many edits came or were written
	clock   logbook.Millis
}

// start runs the server and waits until it says that it is ready.
func (c *crash) start() {
	c.t.Helper()
	lines := c.launch()
	if said, ready := awaitReady(lines); ready {
		go drain(lines, c.read)
		c.mu.Lock()
		defer c.mu.Unlock()
		c.url = said.url
		c.starts++
		if said.code != "" {
			c.code = said.code
		}
		c.changed.Broadcast()
		return
	}
	close(c.read)
	_ = c.process.Wait()
	c.end()
	c.t.Fatalf("the server ended before it was ready: %s", c.process.Stderr)
}

// startHalf starts the server and kills it after a while, ready or not.
func (c *crash) startHalf(after time.Duration) {
	c.t.Helper()
	go drain(c.launch(), c.read)
	<-time.After(after)
	c.kill()
}

func drain(lines *bufio.Scanner, read chan struct{}) {
	for lines.Scan() {
	}
	close(read)
}

func (c *crash) launch() *bufio.Scanner {
	c.t.Helper()
	c.process = exec.Command(c.program, append([]string{"serve", "--listen", "127.0.0.1:0", "--data", c.folder}, c.options...)...)
	if c.process.Stderr = c.stderr; c.stderr == nil {
		c.process.Stderr = &bytes.Buffer{}
	}
	c.read = make(chan struct{})
	out, err := c.process.StdoutPipe()
	if err == nil {
		err = c.process.Start()
	}
	if err != nil {
		c.end()
		c.t.Fatal(err)
	}
	return bufio.NewScanner(out)
}

// kill ends the server without warning.
func (c *crash) kill() {
	c.mu.Lock()
	c.url = ""
	c.mu.Unlock()
	if c.process == nil {
		return
	}
	_ = c.process.Process.Kill()
	<-c.read
	_ = c.process.Wait() // says that it was killed
	c.process = nil
}

// admit pairs an owner, begins a production and admits the devices to it.
func (c *crash) admit(n int, chance *rand.Rand) {
	c.t.Helper()
	_, owner := c.pair(c.code)
	made := c.call(owner, "/v1/productions", `{"title":"Kill Creek","timeZone":"Europe/Berlin","frameRate":"25","gelFamily":"based5500"}`)
	var err error
	if c.production, err = logbook.ParseID(made["id"].(string)); err != nil {
		c.t.Fatal(err)
	}
	for i := 0; i < n; i++ {
		invited := c.call(owner, "/v1/invitations", fmt.Sprintf(`{"role":"editor","label":"phone %d","production":"%s"}`, i, c.production))
		device, p := c.pair(invited["code"].(string))
		c.devices = append(c.devices, newCrashDevice(c.t, c, device, p, chance, i))
	}
}

func newCrashDevice(t *testing.T, c *crash, device string, p *pass, chance *rand.Rand, i int) *crashDevice {
	t.Helper()
	id, err := logbook.ParseID(device)
	if err != nil {
		t.Fatal(err)
	}
	return &crashDevice{
		id: id, replica: exchange.NewReplica(c.production, id, kinds.Rules, drawLine), chance: rand.New(rand.NewPCG(chance.Uint64(), 2)),
		pass: p, address: "/v1/productions/" + c.production.String() + "/exchange", clock: 1.9e12, rows: i%2 == 0,
	}
}

// renew gets every device its next token: a restored server signs with a key of its own.
func (c *crash) renew() {
	c.t.Helper()
	for _, d := range c.devices {
		said := c.call(&pass{key: d.pass.key}, "/v1/token", `{}`)
		d.pass.token = said["token"].(string)
	}
}

// pair lets a device in with a key of its own, and returns its id and what it shows.
func (c *crash) pair(code string) (device string, p *pass) {
	c.t.Helper()
	p = &pass{key: prooftest.Draw()}
	said := c.call(p, "/v1/pairing", `{"code":"`+code+`"}`)
	p.token = said["token"].(string)
	return said["device"].(string), p
}

func (c *crash) call(p *pass, path, body string) (said map[string]any) {
	c.t.Helper()
	b, err := p.post(c.address()+path, []byte(body))
	if err == nil {
		err = json.Unmarshal(b, &said)
	}
	if err != nil {
		c.t.Fatal(err)
	}
	return said
}

// post calls the server. An error is an answer that did not come whole.
func (p *pass) post(url string, body []byte) ([]byte, error) {
	answer, err := p.send(crashClient, func() (*http.Request, error) {
		request, err := http.NewRequest(http.MethodPost, url, bytes.NewReader(body))
		if err == nil {
			request.Header.Set("Content-Type", "application/json")
		}
		return request, err
	})
	if err != nil {
		return nil, err
	}
	defer answer.Body.Close()
	b, err := io.ReadAll(answer.Body)
	if err == nil && answer.StatusCode >= 300 {
		err = refusal(fmt.Sprintf("%s: %s %s", url, answer.Status, b))
	}
	return b, err
}

var crashClient = &http.Client{Timeout: time.Minute, Transport: &http.Transport{MaxIdleConnsPerHost: 10}}

// refusal is an answer that a healthy server never gives here.
type refusal string

func (r refusal) Error() string { return string(r) }

// work lets a device write and exchange until the test ends. Where the server is
// gone it waits for the next start, as a phone does.
func (c *crash) work(d *crashDevice) {
	for {
		url, start, n, ended := c.turn(d)
		if ended {
			return
		}
		for i := 0; i < n; i++ {
			d.write()
		}
		for more := true; more; {
			var err error
			if more, err = c.once(d, url); err != nil {
				c.lost(start, err)
			}
		}
	}
}

// turn waits until the server is up and there is something to write, and says how
// much, and which start of the server it is.
func (c *crash) turn(d *crashDevice) (url string, start, n int, ended bool) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.waiting++
	c.changed.Broadcast()
	for !c.ended && (c.url == "" || c.budget == 0) {
		c.changed.Wait()
	}
	c.waiting--
	n = min(c.budget, 1+d.chance.IntN(12))
	c.budget -= n
	return c.url, c.starts, n, c.ended
}

// lost notes an exchange without an answer. Only a server that was killed meanwhile
// is an excuse.
func (c *crash) lost(start int, err error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.cut++
	if _, refused := err.(refusal); refused || c.url != "" && c.starts == start && !c.ended {
		c.t.Errorf("an exchange failed although the server was not killed: %v", err)
		c.ended = true
	}
	c.changed.Broadcast()
}

// grant lets the devices write so many edits more, and returns how many will have
// been acknowledged after the first of them.
func (c *crash) grant(budget, first int) (target int) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.budget = budget
	c.changed.Broadcast()
	return len(c.acked) + first
}

func (c *crash) awaitAcked(target int) {
	c.mu.Lock()
	defer c.mu.Unlock()
	for len(c.acked) < target && !c.ended {
		c.changed.Wait()
	}
}

func (c *crash) end() {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.ended = true
	c.changed.Broadcast()
}

func (c *crash) address() string {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.url
}

// promised copies what was acknowledged so far.
func (c *crash) promised() map[logbook.Dot]string {
	c.mu.Lock()
	defer c.mu.Unlock()
	out := make(map[logbook.Dot]string, len(c.acked))
	for d, b := range c.acked {
		out[d] = b
	}
	return out
}

// once is one exchange of a device.
func (c *crash) once(d *crashDevice, url string) (more bool, err error) {
	request, answer, err := d.exchange(url, c.production)
	if err != nil {
		return false, err
	}
	c.mu.Lock()
	for i, said := range answer.Answers {
		switch said.Outcome {
		case logbook.AnswerTaken, logbook.AnswerRepeat, logbook.AnswerRefused:
			c.acked[said.Dot] = bytesOf(request.Edits[i])
		default:
			c.t.Errorf("edit %s was answered with %s: %s", said.Dot, said.Outcome, said.Reason)
		}
	}
	c.changed.Broadcast()
	c.mu.Unlock()
	d.held += len(answer.Edits)
	d.log, more = d.replica.Take(answer)
	return more, nil
}

// exchange is one exchange in the device's form: rows, or the readable one.
func (d *crashDevice) exchange(url string, production logbook.ID) (said exchange.Request, answer exchange.Answer, err error) {
	if d.rows {
		wire := rowsWire{url: url + d.address, pass: d.pass, production: production}
		return wire.exchange(d.replica, d.log)
	}
	said = d.replica.Request(d.log)
	request := crashRequest{Cursor: said.Cursor, Edits: said.Edits, Have: spansOf(said.Have)}
	if said.Run != (logbook.Line{}) {
		request.Run = said.Run.String()
	}
	a, err := d.readable(url, request)
	if err == nil {
		answer, err = a.answer()
	}
	return said, answer, err
}

// readable is one exchange in the readable form.
func (d *crashDevice) readable(url string, request crashRequest) (a crashAnswer, err error) {
	body, err := json.Marshal(request)
	if err != nil {
		return a, err
	}
	b, err := d.pass.post(url+d.address, body)
	if err == nil {
		err = json.Unmarshal(b, &a)
	}
	return a, err
}

// write makes an edit as a person would: mostly a change of one of a few records
// that all devices change, over what this device sees.
func (d *crashDevice) write() {
	d.clock += 1000
	id := logbook.ID{0: 1, 6: 0x70, 8: 0x80, 15: byte(1 + d.chance.IntN(12))}
	change := logbook.Change{Field: []string{"lens", "card", "filters", "kelvin"}[d.chance.IntN(4)]}
	change.Value = logbook.TextValue(strings.Repeat("x", d.chance.IntN(20)))
	if change.Field == "kelvin" {
		change.Value = []logbook.Value{"3200", "5600", "5600.0", "-3"}[d.chance.IntN(4)]
	}
	if v, ok := d.replica.Book().RecordOf(kinds.Clip, id); ok {
		switch d.chance.IntN(20) {
		case 0:
			change = logbook.Strike(v)
		case 1:
			change = logbook.BringBack(v)
		default:
			change = logbook.Replace(v, change.Field, change.Value)
		}
	}
	draft := logbook.Draft{Kind: kinds.Clip, Record: id, Set: []logbook.Change{change}}
	if _, err := d.replica.Write(draft, "a phone", d.clock, 0); err != nil {
		panic(err)
	}
	d.held++
}

func bytesOf(e *logbook.Edit) string {
	b, err := logbook.EncodeEdit(e)
	if err != nil {
		panic(err)
	}
	return string(b)
}
