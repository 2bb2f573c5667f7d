package main

import (
	"bufio"
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"maps"
	"net/http"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/needed"
)

// A phone is a client in another language, which was written from what a server serves
// and nothing else. It keeps all that it was told.
type phone struct {
	*testing.T
	in      io.Writer
	out     *bufio.Scanner
	running *exec.Cmd
	wrong   *bytes.Buffer
}

func newPhone(t *testing.T) *phone {
	t.Helper()
	python := needed.Tool(t, "python3")
	p := &phone{T: t, running: exec.Command(python, filepath.Join(clients, "phone.py")), wrong: &bytes.Buffer{}}
	p.running.Stderr = p.wrong
	in, err := p.running.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	out, err := p.running.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	p.in, p.out = in, bufio.NewScanner(out)
	if err := p.running.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		_ = in.Close()
		if err := p.running.Wait(); err != nil {
			t.Errorf("the phone ended with %v: %s", err, p.wrong)
		}
	})
	return p
}

// tell gives a command and returns the rows of its answer.
func (p *phone) tell(format string, args ...any) (rows []string) {
	p.Helper()
	if _, err := fmt.Fprintf(p.in, format+"\n", args...); err != nil {
		p.Fatalf("%v: %s", err, p.wrong)
	}
	for p.out.Scan() {
		if p.out.Text() == "." {
			return rows
		}
		rows = append(rows, p.out.Text())
	}
	_ = p.running.Wait()
	p.Fatalf("%s: the phone ended: %s", fmt.Sprintf(format, args...), p.wrong)
	return nil
}

func (p *phone) holds() map[string]string {
	p.Helper()
	all := map[string]string{}
	for _, row := range p.tell("hold") {
		dot, hash, _ := strings.Cut(row, " ")
		all[dot] = hash
	}
	return all
}

// heldBy is what a server holds of a production, by dot: the hash of the bytes of each
// edit, as our own codec writes them.
func heldBy(t *testing.T, url, token, production string) map[string]string {
	t.Helper()
	all, cursor := map[string]string{}, ""
	for more := true; more; {
		request, err := http.NewRequest(http.MethodPost, url+"/v1/productions/"+production+"/exchange",
			strings.NewReader(fmt.Sprintf(`{"cursor":%q}`, cursor)))
		if err != nil {
			t.Fatal(err)
		}
		if cursor == "" {
			request.Body = io.NopCloser(strings.NewReader(`{}`))
			request.ContentLength = 2
		}
		request.Header.Set("Authorization", "Bearer "+token)
		request.Header.Set("Content-Type", "application/json")
		answer, err := http.DefaultClient.Do(request)
		if err != nil {
			t.Fatal(err)
		}
		var said struct {
			Edits  []*logbook.Edit
			More   bool
			Cursor string
		}
		err = json.NewDecoder(answer.Body).Decode(&said)
		_ = answer.Body.Close()
		if err != nil || answer.StatusCode != http.StatusOK {
			t.Fatalf("%s %v", answer.Status, err)
		}
		for _, e := range said.Edits {
			b, err := logbook.EncodeEdit(e)
			if err != nil {
				t.Fatal(err)
			}
			all[e.Dot.String()] = fmt.Sprintf("%x", logbook.HashOf(b))
		}
		cursor, more = said.Cursor, said.More
	}
	return all
}

// TestAClientInAnotherLanguageHoldsWhatTheServerHolds lets two phones, one readable and one
// in rows, bring edits, be woken, meet a server that was set back to a backup, and refill it.
func TestAClientInAnotherLanguageHoldsWhatTheServerHolds(t *testing.T) {
	program, err := exec.LookPath("evenwhite")
	if err != nil {
		t.Fatal(err)
	}
	folder := t.TempDir()
	data, backup := filepath.Join(folder, "data"), filepath.Join(folder, "old.backup")
	url, code, stop := serveIn(t, program, data)
	readable, rows := newPhone(t), newPhone(t)
	readable.tell("pair %s %s", url, code)
	production := readable.tell("begin Ferry")[0]
	rows.tell("pair %s %s", url, readable.tell("invite editor")[0])
	rows.tell("join %s", production)
	rows.tell("exchange rows")

	readable.tell("log 60 20")
	readable.tell("exchange json")
	if got := rows.tell("wait"); !slices.Equal(got, []string{"new"}) {
		t.Fatalf("the phone was woken by %q", got)
	}
	says(t, rows.tell("exchange rows"), "got=60")
	if out, err := exec.Command(program, "backup", "--data", data, backup).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	rows.tell("log 40 9") // after the backup: the server will not have them
	rows.tell("exchange rows")
	says(t, readable.tell("exchange json"), "got=40")

	// Too many for one call, too many bytes for a server to hear out, and one edit that is
	// none: the rest comes through.
	readable.tell("log 230 39000")
	readable.tell("log 460 20")
	spoilt := readable.tell("spoil")
	says(t, readable.tell("exchange json"), "halved=")
	if got := readable.tell("refused"); !slices.Equal(got, spoilt) {
		t.Errorf("set aside is %q, want %q alone", got, spoilt)
	}

	stop()
	data = filepath.Join(folder, "restored")
	if out, err := exec.Command(program, "restore", "--data", data, "--admit", "all", backup).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	url, _, _ = serveIn(t, program, data)
	rows.tell("at %s", url)
	readable.tell("at %s", url)
	says(t, rows.tell("exchange rows"), "resets=1")
	says(t, readable.tell("exchange json"), "resets=1")
	rows.tell("exchange rows")
	readable.tell("log 5 5")
	readable.tell("exchange rows") // both forms speak of one place
	rows.tell("exchange json")

	token, err := exec.Command(program, "token", "--data", data).Output()
	if err != nil {
		t.Fatal(err)
	}
	want := heldBy(t, url, strings.TrimSpace(string(token)), production)
	if len(want) < 1+60+40+230+460+5 {
		t.Errorf("the server holds %d edits, want all", len(want))
	}
	for name, got := range map[string]map[string]string{"readable": readable.holds(), "in rows": rows.holds()} {
		if !maps.Equal(got, want) {
			t.Errorf("the phone that is %s holds %d edits, the server %d others", name, len(got), len(want))
		}
	}
}

func says(t *testing.T, rows []string, part string) {
	t.Helper()
	if got := strings.Join(rows, "\n"); !strings.Contains(got, part) {
		t.Errorf("got %q, want %s in it", got, part)
	}
}
