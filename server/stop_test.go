package main

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"strings"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/bolt"
)

// An exchange whose body is still on its way when the server is asked to stop is
// answered after its edits were stored; only then the server ends, with its store
// closed.
func TestAServerThatIsStoppedAnswersWhatIsUnderWay(t *testing.T) {
	h := openHub(t, 0)
	edit := fmt.Sprintf(`{"production":"%s","kind":"note","record":"01a212d6-9f19-7f2b-a888-8025bbd6f15f","device":"01a212d6-9ae1-7d6c-9382-78f49a39b6a7","line":"00c0ffee00c0ffee","n":1,"at":"2031-03-05T20:50:01.250Z","offsetMs":0,"by":"2nd AC","set":{"text":"a bird"}}`, h.production)
	body := `{"edits":[` + edit + `]}`
	address := strings.TrimPrefix(h.url, "http://")
	c, err := net.Dial("tcp", address)
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close()
	fmt.Fprintf(c, "POST /v1/productions/%s/exchange HTTP/1.1\r\nHost: localhost\r\n"+
		"Authorization: Bearer %s\r\nContent-Type: application/json\r\nContent-Length: %d\r\nExpect: 100-continue\r\n\r\n",
		h.production, h.owner, len(body))
	r := bufio.NewReader(c)
	for line := ""; line != "\r\n"; { // the server reads the body from here on
		if line, err = r.ReadString('\n'); err != nil || strings.HasPrefix(line, "HTTP/1.1 ") && !strings.HasPrefix(line, "HTTP/1.1 100") {
			t.Fatalf("got %q (%v), want 100 Continue", line, err)
		}
	}
	if err := h.process.Process.Signal(os.Interrupt); err != nil {
		t.Fatal(err)
	}
	for err == nil { // until it takes no more connections
		var other net.Conn
		if other, err = net.Dial("tcp", address); err == nil {
			_ = other.Close()
		}
	}
	if _, err := io.WriteString(c, body); err != nil {
		t.Fatal(err)
	}
	answer, err := http.ReadResponse(r, nil)
	if err != nil {
		t.Fatal(err)
	}
	defer answer.Body.Close()
	var said crashAnswer
	err = json.NewDecoder(answer.Body).Decode(&said)
	if err != nil || answer.StatusCode != 200 || len(said.Answers) != 1 || said.Answers[0].Outcome != logbook.AnswerTaken {
		t.Errorf("got %d %+v (%v), want the edit taken", answer.StatusCode, said, err)
	}
	<-h.read
	if err := h.process.Wait(); err != nil {
		t.Errorf("the server ended with %v: %s", err, h.process.Stderr)
	}
	report, err := bolt.Check(databaseOf(h.folder))
	if err != nil || len(report.Problems) > 0 || report.Edits != 2 {
		t.Errorf("the store holds %d edits (%v %v), want the production and the one that came last", report.Edits, err, report.Problems)
	}
}
