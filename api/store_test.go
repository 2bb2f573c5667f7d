package api

import (
	"bufio"
	"errors"
	"fmt"
	"net"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/bolt"
)

// used is how many bytes of the store's file hold something: a file grows in steps of
// many megabytes, a backup is cut off where its last page ends.
func (g *stage) used() int64 {
	g.Helper()
	file := filepath.Join(g.TempDir(), "backup")
	if err := g.store.(*bolt.Store).Backup(file); err != nil {
		g.Fatal(err)
	}
	info, err := os.Stat(file)
	if err != nil {
		g.Fatal(err)
	}
	return info.Size()
}

// crawl opens a path on a connection with a small window, and reads its head.
func (g *stage) crawl(path string) (net.Conn, *bufio.Reader) {
	g.Helper()
	c, err := net.Dial("tcp", strings.TrimPrefix(g.url, "http://"))
	if err != nil {
		g.Fatal(err)
	}
	g.Cleanup(func() { _ = c.Close() })
	if err := c.(*net.TCPConn).SetReadBuffer(64 << 10); err != nil {
		g.Fatal(err)
	}
	fmt.Fprintf(c, "GET %s HTTP/1.1\r\nHost: localhost\r\n%s\r\n", path, g.lines("GET", path))
	r := bufio.NewReaderSize(c, 16)
	line, err := r.ReadString('\n')
	if err != nil || !strings.HasPrefix(line, "HTTP/1.1 200") {
		g.Fatalf("%s is answered %q (%v)", path, line, err)
	}
	return c, r
}

// fillLog puts large edits into the store, past the service.
func (g *stage) fillLog(edits int) {
	g.Helper()
	var entries []logbook.Entry
	for n := 1; n <= edits; n++ {
		e := &logbook.Edit{Production: g.production, Kind: "later", Record: drawID(), Device: g.device,
			Dot: logbook.Dot{Line: logbook.Line{7}, N: uint64(n)}, By: "2nd AC",
			Set: []logbook.Change{{Field: "more", Value: logbook.TextValue(strings.Repeat("x", 60_000))}}}
		b, err := logbook.EncodeEdit(e)
		if err != nil {
			g.Fatal(err)
		}
		entries = append(entries, logbook.Entry{Dot: e.Dot, Hash: logbook.HashOf(b), Bytes: b, Via: g.device})
	}
	if _, err := g.store.Append(g.production, entries); err != nil {
		g.Fatal(err)
	}
}

// While clients take bytes one at a time out of an answer of many megabytes, writers
// go on, and pages that their commits leave are used again: no answer is read out of
// the store while it is sent. Under a transaction that is left open each such commit
// adds 20 kB (logbook/bolt/growth_test.go).
func TestSlowReadersHoldUpNoWriterAndDoNotLetTheFileGrow(t *testing.T) {
	g := setStage(t)
	g.fillLog(300)
	var readers []*bufio.Reader
	for range 3 {
		_, r := g.crawl(g.base + "/bundle")
		readers = append(readers, r)
	}
	before := g.used()
	for range 200 {
		g.ask("POST", g.base+"/records/gel", `{"name":"full green","gelKind":"green"}`).want(201)
		for _, r := range readers {
			if _, err := r.ReadByte(); err != nil {
				t.Fatal(err)
			}
		}
	}
	grown := g.used() - before
	t.Logf("200 commits added %d bytes", grown)
	if grown > 512<<10 {
		t.Errorf("200 small commits added %d bytes to the file, want no more than half a megabyte", grown)
	}
	left := 0
	for buffer := make([]byte, 1<<16); left < 8<<20; {
		k, err := readers[0].Read(buffer)
		if left += k; err != nil {
			break
		}
	}
	if left < 8<<20 {
		t.Errorf("%d bytes of the bundle were left when the last edit was written, want most of it", left)
	}
}

func TestClientsThatLeaveInTheMiddleOfAnAnswerAreLetGo(t *testing.T) {
	g := setStage(t)
	g.fillLog(300)
	for range 20 {
		c, _ := g.crawl(g.base + "/bundle")
		if err := errors.Join(c.(*net.TCPConn).SetLinger(0), c.Close()); err != nil {
			t.Fatal(err)
		}
	}
	g.ask("POST", g.base+"/records/gel", `{"name":"full green","gelKind":"green"}`).want(201)
}

// A disk that rots under the service: what the file has lost is stored again from
// memory, and everything goes on.
func TestADamagedPageWhileServing(t *testing.T) {
	g := setStage(t)
	for n := 1; n <= 64; n++ {
		g.push(g.client, g.edit(lineOfOne, n, "note", drawID().String(), fmt.Sprintf(`{"text":"page %d %s"}`, n, strings.Repeat("x", 1900))))
	}
	file, err := os.OpenFile(g.path, os.O_RDWR, 0)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	content, err := os.ReadFile(g.path)
	if err != nil {
		t.Fatal(err)
	}
	at := int64(strings.LastIndex(string(content), "page 40 "))
	put := func(text string) {
		if _, err := file.WriteAt([]byte(text), at); err != nil {
			t.Fatal(err)
		}
	}
	all := g.ask("POST", g.base+"/exchange", `{}`).want(200)
	cursor, _ := all.at("cursor").Text()
	put("page 4X ")
	g.ask("POST", g.base+"/exchange", `{}`).want(200)
	if r := g.ask("POST", g.base+"/exchange", `{"cursor":"`+cursor+`"}`).want(200); !strings.Contains(string(r.body), "page 40 ") {
		t.Errorf("the edit was not stored again: %s", shorten(string(r.body)))
	}
	for _, path := range []string{
		g.base + "/color-log.csv", g.base + "/records/note", g.base + "/deviations", g.base + "/set-ups/" + g.ids["setUp"] + "/now",
		"/v1/devices", "/readyz",
	} {
		g.ask("GET", path, "").want(200)
	}
	edit := g.edit(lineOfOne, 65, "note", drawID().String(), `{"text":"a bird"}`)
	if r := g.ask("POST", g.base+"/exchange", `{"cursor":"`+cursor+`","edits":[`+edit+`]}`).want(200); outcomes(r) != "taken" {
		t.Errorf("got %s", r.body)
	}
	if r := g.ask("GET", g.base+"/missing", "").want(200); r.count("damaged") != 0 {
		t.Errorf("it is still damaged: %s", r.body)
	}
}
