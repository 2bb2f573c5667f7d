package api

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"net/http"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"evenwhite/api/pairing"
	"evenwhite/logbook"
	"evenwhite/logbook/exchange"
	"evenwhite/logbook/kinds"
)

func (c *client) carry(base, bundle string) *reply {
	c.Helper()
	return c.ask("POST", base+"/bundle", bundle, "Content-Type", "application/octet-stream")
}

// counts reads a tally out of an answer.
func counts(v logbook.Value) string {
	return "taken " + string(v.Member("taken")) + ", repeat " + string(v.Member("repeat")) + ", refused " +
		string(v.Member("refused")) + ", clash " + string(v.Member("clash"))
}

func TestEditsCarriedAsAFile(t *testing.T) {
	g := setStage(t)
	whole := g.ask("GET", g.base+"/bundle", "").want(200)
	if name := whole.header.Get("Content-Disposition"); !strings.Contains(name, `filename="lh-edits.bundle"`) {
		t.Errorf("got the file name %s", name)
	}
	_, next, _ := strings.Cut(whole.header.Get("Link"), "<")
	next, _, _ = strings.Cut(next, ">")
	here := g.admit(pairing.Editor, "memory card", g.production)

	t.Run("what is here already is counted as a repeat", func(t *testing.T) {
		before := g.head()
		r := here.carry(g.base, string(whole.body)).want(200)
		if want := "taken 0, repeat 21, refused 0, clash 0"; counts(r.at()) != want || g.head() != before {
			t.Errorf("got %s, want %s", counts(r.at()), want)
		}
	})
	t.Run("another server takes them all, and then only what came since", func(t *testing.T) {
		there := openSite(t)
		owner := there.admit(pairing.Owner, "desk there", logbook.ID{})
		if err := there.store.Begin(g.production, drawLine()); err != nil {
			t.Fatal(err)
		}
		if r := owner.carry(g.base, string(whole.body)).want(200); counts(r.at()) != "taken 21, repeat 0, refused 0, clash 0" {
			t.Fatalf("got %s", r.body)
		}
		mine, his := g.ask("GET", g.record("clip", "clip"), "").want(200), owner.ask("GET", g.record("clip", "clip"), "").want(200)
		if !bytes.Equal(mine.body, his.body) || mine.tag() != his.tag() {
			t.Errorf("the clip reads as %s there and %s here", his.body, mine.body)
		}
		g.ask("POST", g.base+"/records/note", g.fill(`{"about":"$take","text":"a bird"}`)).want(201)
		bad := g.edit(lineOfOne, 1, "clip", "$clip", `{"kelvin":-3}`)
		g.ask("POST", g.base+"/exchange", `{"edits":[`+bad+`]}`).want(200)
		r := owner.carry(g.base, string(g.ask("GET", next, "").want(200).body)).want(200)
		if want := "taken 1, repeat 0, refused 1, clash 0"; counts(r.at()) != want {
			t.Errorf("got %s, want %s", counts(r.at()), want)
		}
		if p := owner.ask("GET", next, "").want(400).problem(); !strings.Contains(p.Detail, "leads nowhere") {
			t.Errorf("a place of the other log: got %+v", p)
		}
	})
	t.Run("the writer of the bundle stays its author, who brought it is noted", func(t *testing.T) {
		var b bytes.Buffer
		e := &logbook.Edit{Production: g.production, Kind: kinds.Note,
			Record: drawID(), Device: drawID(), Dot: logbook.Dot{Line: drawLine(), N: 1},
			At: 1930000000000, By: "gaffer", Set: []logbook.Change{{Field: "text", Value: `"by hand"`}}}
		if err := exchange.WriteBundle(&b, g.production, []*logbook.Edit{e}); err != nil {
			t.Fatal(err)
		}
		here.carry(g.base, b.String()).want(200)
		stored, err := g.store.Get(g.production, []logbook.Dot{e.Dot})
		if err != nil || len(stored) != 1 || stored[0].Via != here.device {
			t.Fatalf("got %+v (%v), want it brought by %s", stored, err, here.device)
		}
		if kept, err := logbook.DecodeEdit(stored[0].Bytes); err != nil || kept.Device != e.Device || kept.By != "gaffer" {
			t.Errorf("got %+v (%v)", kept, err)
		}
	})
}

func TestBundlesThatAreRefused(t *testing.T) {
	g := setStage(t)
	whole := string(g.ask("GET", g.base+"/bundle", "").want(200).body)
	before := g.head()
	damaged := []byte(whole)
	damaged[len(whole)/2] ^= 1
	var foreign bytes.Buffer
	if err := exchange.WriteBundle(&foreign, drawID(), nil); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name, body string
		status     int
		detail     string
		taken      bool // something stands before the fault
	}{
		{"of another production", foreign.String(), 400, "the bundle is of production", false},
		{"damaged in its middle", string(damaged), 422, "damaged at edit ", true},
		{"cut off", whole[:len(whole)-3], 422, "at its end", true},
		{"that is none", "a letter", 422, "does not begin as a bundle does", false},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := g.carry(g.base, c.body)
			p := r.problem()
			if r.status != c.status || !strings.Contains(p.Detail, c.detail) || p.Bundle == nil || (p.Bundle.Repeat > 0) != c.taken {
				t.Errorf("got %d %s, want %d and %q", r.status, r.body, c.status, c.detail)
			}
		})
	}
	g.ask("POST", g.base+"/bundle", "{}").want(415)
	if g.head() != before {
		t.Error("the log changed")
	}
}

// bigBundle holds one edit again and again: some 69 MB that store 60 kB.
func (g *stage) bigBundle() string {
	g.Helper()
	big := logbook.Value(`"` + strings.Repeat("x", 60<<10) + `"`)
	e := &logbook.Edit{Production: g.production, Kind: "later", Record: drawID(), Device: drawID(), Dot: logbook.Dot{Line: drawLine(), N: 1},
		At: 1930000000000, By: "gaffer", Set: []logbook.Change{{Field: "text", Value: big}}}
	edits := make([]*logbook.Edit, 1100)
	for i := range edits {
		edits[i] = e
	}
	var b bytes.Buffer
	if err := exchange.WriteBundle(&b, g.production, edits); err != nil {
		g.Fatal(err)
	}
	return b.String()
}

func TestABundleIsTakenAsItArrivesHoweverLong(t *testing.T) {
	g := setStage(t)
	r := g.carry(g.base, g.bigBundle()).want(200)
	if want := "taken 1, repeat 1099, refused 0, clash 0"; counts(r.at()) != want || g.head().Seq != 22 {
		t.Errorf("got %s and %d edits in the log, want %s and 22", counts(r.at()), g.head().Seq, want)
	}
}

func TestABundleGetsTimeForWhatCame(t *testing.T) {
	begun := time.Unix(1_930_000_000, 0)
	var given []time.Duration
	until := func(at time.Time) error { given = append(given, at.Sub(begun)); return nil }
	r := &standingReader{Reader: bytes.NewReader(make([]byte, 3<<20+1000)), until: until, end: begun, auth: &pairing.Auth{}}
	r.device = r.auth.Own()
	if n, err := io.Copy(io.Discard, struct{ io.Reader }{r}); err != nil || n != 3<<20+1000 {
		t.Fatal(n, err)
	}
	if want := []time.Duration{perMiB, 2 * perMiB, 3 * perMiB}; !slices.Equal(given, want) {
		t.Errorf("got %v, want %v", given, want)
	}
}

func TestWhereABundleEndsEarlyItSaysWhatToDoWithTheRest(t *testing.T) {
	for _, c := range []struct {
		err    error
		is     error
		detail string
	}{
		{fmt.Errorf("edit 3: %w", &http.MaxBytesError{Limit: 1 << 30}), ErrTooLarge, "at most 1024 MiB are taken here, and what stood before is"},
		{fmt.Errorf("edit 3: %w", os.ErrDeadlineExceeded), ErrSlow, "12m0s, and 10s more for each MiB that came"},
	} {
		ended := bundleEnded(c.err, bundleTally{Taken: 2})
		var partly *partlyTaken
		if !errors.Is(ended, c.is) || !errors.As(ended, &partly) || partly.tally.Taken != 2 || !strings.Contains(ended.Error(), c.detail) {
			t.Errorf("got %v, want %v, %q and 2 taken", ended, c.is, c.detail)
		}
	}
}

func TestADeviceThatIsRevokedWhileItSendsABundleIsHeardNoLonger(t *testing.T) {
	g := setStage(t)
	phone := g.admit(pairing.Editor, "a lost phone", g.production)
	whole := g.ask("GET", g.base+"/bundle", "").want(200).body
	before := g.head()
	from, to := io.Pipe()
	request, err := http.NewRequest("POST", g.url+g.base+"/bundle", from)
	if err != nil {
		t.Fatal(err)
	}
	phone.show(request)
	request.Header.Set("Content-Type", "application/octet-stream")
	sent := make(chan error, 1)
	go func() {
		_, err := to.Write(whole[:100])
		if err == nil {
			err = g.auth.Revoke(phone.device, true)
		}
		if err == nil {
			_, err = to.Write(whole[100:])
		}
		sent <- errors.Join(err, to.Close())
	}()
	response, err := g.http.Do(request)
	if err != nil {
		t.Fatal(err)
	}
	defer response.Body.Close()
	if err := <-sent; err != nil && !errors.Is(err, io.ErrClosedPipe) {
		t.Fatal(err)
	}
	if response.StatusCode != http.StatusUnauthorized || g.head() != before {
		t.Errorf("got %s", response.Status)
	}
}
