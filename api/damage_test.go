package api

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"evenwhite/api/pairing"
	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
)

// damagedCopy copies the store of a stage, changes the copy, and opens the service
// on it as after a restart.
func (g *stage) damagedCopy(change func(file []byte)) *stage {
	g.Helper()
	path := filepath.Join(g.TempDir(), "damaged.db")
	file, err := os.ReadFile(g.path) // between two commits
	if err != nil {
		g.Fatal(err)
	}
	change(file)
	if err := os.WriteFile(path, file, 0o600); err != nil {
		g.Fatal(err)
	}
	after := *g
	after.client = &client{site: openSiteOn(g.T, path, g.key), token: g.token, device: g.device, signs: g.signs}
	after.clock.move(g.clock.now().Sub(after.clock.now()))
	return &after
}

// flip changes one byte of a text wherever it stands in a file, so many bytes before
// its end.
func flip(t *testing.T, file, text []byte, fromEnd int) {
	t.Helper()
	found := 0
	for at := bytes.Index(file, text); at >= 0; at = bytes.Index(file, text) {
		file[at+len(text)-fromEnd] ^= 1
		found++
	}
	if found == 0 {
		t.Fatal("what is to be damaged is not in the file")
	}
}

func canonical(t *testing.T, e *logbook.Edit) []byte {
	t.Helper()
	b, err := logbook.EncodeEdit(e)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// One byte of an edit, and one that a whole production hangs on: everything else is
// served, and the phone that has the edit mends it by exchanging.
func TestDamageStaysWhereItIs(t *testing.T) {
	g := setStage(t)
	lost := g.ask("POST", "/v1/productions", strings.Replace(newProduction, "The Lighthouse", "The Pier", 1)).want(201).id()
	phone, tablet := g.handset("phone of the 2nd AC"), g.handset("tablet of the DIT")
	phone.meets()
	first := phone.writes(kinds.Clip, "clip", "kelvin", "4300")
	second := phone.writes(kinds.Clip, "clip", "tint", "-2")
	third := phone.writes(kinds.Clip, "clip", "kelvin", "4400") // names the first
	phone.meets()
	id, err := logbook.ParseID(lost)
	if err != nil {
		t.Fatal(err)
	}
	head, err := g.store.Head(id)
	if err != nil {
		t.Fatal(err)
	}
	d := g.damagedCopy(func(file []byte) {
		flip(t, file, canonical(t, first), 14)
		of := append([]byte("identity"), head.Identity[:]...)
		for from := 0; ; { // a part of its log loses its name; the order of the names is as it was
			at := bytes.Index(file[from:], of)
			if at < 0 {
				break
			}
			name := bytes.LastIndex(file[:from+at], []byte("edits"))
			file[name+3] = 'u'
			from += at + len(of)
		}
	})
	d.site.damaged = true // the other production stays so
	phone.client.site, phone.at = d.site, d
	tablet.client.site, tablet.at = d.site, d

	ready := d.ask("GET", "/readyz", "").want(200)
	if ready.at("status") != `"degraded"` || ready.count("warnings") != 2 || !strings.Contains(string(ready.body), g.production.String()) ||
		!strings.Contains(string(ready.body), "exchange") || !strings.Contains(string(ready.body), "restore") {
		t.Errorf("readyz says %s, want both productions with the way back", ready.body)
	}
	list := d.ask("GET", "/v1/productions", "").want(200)
	if list.count("productions") != 2 || list.at("productions", 0, "title") != `"The Lighthouse"` || list.at("productions", 0, "damaged") != "" ||
		list.at("productions", 1, "id") != logbook.Value(`"`+lost+`"`) || list.at("productions", 1, "damaged") == "" {
		t.Errorf("the list is %s, want the one as ever and the other marked", list.body)
	}
	if r := d.ask("GET", "/v1/productions/"+lost+"/records/clip", "").want(500); r.at("type") != `"urn:evenwhite:problem:damaged"` {
		t.Errorf("the damaged production answers %s", r.body)
	}
	missing := d.ask("GET", d.base+"/missing", "").want(200)
	named := missing.at("damaged", 0, "edit") == logbook.Value(`"`+first.Dot.String()+`"`)
	if missing.count("damaged") != 1 || !named || missing.count("lines") != 1 {
		t.Errorf("missing says %s, want %s", missing.body, first.Dot)
	}
	d.ask("GET", "/metrics", "").want(200)
	note := d.ask("POST", d.base+"/records/note", d.fill(`{"about":"$take","text":"written on a damaged disk","to":{"as":"post"}}`)).want(201).id()

	tablet.meets() // passes the place, and hears nothing of the edit
	if tablet.r.Book().Held(first.Dot) || !tablet.r.Book().Held(third.Dot) {
		t.Error("the tablet was told of the damaged edit, or not of the one that names it")
	}
	phone.meets() // is sent the list of the new run, and brings it
	d.holdsOnce(t, first, second, third)
	if r := d.ask("GET", d.base+"/missing", "").want(200); r.count("damaged")+r.count("lines") != 0 {
		t.Errorf("after the phone exchanged, missing says %s", r.body)
	}
	if r := d.quarantine(); r.count("clashes") != 0 {
		t.Errorf("the edit that came again is a clash: %s", r.body)
	}
	tablet.meets()
	if !tablet.r.Book().Held(first.Dot) {
		t.Error("who had passed the place was not told of the edit when it came again")
	}
	for name, book := range map[string]*logbook.Book{"phone": phone.r.Book(), "tablet": tablet.r.Book()} {
		of, _ := logbook.ParseID(note)
		if _, ok := book.RecordOf(kinds.Note, of); !ok {
			t.Errorf("the %s has not got what was written meanwhile", name)
		}
	}
	if at := phone.sees(kinds.Clip, "clip", "kelvin"); at.Conflict || at.Shown.Value != "4400" {
		t.Errorf("the clip shows %+v, want 4400 without a conflict", at)
	}
	if r := d.ask("GET", "/readyz", "").want(200); r.count("warnings") != 1 {
		t.Errorf("readyz says %s, want the other production alone", r.body)
	}
}

// A disk that rots under a running server: the book still has the edit, and stores it
// again before anybody has to bring it.
func TestWhatRotsUnderARunningServerIsStoredAgain(t *testing.T) {
	g := setStage(t)
	of := g.ask("POST", g.base+"/records/note", g.fill(`{"about":"$take","text":"nobody has pulled this","to":{"as":"post"}}`)).want(201).id()
	id, err := logbook.ParseID(of)
	if err != nil {
		t.Fatal(err)
	}
	all, err := g.store.Read(g.production, 0, 1<<20)
	if err != nil {
		t.Fatal(err)
	}
	last := all[len(all)-1]
	file, err := os.OpenFile(g.path, os.O_RDWR, 0)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	whole, err := os.ReadFile(g.path)
	if err != nil {
		t.Fatal(err)
	}
	before := bytes.Clone(whole)
	flip(t, whole, last.Bytes, 14)
	for i := range whole {
		if whole[i] != before[i] {
			if _, err := file.WriteAt(whole[i:i+1], int64(i)); err != nil {
				t.Fatal(err)
			}
		}
	}
	tablet := g.handset("tablet of the DIT")
	tablet.meets() // which finds it, and the server stores it again
	tablet.meets()
	if _, ok := tablet.r.Book().RecordOf(kinds.Note, id); !ok {
		t.Error("a device that exchanges does not get what only the server's memory had")
	}
	if r := g.ask("GET", "/readyz", "").want(200); r.at("status") != `"ok"` {
		t.Errorf("readyz says %s", r.body)
	}
	if got, err := g.store.Get(g.production, []logbook.Dot{last.Dot}); err != nil || len(got) != 1 || !bytes.Equal(got[0].Bytes, last.Bytes) {
		t.Errorf("it is stored as %v (%v), want as it was", got, err)
	}
}

// slowStore holds up or fails the reading of one production, and counts it.
type slowStore struct {
	logbook.Store
	of      logbook.ID
	reading chan struct{}
	release chan struct{}
	err     error

	mu   sync.Mutex
	read int
}

func (s *slowStore) Read(production logbook.ID, after logbook.Seq, atMost int) ([]logbook.Stored, error) {
	if production != s.of {
		return s.Store.Read(production, after, atMost)
	}
	s.mu.Lock()
	s.read++
	s.mu.Unlock()
	if s.reading != nil {
		close(s.reading)
		<-s.release
	}
	return nil, s.err
}

func storeOfTwo(t *testing.T) (store *logbook.Memory, slow, quick logbook.ID) {
	t.Helper()
	store, slow, quick = logbook.NewMemory(), logbook.ID{1}, logbook.ID{2}
	for _, id := range []logbook.ID{slow, quick} {
		l, err := NewLogs(store).Open(id)
		if err == nil {
			_, err = l.Change(logbook.Writer{Device: logbook.ID{9}, By: "DIT"}, func(*logbook.Book) ([]logbook.Draft, error) {
				return []logbook.Draft{{Kind: kinds.Gel, Record: logbook.ID{3}, Set: []logbook.Change{{Field: "name", Value: `"full green"`}}}}, nil
			})
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	return store, slow, quick
}

func TestAProductionOpensUnderALockOfItsOwn(t *testing.T) {
	store, slow, quick := storeOfTwo(t)
	s := &slowStore{Store: store, of: slow, reading: make(chan struct{}), release: make(chan struct{}), err: errors.New("it was held up")}
	logs := NewLogs(s)
	ended := make(chan error)
	go func() {
		_, err := logs.Find(slow)
		ended <- err
	}()
	<-s.reading
	if _, err := logs.Find(quick); err != nil {
		t.Error(err)
	}
	if _, err := logs.Damaged(); err != nil {
		t.Error(err)
	}
	close(s.release)
	if err := <-ended; !errors.Is(err, s.err) {
		t.Errorf("the one that was held up: got %v", err)
	}
	s.reading = nil
	if _, err := logs.Find(slow); !errors.Is(err, s.err) || s.read != 2 {
		t.Errorf("what may pass was read %d times (%v), want once more", s.read, err)
	}
}

func TestAProductionThatIsDamagedIsReadOnce(t *testing.T) {
	store, slow, quick := storeOfTwo(t)
	s := &slowStore{Store: store, of: slow, err: logbook.ErrDamaged}
	logs := NewLogs(s)
	for range 3 {
		if _, err := logs.Find(slow); !errors.Is(err, logbook.ErrDamaged) {
			t.Errorf("got %v, want %v", err, logbook.ErrDamaged)
		}
		if _, err := logs.Open(slow); !errors.Is(err, logbook.ErrDamaged) {
			t.Errorf("got %v, want %v", err, logbook.ErrDamaged)
		}
	}
	if _, err := logs.Find(quick); err != nil {
		t.Error(err)
	}
	damaged, err := logs.Damaged()
	if err != nil || len(damaged) != 1 || damaged[0].Production != slow || s.read != 1 {
		t.Errorf("read %d times, and listed are %+v (%v), want once, and the one", s.read, damaged, err)
	}
}

func TestTheRulesNumberIsInEveryExchange(t *testing.T) {
	g := setStage(t)
	if r := g.ask("POST", g.base+"/exchange", "{}").want(200); r.at("rules") != "1" {
		t.Errorf("readable: got %s", r.at("rules"))
	}
	reset := g.ask("POST", g.base+"/exchange", `{"cursor":"AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA"}`).want(200)
	if reset.at("reset") != "true" || reset.at("rules") != "1" {
		t.Errorf("at a reset: got %s", reset.body)
	}
	h := g.handset("phone of the 2nd AC")
	body := h.ask("POST", g.base+"/exchange", string(h.form.request(t, h.r, h.met, nil)), h.form.header()...).want(200).body
	a, err := h.form.answer(h.r, g.production, body)
	if err != nil || a.Rules != kinds.Rules.Version {
		t.Errorf("in rows: got %d (%v)", a.Rules, err)
	}
	if reader := g.admit(pairing.Reader, "looks", g.production); reader.ask("POST", g.base+"/exchange", "{}").want(200).at("rules") != "1" {
		t.Error("a reader does not hear of them")
	}
}
