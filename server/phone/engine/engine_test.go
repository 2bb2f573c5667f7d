// Package main_test builds the engine as the phone gets it and asks it what the rooms below
// are asked natively.
package main_test

import (
	"bytes"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/exchange"
	"evenwhite/logbook/handset"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/needed"
	"evenwhite/server/demo"
)

// asked is when everything is asked: on the last day of the invented production.
var asked = logbook.MillisOf(time.Date(2026, 3, 7, 11, 40, 0, 0, time.UTC))

var phone = logbook.ID{5: 1, 6: 0x70, 8: 0x80, 15: 1}

// A step is a message, and what was answered.
type step struct {
	Name  string `json:"name"`
	Text  string `json:"text"`
	Bytes []byte `json:"bytes,omitempty"`
	// ToStore says that the page stores what the answer holds, and hands it in.
	Answer handset.Answer `json:"-"`
	OK     bool           `json:"-"`
}

// A script asks an engine natively and notes what it asked.
type script struct {
	*testing.T
	engine handset.Engine
	steps  []step
	n      int
}

func (s *script) ask(name, text string, in []byte) handset.Answer {
	a, ok := s.engine.Call(name, []byte(text), in)
	s.steps = append(s.steps, step{name, text, in, a, ok})
	return a
}

// write asks for edits under the next dots, stores them and hands them in.
func (s *script) write(name, rest string) {
	s.Helper()
	a := s.ask(name, fmt.Sprintf(`{"now":%d,"by":"Ada","line":"00c0ffee00c0ffee","n":%d,"chance":"000102030405060708090a0b0c0d%04x",%s}`,
		asked, s.n+1, s.n, rest), nil)
	var written struct{ Edits []json.RawMessage }
	if err := json.Unmarshal(a.JSON, &written); err != nil || len(written.Edits) == 0 {
		s.Fatalf("%s %s made no edit: %s", name, rest, a.JSON)
	}
	s.n += len(written.Edits)
	s.ask("hold", `{"wrote":true,"show":true}`, a.Bytes)
}

// tag is that of a record as the engine shows it now.
func (s *script) tag(v logbook.View) string {
	a, _ := s.engine.Call("record", fmt.Appendf(nil, `{"kind":"%s","record":"%s"}`, v.Kind, v.ID), nil)
	whole, _ := logbook.ParseValue(string(a.JSON))
	return string(whole.Member("tag"))
}

func frame(out, part []byte) []byte {
	size := len(part)
	for ; size >= 0x80; size >>= 7 {
		out = append(out, byte(size)|0x80)
	}
	return append(append(out, byte(size)), part...)
}

// play asks everything that a page may ask, on the demo production.
func play(t *testing.T) *script {
	store, drawn := logbook.NewMemory(), byte(0)
	l, err := logbook.OpenLog(store, demo.Production, kinds.Rules, func() logbook.Line { drawn++; return logbook.Line{0xde, 7: drawn} })
	if err == nil {
		err = demo.Fill(l, asked)
	}
	if err != nil {
		t.Fatal(err)
	}
	page, refused := []byte{}, &logbook.Edit{Production: demo.Production, Kind: kinds.Take, Device: phone, By: "Dan", At: asked,
		Dot: logbook.Dot{Line: logbook.Line{0xd}, N: 1}, Set: []logbook.Change{{Field: "number", Value: `"twelve"`}}}
	all, err := store.Read(demo.Production, 0, 1<<30)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range all {
		page = frame(page, e.Bytes)
	}
	s := &script{T: t}
	s.ask("state", `{}`, nil) // before anything is open
	s.ask("open", fmt.Sprintf(`{"production":"%s","device":"%s","rest":%d}`, demo.Production, phone, len(all)), nil)
	s.ask("request", `{}`, nil) // too early
	s.ask("hold", fmt.Sprintf(`{"rest":0,"from":%d}`, asked), page)
	for done := false; !done; {
		a := s.ask("prepare", `{"most":40}`, nil)
		done = strings.Contains(string(a.JSON), `"done":true`)
	}
	l.Read(func(b *logbook.Book) {
		refused.Record = b.Records(kinds.Take)[0].ID
		s.questions(b)
		s.writes(b, refused)
	})
	s.meets(exchange.NewPeer(l))
	return s
}

func (s *script) questions(b *logbook.Book) {
	now := fmt.Sprintf(`"now":%d`, asked)
	s.ask("deviations", `{`+now+`}`, nil)
	s.ask("deviations", `{`+now+`,"accepted":true}`, nil)
	s.ask("findings", `{`+now+`}`, nil)
	s.ask("setUps", `{}`, nil)
	s.ask("list", `{"limit":500,"off":"any"}`, nil)
	s.ask("find", `{"text":"A001C0"}`, nil)
	s.ask("list", `{"kind":"clip","limit":7}`, nil)
	s.ask("conflicts", `{`+now+`}`, nil)
	s.ask("twins", `{}`, nil)
	for _, v := range b.Records(kinds.SetUp) {
		at := fmt.Sprintf(`{%s,"setUp":"%s"`, now, v.ID)
		for _, name := range []string{"now", "verdicts", "next", "waits", "plan", "plane", "drift", "swatches"} {
			s.ask(name, at+`,"draw":true,"zoneMinutes":60}`, nil)
		}
		for _, camera := range b.Records(kinds.Camera) {
			s.ask("match", at+`,"camera":"`+camera.ID.String()+`"}`, nil)
		}
		s.ask("list", at+`}`, nil)
	}
	s.ask("record", fmt.Sprintf(`{"kind":"clip","record":"%s"}`, b.Records(kinds.Clip)[0].ID), nil)
	for _, kind := range []logbook.Kind{kinds.Reading, kinds.Sample, kinds.Lamp, kinds.Gel, kinds.Meter, kinds.Clip} {
		name := map[logbook.Kind]string{kinds.Reading: "color", kinds.Sample: "color", kinds.Clip: "correct"}[kind]
		if name == "" {
			name = "learnt"
		}
		for _, v := range b.Records(kind) {
			s.ask(name, fmt.Sprintf(`{%s,"%s":"%s"}`, now, kind, v.ID), nil)
			s.ask("history", fmt.Sprintf(`{"kind":"%s","record":"%s"}`, kind, v.ID), nil)
		}
	}
	s.ask("color", `{`+now+`,"kind":"reading","typed":{"measured":{"as":"cctDuv","cctKelvin":5600,"duv":0.003},"takenAt":"2026-03-07T11:40:00Z","of":{"as":"everything"}}}`, nil)
	setUp := b.Records(kinds.SetUp)[0].ID
	s.ask("suppose", fmt.Sprintf(`{%s,"kind":"white","typed":{"setUp":"%s","from":{"as":"nominal","kelvin":4300,"locus":"blackBody"},"appliesFrom":{"as":"start"}}}`, now, setUp), nil)
	s.ask("suppose", fmt.Sprintf(`{%s,"kind":"reading","typed":{"setUp":"%s","measured":{"as":"cctDuv","cctKelvin":5600,"duv":0.003},"takenAt":"2026-03-07T11:40:00Z","of":{"as":"everything"}}}`, now, setUp), nil)
	for _, spec := range kinds.Specs {
		s.ask("form", `{"kind":"`+string(spec.Kind)+`"}`, nil)
	}
	s.ask("form", `{"kind":"event"}`, nil)
	s.ask("judge", `{"kind":"clip","fields":{"kelvin":25001,"tint":3,"whiteMode":"kelvin","nothing":1}}`, nil)
	s.ask("judge", `{"kind":"reading","fields":{"measured":{"as":"cctDuv","cctKelvin":1200,"duv":0.003}}}`, nil)
	pixels := bytes.Repeat([]byte{112, 107, 100, 255}, 40*24)
	s.ask("still", `{"x":60,"y":34,"width":40,"height":24,"pictureWidth":160,"pictureHeight":90,"encoding":"bt1886","primaries":"bt709","format":"PNG"}`, pixels)
}

func (s *script) writes(b *logbook.Book, refused *logbook.Edit) {
	setUps := b.Records(kinds.SetUp)
	setUp, take := setUps[len(setUps)-1], b.Records(kinds.Take)[0]
	at := fmt.Sprintf(`"setUp":"%s"`, setUp.ID)
	s.write("event", at+`,"event":{"event":"nextTake"}`)
	s.write("event", at+`,"event":{"event":"nextTake"}`)
	s.write("write", fmt.Sprintf(`"do":"create","kind":"take","object":{"setUp":"%s","number":%s}`, take.Ref("setUp"), take.Value("number")))
	s.write("write", fmt.Sprintf(`"do":"patch","kind":"take","record":"%s","seen":%s,"object":{"state":"noGood"}`, take.ID, s.tag(take)))
	s.ask("form", fmt.Sprintf(`{"kind":"take","record":"%s"}`, take.ID), nil)
	s.ask("record", fmt.Sprintf(`{"kind":"take","record":"%s"}`, take.ID), nil)
	s.write("undo", fmt.Sprintf(`"kind":"take","record":"%s","seen":%s,"dot":"00c0ffee00c0ffee.%d"`, take.ID, s.tag(take), s.n))
	s.write("write", fmt.Sprintf(`"do":"strike","kind":"take","record":"%s","seen":%s`, take.ID, s.tag(take)))
	s.write("write", fmt.Sprintf(`"do":"restore","kind":"take","record":"%s","seen":%s`, take.ID, s.tag(take)))
	a := s.ask("twins", `{}`, nil)
	var twins struct {
		Twins []struct{ Records []struct{ ID string } }
	}
	if err := json.Unmarshal(a.JSON, &twins); err != nil || len(twins.Twins) == 0 {
		s.Fatalf("no twins: %s", a.JSON)
	}
	group := twins.Twins[0].Records
	s.write("settle", fmt.Sprintf(`"twins":{"records":["%s","%s"],"answer":"two"}`, group[0].ID, group[1].ID))
	edit, err := logbook.EncodeEdit(refused)
	if err != nil {
		s.Fatal(err)
	}
	s.ask("judge", `{}`, edit)
	s.ask("hold", `{}`, frame(nil, edit))
	s.ask("quarantine", `{}`, nil)
	s.write("settle", `"correct":"`+refused.Dot.String()+`","patch":{"number":12}`)
	s.ask("state", `{"line":"00c0ffee00c0ffee"}`, nil)
}

// meets lets the phone exchange with the log until both hold the same.
func (s *script) meets(peer *exchange.Peer) {
	log := ""
	for range 20 {
		asks := `{}`
		if log != "" {
			asks = `{"log":"` + log + `"}`
		}
		a := s.ask("request", asks, nil)
		q, err := exchange.ReadRequestRows(a.Bytes, demo.Production, peer.Records)
		if err != nil {
			s.Fatal(err)
		}
		answer, passages, err := peer.ExchangeRows(q, phone, asked)
		if err != nil {
			s.Fatal(err)
		}
		body, edits := answer.RowsBefore(), 0
		for _, p := range passages {
			body, edits = append(body, p.Rows...), edits+p.Edits
		}
		taken := s.ask("answer", `{"line":"00c0ffee00c0ffee"}`, append(body, answer.RowsAfter(edits)...))
		var said struct {
			Log    string
			More   bool
			Unsent int
		}
		if err := json.Unmarshal(taken.JSON, &said); err != nil {
			s.Fatal(err)
		}
		if log = said.Log; said.More {
			continue
		}
		if said.Unsent != 0 {
			s.Errorf("%d edits are unsent after the exchange", said.Unsent)
		}
		bundle := s.ask("bundle", `{}`, nil)
		s.ask("open", fmt.Sprintf(`{"production":"%s","device":"%s"}`, demo.Production, phone), knowledgeIn(taken.Bytes))
		s.ask("bundle", `{}`, bundle.Bytes)
		s.ask("request", asks, nil)
		return
	}
	s.Error("the exchange does not end")
}

// knowledgeIn is what the first frame of an answer holds, in its frame.
func knowledgeIn(in []byte) []byte {
	size, at := 0, 0
	for shift := 0; ; shift += 7 {
		c := in[at]
		at++
		if size |= int(c&0x7f) << shift; c < 0x80 {
			return in[:at+size]
		}
	}
}

func TestTheEngineOnAPhoneAnswersAsItDoesNatively(t *testing.T) {
	needed.Tool(t, "node")
	s := play(t)
	covered(t, s.steps)
	in := filepath.Join(t.TempDir(), "steps.json")
	text, err := json.Marshal(s.steps)
	if err == nil {
		err = os.WriteFile(in, text, 0o600)
	}
	if err != nil {
		t.Fatal(err)
	}
	engine, runtime := build(t)
	run := exec.Command("node", "testdata/play.mjs", runtime, engine, in)
	var failed bytes.Buffer
	run.Stderr = &failed
	out, err := run.Output()
	if err != nil {
		t.Fatalf("%v: %s", err, failed.String())
	}
	lines := strings.Split(strings.TrimSuffix(string(out), "\n"), "\n")
	if len(lines) != len(s.steps) {
		t.Fatalf("%d answers to %d messages", len(lines), len(s.steps))
	}
	for i, line := range lines {
		var got struct {
			OK          bool
			Text, Bytes string
		}
		if err := json.Unmarshal([]byte(line), &got); err != nil {
			t.Fatal(err)
		}
		want := s.steps[i]
		if got.OK != want.OK || got.Text != string(want.Answer.JSON) || got.Bytes != base64.StdEncoding.EncodeToString(want.Answer.Bytes) {
			t.Errorf("%s %.300s: as WebAssembly\n%.3000s\nnatively\n%.3000s", want.Name, want.Text, got.Text, want.Answer.JSON)
		}
	}
}

// covered holds that each message was asked and answered with something.
func covered(t *testing.T, steps []step) {
	t.Helper()
	for _, name := range handset.Messages() {
		told := func(s step) bool { return len(s.Answer.JSON)+len(s.Answer.Bytes) > 40 }
		if name == "waits" { // three counts
			told = func(s step) bool { return bytes.ContainsAny(s.Answer.JSON, "123456789") }
		}
		if !slices.ContainsFunc(steps, func(s step) bool { return s.Name == name && s.OK && told(s) }) {
			t.Errorf("%s was not answered with anything", name)
		}
	}
}

// build builds the engine as the phone gets it, and returns its file and that of its runtime.
func build(t testing.TB) (engine, runtime string) {
	t.Helper()
	folder := t.TempDir()
	if text, err := exec.Command("go", "run", "./build", folder).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, text)
	}
	return filepath.Join(folder, "evenwhite-engine.wasm"), filepath.Join(folder, "wasm_exec.js")
}
