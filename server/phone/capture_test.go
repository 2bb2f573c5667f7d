package phone_test

import (
	"bytes"
	"encoding/hex"
	"encoding/json"
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/needed"
)

var (
	forms    = flag.Int("capture.count", 2000, "how many forms are drawn")
	formSeed = flag.Uint64("capture.seed", 0, "seed of the forms; 0 draws one")
)

// A form is what somebody saved on a phone, as logbook/handset/testdata/capture.json has it.
type form struct {
	Production string      `json:"production"`
	Kind       string      `json:"kind"`
	Record     string      `json:"record"`
	Device     string      `json:"device"`
	Line       string      `json:"line"`
	N          uint64      `json:"n"`
	At         int64       `json:"at"`
	OffsetMs   int64       `json:"offsetMs"`
	By         string      `json:"by"`
	Act        string      `json:"act,omitempty"`
	Fields     []formField `json:"fields"`
	Bytes      string      `json:"bytes,omitempty"`
}

type formField struct {
	Name  string   `json:"name"`
	Value string   `json:"value"`
	Over  []string `json:"over,omitempty"`
}

// halves are of surrogate pairs: the page makes U+FFFD of each, and Go reads none.
var halves = strings.NewReplacer(`\ud800 half`, `\ufffd half`, `\udfff\ud800`, `\ufffd\ufffd`)

// bytes are those that Go makes of a form.
func (f *form) bytes() ([]byte, error) {
	e := &logbook.Edit{Kind: logbook.Kind(f.Kind), At: logbook.Millis(f.At), Offset: logbook.Millis(f.OffsetMs), By: f.By}
	var err error
	for to, text := range map[*logbook.ID]string{&e.Production: f.Production, &e.Record: f.Record, &e.Device: f.Device} {
		if *to, err = logbook.ParseID(text); err != nil {
			return nil, err
		}
	}
	if e.Dot, err = logbook.ParseDot(fmt.Sprintf("%s.%d", f.Line, f.N)); err != nil {
		return nil, err
	}
	if f.Act != "" {
		if e.Act, err = logbook.ParseDot(f.Act); err != nil {
			return nil, err
		}
	}
	for _, field := range f.Fields {
		value, err := logbook.ParseValue(halves.Replace(field.Value))
		if err != nil {
			return nil, fmt.Errorf("%s: %w", field.Value, err)
		}
		change := logbook.Change{Field: field.Name, Value: value}
		for _, text := range field.Over {
			d, err := logbook.ParseDot(text)
			if err != nil {
				return nil, err
			}
			change.Over = append(change.Over, d)
		}
		e.Set = append(e.Set, change)
	}
	return logbook.EncodeEdit(e)
}

// drawing draws forms by chance.
type drawing struct{ *rand.Rand }

func (d drawing) hex(bytes int) string {
	b := make([]byte, bytes)
	for i := range b {
		b[i] = byte(d.Uint32())
	}
	return hex.EncodeToString(b)
}

func (d drawing) id() string {
	h := d.hex(16)
	return strings.Join([]string{h[:8], h[8:12], "7" + h[13:16], "8" + h[17:20], h[20:]}, "-")
}

func (d drawing) dot() string { return fmt.Sprintf("%s.%d", d.hex(8), 1+d.Uint64()>>(12+d.IntN(50))) }

// text holds what is told apart by one of UTF-8 and UTF-16, what is escaped, and plain letters.
func (d drawing) text(most int) string {
	odd := []rune("aZ09 /\"\\\n\r\t\x00\x01\x1f\x7f<>&\u2028\u2029éßж漢\ue000\ufffd\uffff\U00010000\U0001f3ac\U0010ffff")
	var b strings.Builder
	for range d.IntN(most + 1) {
		b.WriteRune(odd[d.IntN(len(odd))])
	}
	return b.String()
}

func quoted(text string) string {
	b, err := json.Marshal(text)
	if err != nil {
		panic(err)
	}
	return string(b)
}

func (d drawing) number() string {
	text := fmt.Sprint(d.Uint64() >> d.IntN(64))
	if d.IntN(2) == 0 {
		text += fmt.Sprintf(".%0*d", 1+d.IntN(6), d.IntN(10))
	}
	if d.IntN(6) == 0 {
		text += []string{"e0", "E+3", "e-12", "E7"}[d.IntN(4)]
	}
	if d.IntN(3) == 0 {
		text = "-" + text
	}
	return text
}

// value is JSON with free space, unsorted members and escapes that the one spelling has not.
func (d drawing) value(deep int) string {
	switch n := d.IntN(8); {
	case n < 2:
		return d.number()
	case n < 4:
		return quoted(d.text(12))
	case n == 4:
		return []string{"true", "false", "null", `"\u0041\/\ud83c\udfac"`, `"\ud800 half"`, `"\udfff\ud800"`}[d.IntN(6)]
	case n == 5 || deep == 0:
		return quoted(d.id())
	case n == 6:
		var items []string
		for range d.IntN(4) {
			items = append(items, d.value(deep-1))
		}
		return "[ " + strings.Join(items, " ,\n") + "]"
	}
	members, taken := []string{}, map[string]bool{}
	for range d.IntN(6) {
		name := d.text(4)
		if taken[name] {
			continue
		}
		taken[name] = true
		members = append(members, quoted(name)+" : "+d.value(deep-1))
	}
	return "{" + strings.Join(members, ", ") + " }"
}

func (d drawing) form() form {
	kinds := []string{"take", "clip", "reading", "setUp"}
	f := form{Production: d.id(), Kind: kinds[d.IntN(len(kinds))], Record: d.id(), Device: d.id(), Line: d.hex(8),
		N:  1 + d.Uint64()>>(12+d.IntN(50)),
		At: d.Int64N(1 << 42), OffsetMs: d.Int64N(1<<33) - 1<<32,
		By: d.text(10)}
	switch d.IntN(4) {
	case 0:
		f.Act = fmt.Sprintf("%s.%d", f.Line, 1+d.IntN(1000))
	case 1:
		f.Act = d.dot()
	}
	taken := map[string]bool{}
	for range 1 + d.IntN(6) {
		field := formField{Name: "f" + strings.ReplaceAll(d.text(8), "\x00", ""), Value: d.value(3)}
		if taken[field.Name] {
			continue
		}
		taken[field.Name] = true
		for range d.IntN(4) {
			field.Over = append(field.Over, d.dot())
		}
		f.Fields = append(f.Fields, field)
	}
	return f
}

// The page makes of a form the bytes that Go makes of it: of the rows that are written down, and of
// forms that are drawn.
func TestThePageMakesTheBytesThatGoMakes(t *testing.T) {
	node := needed.Tool(t, "node")
	if _, err := os.Stat("app/node_modules/vite"); err != nil {
		needed.Missing(t, "the npm packages of server/phone/app")
	}
	text, err := os.ReadFile(filepath.Join("..", "..", "logbook", "handset", "testdata", "capture.json"))
	if err != nil {
		t.Fatal(err)
	}
	var all []form
	if err := json.Unmarshal(text, &all); err != nil {
		t.Fatal(err)
	}
	written := len(all)
	seed := *formSeed
	if seed == 0 {
		seed = rand.Uint64()
	}
	t.Logf("forms of -capture.seed %d", seed)
	d := drawing{rand.New(rand.NewPCG(seed, 1))}
	var in bytes.Buffer
	var want [][]byte
	for len(all) < written+*forms {
		all = append(all, d.form())
	}
	for i := range all {
		b, err := all[i].bytes()
		if err != nil {
			t.Fatalf("form %+v: %v", all[i], err)
		}
		line, err := json.Marshal(all[i])
		if err != nil {
			t.Fatal(err)
		}
		in.Write(append(line, '\n'))
		want = append(want, b)
	}
	run := exec.Command(node, "test/capture.mjs")
	run.Dir, run.Stdin, run.Stderr = "app", &in, os.Stderr
	out, err := run.Output()
	if err != nil {
		t.Fatal(err)
	}
	lines := bytes.Split(bytes.TrimSpace(out), []byte("\n"))
	if len(lines) != len(want) {
		t.Fatalf("%d answers for %d forms", len(lines), len(want))
	}
	for i, line := range lines {
		var got struct {
			Bytes string
			Head  struct {
				Production, Record, Device, Line, Kind string
				N                                      uint64
				At                                     int64
			}
		}
		if err := json.Unmarshal(line, &got); err != nil {
			t.Fatal(err)
		}
		f := all[i]
		if got.Bytes != hex.EncodeToString(want[i]) {
			t.Fatalf("form %+v:\n got %s\nwant %x", f, got.Bytes, want[i])
		}
		h := got.Head
		if h.Production != f.Production || h.Record != f.Record || h.Device != f.Device || h.Line != f.Line || h.Kind != f.Kind || h.N != f.N ||
			h.At != f.At+f.OffsetMs {
			t.Fatalf("form %+v: the store would file it under %+v", f, h)
		}
	}
}
