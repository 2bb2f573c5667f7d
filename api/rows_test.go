package api

import (
	"bytes"
	"compress/gzip"
	"fmt"
	"io"
	"strings"
	"testing"

	"evenwhite/api/pairing"
	"evenwhite/logbook"
	"evenwhite/logbook/exchange"
	"evenwhite/logbook/kinds"
)

// gzipped is one gzip member.
func gzipped(text string) string {
	var out bytes.Buffer
	w := gzip.NewWriter(&out)
	if _, err := w.Write([]byte(text)); err != nil {
		panic(err)
	}
	if err := w.Close(); err != nil {
		panic(err)
	}
	return out.String()
}

// firstMember unpacks as a browser does, and fails where something stands behind.
func firstMember(body []byte) ([]byte, error) {
	from := bytes.NewReader(body)
	z, err := gzip.NewReader(from)
	if err != nil {
		return nil, err
	}
	z.Multistream(false)
	out, err := io.ReadAll(z)
	if err == nil && from.Len() > 0 {
		err = fmt.Errorf("%d bytes stand behind the first member", from.Len())
	}
	return out, err
}

func TestTheExchangeSpeaksInTheFormThatIsAskedFor(t *testing.T) {
	g := setStage(t)
	rows := "[\"rows\",1]\n[\"end\",0]\n"
	for _, c := range []struct{ accept, want string }{
		{"", "application/json"}, {"*/*", "application/json"}, {rowsMedia, rowsMedia}, {rowsMedia + ", application/json;q=0.5", rowsMedia},
		{"application/json, " + rowsMedia + ";q=0.9", "application/json"}, {rowsMedia + ";q=0", "application/json"},
		{rowsMedia + ";q=2", "application/json"}, {"text/html", "application/json"},
	} {
		for media, body := range map[string]string{
			"application/json": "{}", rowsMedia: rows, strings.ToUpper(rowsMedia) + "; charset=utf-8": rows,
		} {
			for _, coding := range []string{"gzip", "identity", "gzip;q=0", "gzip;q=-1", "gzip;q=NaN", "br, gzip;q=0.1"} {
				r := g.ask("POST", g.base+"/exchange", body, "Content-Type", media, "Accept", c.accept, "Accept-Encoding", coding).want(200)
				text := r.body
				if packs := coding == "gzip" || strings.HasPrefix(coding, "br"); packs != (r.header.Get("Content-Encoding") == "gzip") {
					t.Errorf("Accept-Encoding %s: got the Content-Encoding %q", coding, r.header.Get("Content-Encoding"))
				} else if packs {
					var err error
					if text, err = firstMember(r.body); err != nil {
						t.Fatalf("Accept-Encoding %s: %v", coding, err)
					}
				}
				if got := r.header.Get("Content-Type"); got != c.want {
					t.Errorf("Accept %s, Content-Type %s: got %s, want %s", c.accept, media, got, c.want)
				}
				if got := r.header.Get("Vary"); got != "Accept, Accept-Encoding" {
					t.Errorf("got Vary: %s", got)
				}
				if isRows := bytes.HasPrefix(text, []byte("[\"rows\",1]\n")); isRows != (c.want == rowsMedia) {
					t.Errorf("Accept %s: got %s", c.accept, text)
				}
			}
		}
	}
}

// Another answer in another form is no reason to note another bringer.
func TestWhoBroughtAClashIsNotedInEveryForm(t *testing.T) {
	g := setStage(t)
	for i, accept := range []string{"application/json", rowsMedia} {
		phone := g.admit(pairing.Editor, "phone", g.production)
		line := fmt.Sprintf("c1a5c1a5c1a5c1a%d", i)
		for _, name := range []string{`{"name":"full green"}`, `{"name":"half green"}`} {
			body := `{"edits":[` + g.edit(line, 1, "gel", g.ids["gel"], name) + `]}`
			phone.ask("POST", g.base+"/exchange", body, "Content-Type", "application/json", "Accept", accept).want(200)
		}
		via, _ := g.ask("GET", g.base+"/quarantine", "").want(200).at("clashes", i, "via").Text()
		if want := phone.device.String(); via != want {
			t.Errorf("%s: the clash came by %q, want %s", accept, via, want)
		}
	}
}

func TestPackedBodiesAreTakenAsOneMember(t *testing.T) {
	g := setStage(t)
	note := g.fill(`{"about":"$take","text":"a bird"}`)
	g.ask("POST", g.base+"/records/note", gzipped(note), "Content-Encoding", "gzip").want(201)
	g.ask("POST", g.base+"/exchange", gzipped(g.fill(`{"edits":[`+editOfTake+`]}`)), "Content-Encoding", "GZIP").want(200)
	whole := gzipped(note)
	bomb := gzipped(`{"about":"` + strings.Repeat("x", 64<<20) + `"}`)
	for name, c := range map[string]struct {
		body, coding string
		status       int
		says         []string
	}{
		"two members":          {whole + gzipped(note), "gzip", 400, []string{"behind the first member", "one gzip member"}},
		"something behind":     {whole + "x", "gzip", 400, []string{"1 bytes behind the first member"}},
		"cut off":              {whole[:len(whole)-3], "gzip", 400, []string{"cut off"}},
		"a wrong checksum":     {whole[:len(whole)-8] + "xxxx" + whole[len(whole)-4:], "gzip", 400, []string{"checksum"}},
		"not gzip":             {note, "gzip", 400, []string{"not gzip"}},
		"nothing":              {" ", "gzip", 400, []string{"not gzip"}},
		"a bomb":               {bomb, "gzip", 413, []string{"unpacked it has more than 1 MiB"}},
		"another coding":       {whole, "br", 415, []string{`"br"`, "gzip, identity"}},
		"a coding upon coding": {gzipped(whole), "gzip, gzip", 415, []string{"gzip, identity"}},
	} {
		t.Run(name, func(t *testing.T) {
			before := g.head()
			r := g.ask("POST", g.base+"/records/note", c.body, "Content-Encoding", c.coding).want(c.status)
			said := fmt.Sprint(r.problem())
			for _, part := range c.says {
				if !strings.Contains(said, part) {
					t.Errorf("the problem does not say %s: %s", part, said)
				}
			}
			if c.status == 415 && r.header.Get("Accept-Encoding") != "gzip, identity" {
				t.Errorf("got Accept-Encoding: %q", r.header.Get("Accept-Encoding"))
			}
			if g.head() != before {
				t.Error("the log changed")
			}
		})
	}
	t.Run("but for a bundle, which is read as it arrives", func(t *testing.T) {
		r := g.ask("POST", g.base+"/bundle", whole, "Content-Type", "application/octet-stream", "Content-Encoding", "gzip").want(415)
		if got := r.header.Get("Accept-Encoding"); got != "identity" {
			t.Errorf("got Accept-Encoding: %q", got)
		}
	})
}

func TestWrongRowsAreRefusedInWordsAndChangeNothing(t *testing.T) {
	g := setStage(t)
	before := g.head()
	for body, c := range map[string]struct {
		status     int
		kind, says string
	}{
		"{}":                          {400, "not-rows", "row 1"},
		"[\"rows\",1]\n":              {400, "not-rows", "end row"},
		"[\"rows\",1]\n[\"end\",1]\n": {400, "not-rows", "counts 1 edits"},
		"[\"rows\",1]\n[\"cursor\",\"xyz\"]\n[\"end\",0]\n": {400, "bad-request", "xyz"},
		"[\"rows\",1]\n[\"line\",\"00c0ffee00c0ffee\"]\n[\"device\",\"" + g.device.String() + "\"]\n[\"person\",\"DIT\"]\n[\"in\",0,2,0,0,0]\n" +
			"[\"field\",\"wanted\",1]\n[1,0,true,0,1]\n[\"check\",\"AAAAAAAAAAA\"]\n[\"end\",1]\n": {409, "records-wanted", "00c0ffee00c0ffee.1"},
	} {
		p := g.ask("POST", g.base+"/exchange", body, "Content-Type", rowsMedia).want(c.status).problem()
		if p.Type != problemPrefix+c.kind || !strings.Contains(p.Detail, c.says) {
			t.Errorf("%s: got %+v, want %s that says %s", body, p, c.kind, c.says)
		}
	}
	reader := g.admit(pairing.Reader, "a reader", g.production)
	rows := (&rowsForm{}).request(t, exchange.NewReplica(g.production, reader.device, kinds.Rules, drawLine),
		logbook.Line{}, g.apart(reader, 1))
	reader.ask("POST", g.base+"/exchange", string(rows), "Content-Type", rowsMedia).want(403)
	if g.head() != before {
		t.Error("the log changed")
	}
}

// apart makes edits of one record by a device that works apart.
func (g *stage) apart(by *client, n int) (edits []*logbook.Edit) {
	line, record := drawLine(), drawID()
	for i := range n {
		e := &logbook.Edit{
			Production: g.production, Kind: kinds.Clip, Record: record, Device: by.device, Dot: logbook.Dot{Line: line, N: uint64(i + 1)},
			At: 1930372200000 + logbook.Millis(i*250), By: "2nd AC",
			Set: []logbook.Change{{Field: "card", Value: logbook.TextValue(fmt.Sprintf("A%03d", i))}},
		}
		if i > 0 {
			e.Set[0].Over = []logbook.Dot{edits[i-1].Dot}
		}
		edits = append(edits, e)
	}
	return edits
}

// A wireForm is one of the forms in which a device and the service can speak.
type wireForm interface {
	header() []string
	// request writes what a replica says; more edits are offered with it.
	request(t *testing.T, r *exchange.Replica, log logbook.Line, more []*logbook.Edit) []byte
	answer(r *exchange.Replica, production logbook.ID, body []byte) (exchange.Answer, error)
}

// rowsForm are rows, packed or not.
type rowsForm struct{ packed bool }

func (f *rowsForm) header() []string {
	if f.packed {
		return []string{"Content-Type", rowsMedia, "Accept", rowsMedia, "Content-Encoding", "gzip", "Accept-Encoding", "gzip"}
	}
	return []string{"Content-Type", rowsMedia, "Accept", rowsMedia, "Accept-Encoding", "identity"}
}

func (f *rowsForm) request(t *testing.T, r *exchange.Replica, log logbook.Line, more []*logbook.Edit) []byte {
	q := r.Request(log)
	q.Edits = append(q.Edits, more...)
	text, err := q.Rows(r.Shared(log))
	if err != nil {
		t.Fatal(err)
	}
	if f.packed {
		return []byte(gzipped(string(text)))
	}
	return text
}

func (f *rowsForm) answer(r *exchange.Replica, production logbook.ID, body []byte) (exchange.Answer, error) {
	if f.packed {
		var err error
		if body, err = firstMember(body); err != nil {
			return exchange.Answer{}, err
		}
	}
	return exchange.ReadAnswerRows(body, production, r.Records)
}
