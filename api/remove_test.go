package api

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"evenwhite/api/pairing"
	"evenwhite/api/removal"
	"evenwhite/logbook"
	"evenwhite/logbook/bolt"
	"evenwhite/logbook/exchange"
	"evenwhite/logbook/kinds"
)

func digest(b []byte) string {
	sum := sha256.Sum256(b)
	return hex.EncodeToString(sum[:])
}

// holding is a request of an owner who downloaded bundle and colour log.
func (g *stage) holding(form string) string {
	g.Helper()
	bundle := g.ask("GET", g.base+"/bundle", "").want(200).body
	return `{"bundle":"` + digest(bundle) + `","colorLog":"` + digest(g.ask("GET", g.base+"/color-log."+form, "").want(200).body) + `"}`
}

// leave removes the production, as an owner does who holds its files.
func (g *stage) leave() removal.Mark {
	g.Helper()
	r := g.ask("POST", g.base+"/removal", g.holding("csv")).want(200)
	var m removal.Mark
	if err := json.Unmarshal(r.body, &m); err != nil {
		g.Fatal(err)
	}
	return m
}

func (g *stage) removals() string { return filepath.Join(filepath.Dir(g.path), "removed") }

// gone fails unless an answer says that the production was removed, and when.
func (r *reply) gone() {
	r.Helper()
	if p := r.want(410).problem(); p.Type != problemPrefix+"removed" || !strings.Contains(p.Detail, `"The Lighthouse"`) ||
		!strings.Contains(p.Detail, "was removed here on 2031-03-04") || !strings.Contains(p.Detail, "by desk") {
		r.Errorf("got %+v", p)
	}
}

func TestAProductionThatIsRemovedIsGoneForEverybodyAndItsFilesHoldAll(t *testing.T) {
	g, owners, editors := lostStage(t)
	want := g.everything()
	bundle, csv := g.ask("GET", g.base+"/bundle", "").want(200).body, g.ask("GET", g.base+"/color-log.csv", "").want(200).body
	asJSON := g.ask("GET", g.base+"/color-log.json", "").want(200).body
	other := g.ask("POST", "/v1/productions", `{"title":"Another","timeZone":"Etc/UTC","frameRate":"25","gelFamily":"based5500"}`).want(201).id()
	head := g.head()
	m := g.leave()
	if m.Title != "The Lighthouse" || m.Edits != int(head.Seq) || m.By != "desk" || len(m.Files) != 3 ||
		m.Log != hex.EncodeToString(head.Chain[:]) {
		t.Errorf("the mark says %+v", m)
	}
	for name, want := range map[string][]byte{"edits.bundle": bundle, "color-log.csv": csv, "color-log.json": asJSON} {
		got, err := os.ReadFile(filepath.Join(g.removals(), m.Folder, name))
		if err != nil || !bytes.Equal(got, want) {
			t.Errorf("%s is not what was downloaded (%v)", name, err)
		}
		if !slices.Contains(m.Files, removal.File{Name: name, Bytes: int64(len(want)), SHA256: digest(want)}) {
			t.Errorf("%s is not in the list as it is: %+v", name, m.Files)
		}
	}
	for _, o := range operationsOf(t) {
		if strings.Contains(o.path, "{production}") && o.id != "readmitProduction" {
			r := o.try(g.client, g.production)
			if r.status != 400 && r.status != 415 { // of requests that hold nothing
				r.gone()
			}
		}
	}
	editors.ask("POST", g.base+"/exchange", `{}`).gone()
	g.carry(g.base, string(bundle)).gone()
	g.ask("POST", "/v1/invitations", `{"role":"editor","label":"2nd AC","production":"`+g.production.String()+`"}`).gone()
	g.ask("POST", "/v1/productions", `{"id":"`+g.production.String()+`",`+newProduction[1:]).gone()
	list := g.ask("GET", "/v1/productions", "").want(200)
	if list.count("productions") != 1 || list.text("productions", 0, "id") != other || list.text("removed", 0, "folder") != m.Folder {
		t.Errorf("the server lists %s", list.body)
	}
	if last := g.ask("GET", "/v1/audit", "").want(200); last.text("entries", 0, "what") != "removed" {
		t.Errorf("the list of what was done begins with %s", last.at("entries", 0))
	}
	g.ask("GET", "/readyz", "").want(200)
	g.ask("GET", "/metrics", "").want(200)

	t.Run("the file gives an empty server the same", func(t *testing.T) {
		there := g.elsewhere()
		there.carry(there.base, string(bundle)).want(200)
		if got := there.everything(); got != want {
			t.Errorf("it reads\n%s\nwant\n%s", got, want)
		}
		if h := there.head(); h.Seq != head.Seq || h.Chain != head.Chain {
			t.Errorf("its log ends at %+v, want %+v", h, head)
		}
	})
	t.Run("a device keeps its own, and brings it when an owner took the production in again", func(t *testing.T) {
		mine := editors.writes(kinds.Take, "take", "wanted", "true")
		form := rowsForm{}
		text := form.request(t, editors.r, editors.met, nil)
		editors.ask("POST", g.base+"/exchange", string(text), form.header()...).gone()
		if editors.sees(kinds.Take, "take", "wanted").Shown.Value != "true" {
			t.Error("the device lost what it wrote")
		}
		editors.ask("DELETE", g.base+"/removal", "").want(403)
		editors.ask("DELETE", "/v1/productions/"+other+"/removal", "").want(403)
		g.ask("DELETE", "/v1/productions/"+other+"/removal", "").want(404)
		g.ask("DELETE", g.base+"/removal", "").want(204)
		g.ask("DELETE", g.base+"/removal", "").want(404)
		editors.ask("POST", g.base+"/exchange", `{}`).want(404)
		owners.moved(g, pairing.Owner)
		owners.meets()
		if got := g.everything(); got != want {
			t.Errorf("it reads\n%s\nwant\n%s", got, want)
		}
		editors.meets()
		g.holdsOnce(t, mine)
		if l := g.ask("GET", "/v1/productions", "").want(200); l.count("productions") != 2 || l.count("removed") != 0 {
			t.Errorf("the server lists %s", l.body)
		}
	})
}

func TestNothingIsRemovedThatSomebodyHasNotSeen(t *testing.T) {
	g := setStage(t)
	editor := g.admit(pairing.Editor, "2nd AC", g.production)
	alone := g.admit(pairing.Owner, "owner of this one", g.production)
	stays := func(why string) {
		t.Helper()
		g.ask("GET", g.base, "").want(200)
		if left, err := os.ReadDir(g.removals()); err != nil && !os.IsNotExist(err) || len(left) > 0 {
			t.Errorf("%s: files are left: %v (%v)", why, left, err)
		}
	}
	seen := g.holding("json")
	for _, c := range []*client{editor, alone} {
		c.ask("POST", g.base+"/removal", seen).want(403)
	}
	g.writeNote()
	p := g.ask("POST", g.base+"/removal", seen).want(412).problem()
	if p.Type != problemPrefix+"not-held" || !strings.Contains(p.Detail, "the bundle") {
		t.Errorf("got %+v", p)
	}
	stays("an edit came in since")
	held := g.holding("json")
	g.ask("POST", g.base+"/removal", strings.Replace(held, `"colorLog":"`, `"colorLog":"`+strings.Repeat("0", 64)+`","x":"`, 1)).want(400)
	wrong := `{"bundle":"` + held[len(`{"bundle":"`):][:64] + `","colorLog":"` + strings.Repeat("0", 64) + `"}`
	if p := g.ask("POST", g.base+"/removal", wrong).want(412).problem(); !strings.Contains(p.Detail, "the colour log") {
		t.Errorf("got %+v", p)
	}
	stays("another colour log")

	r := editor.ask("POST", g.base+"/exchange", `{"edits":[`+g.settings(1, `{"title":"Mine now"}`)+`]}`).want(200)
	if r.outcomes() != "aside" {
		t.Fatalf("got %s", r.body)
	}
	if p := g.ask("POST", g.base+"/removal", held).want(409).problem(); !strings.Contains(p.Detail, "1 edits of its settings wait") {
		t.Errorf("got %+v", p)
	}
	stays("an edit waits for an owner")
}

func TestWhatLiesBesideTheLogIsWrittenToo(t *testing.T) {
	g := setStage(t)
	editor := g.admit(pairing.Editor, "2nd AC", g.production)
	title := g.settings(1, `{"title":"Mine now"}`)
	editor.ask("POST", g.base+"/exchange", `{"edits":[`+title+`]}`).want(200)
	waiting := g.ask("GET", g.base+"/aside", "").text("edits", 0, "id")
	g.ask("POST", g.base+"/aside", `{"leave":["`+waiting+`"]}`).want(200)
	note := func(text string) string { return g.edit(lineOfOne, 1, "note", "$note", `{"text":"`+text+`"}`) }
	g.push(editor, note("here"))
	if r := editor.ask("POST", g.base+"/exchange", `{"edits":[`+note("there")+`]}`).want(200); r.outcomes() != "clash" {
		t.Fatalf("got %s", r.body)
	}
	refused := g.edit(lineOfOther, 1, "clip", "$clip", `{"kelvin":-3}`)
	g.push(editor, refused)
	m := g.leave()
	edits := func(name string) (text string) {
		t.Helper()
		f, err := os.Open(filepath.Join(g.removals(), m.Folder, name))
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		if err := exchange.ReadBundle(f, g.production, func(e *logbook.Edit) error {
			b, err := e.MarshalJSON()
			text += string(b) + "\n"
			return err
		}); err != nil {
			t.Fatal(err)
		}
		return text
	}
	for name, want := range map[string]string{"clashes.bundle": "there", "left-aside.bundle": "Mine now", "edits.bundle": `"kelvin":-3`} {
		if got := edits(name); !strings.Contains(got, want) || name != "edits.bundle" && strings.Count(got, "\n") != 1 {
			t.Errorf("%s holds %s, want %s", name, got, want)
		}
	}
}

func TestWhoIsServedWhileAProductionIsRemovedIsToldOrServedToTheEnd(t *testing.T) {
	g := setStage(t)
	request := []string{"Idempotency-Key", "the same"}
	g.ask("POST", g.base+"/records/note", g.fill(`{"about":"$take","text":"a bird"}`), request...).want(201)
	want := g.ask("GET", g.base+"/color-log.csv", "").want(200).body
	held := g.holding("csv")
	stream := g.listen(g.base+"/events", "")
	stream.event()
	l, err := g.logs.Find(g.production)
	if err != nil {
		t.Fatal(err)
	}
	frozen, err := l.Freeze()
	if err != nil {
		t.Fatal(err)
	}
	defer frozen.Close()
	part, err := l.Since("")
	if err != nil {
		t.Fatal(err)
	}
	g.ask("POST", g.base+"/removal", held).want(200)

	t.Run("an event stream ends", func(t *testing.T) {
		if rest, err := io.ReadAll(stream.lines); err != nil || len(rest) > 0 {
			t.Errorf("got %q (%v)", rest, err)
		}
		stream.hangUp()
	})
	t.Run("a bundle that is on its way is cut off, and says so", func(t *testing.T) {
		if _, err := part.WriteBundle(io.Discard); err == nil {
			t.Error("it was written to an end")
		}
	})
	t.Run("a colour log that is on its way comes to its end", func(t *testing.T) {
		n := 0
		frozen.Read(func(b *logbook.Book) { n = len(b.Records(kinds.Clip)) })
		if n != 1 || len(want) == 0 {
			t.Errorf("the frozen book has %d clips", n)
		}
	})
	t.Run("a log that somebody found before takes nothing", func(t *testing.T) {
		if _, err := l.Push(nil, g.device, 0); err == nil {
			t.Error("it takes a push")
		}
	})
	t.Run("what a key made is gone with it", func(t *testing.T) {
		g.ask("POST", g.base+"/records/note", g.fill(`{"about":"$take","text":"a bird"}`), request...).gone()
	})
	t.Run("after a start too", func(t *testing.T) {
		g.startAnew()
		g.ask("GET", g.base, "").gone()
	})
	t.Run("a device that has a role in it alone stays paired, and is told", func(t *testing.T) {
		guest := g.admit(pairing.Guest, "post house", g.production)
		guest.ask("GET", g.base+"/color-log.csv", "").gone()
		if r := guest.ask("GET", "/v1/productions", "").want(200); r.count("removed") != 1 {
			t.Errorf("it is not told: %s", r.body)
		}
		stranger := g.admit(pairing.Guest, "another", drawID())
		if r := stranger.ask("GET", "/v1/productions", "").want(200); r.count("removed") != 0 {
			t.Errorf("a stranger is told: %s", r.body)
		}
	})
}

// TestOfARemovalAndPushesAtOnceNothingIsLost lets a device push while the production is
// removed: what was acknowledged is in the file, or the production stays.
func TestOfARemovalAndPushesAtOnceNothingIsLost(t *testing.T) {
	g := setStage(t)
	writer := g.admit(pairing.Editor, "2nd AC", g.production)
	stop, stopped := context.WithCancel(t.Context())
	pushed := make(chan int)
	begun := make(chan struct{})
	go func() {
		n := 0
		for stop.Err() == nil {
			r := writer.ask("POST", g.base+"/exchange", `{"edits":[`+g.edit(lineOfOne, n+1, "note", "$note", `{"text":"x"}`)+`]}`)
			if r.status != 200 {
				break
			}
			if n++; n == 1 {
				close(begun)
			}
		}
		pushed <- n
	}()
	<-begun
	went := 0
	for range 20 {
		if r := g.ask("POST", g.base+"/removal", g.holding("csv")); r.status == 412 {
			went++
		} else if r.want(200); r.status == 200 {
			break
		}
	}
	stopped()
	n := <-pushed
	marks, err := removal.All(g.store)
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("%d pushes; %d removals were too late", n, went)
	held := 0
	if len(marks) == 0 {
		got, err := g.store.Ranges(g.production)
		if err != nil {
			t.Fatal(err)
		}
		for _, s := range got[mustLine(lineOfOne)] {
			held += int(s.To - s.From + 1)
		}
	} else {
		f, err := os.Open(filepath.Join(g.removals(), marks[0].Folder, "edits.bundle"))
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		if err := exchange.ReadBundle(f, g.production, func(e *logbook.Edit) error {
			if e.Dot.Line == mustLine(lineOfOne) {
				held++
			}
			return nil
		}); err != nil {
			t.Fatal(err)
		}
	}
	if held < n {
		t.Errorf("%d of %d acknowledged edits are held", held, n)
	}
}

func mustLine(text string) logbook.Line {
	line, err := logbook.ParseLine(text)
	if err != nil {
		panic(err)
	}
	return line
}

func TestABackupOfBeforeStillHoldsIt(t *testing.T) {
	g := setStage(t)
	backup := filepath.Join(t.TempDir(), "of before.backup")
	if err := g.store.(*bolt.Store).Backup(backup); err != nil {
		t.Fatal(err)
	}
	want := g.head()
	g.leave()
	restored := filepath.Join(t.TempDir(), "restored.db")
	if err := bolt.Restore(backup, restored); err != nil {
		t.Fatal(err)
	}
	there := openSiteOn(t, restored, g.key)
	if got, err := there.store.Head(g.production); err != nil || got != want {
		t.Errorf("the restored log ends at %+v (%v), want %+v", got, err, want)
	}
	(&client{site: there, token: g.token, signs: g.signs}).ask("GET", g.base, "").want(200)
}
