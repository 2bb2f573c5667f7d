package handset_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"testing"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/handset"
	"evenwhite/logbook/kinds"
	"evenwhite/server/demo"
)

// asked is when everything is asked: on the last day of the invented production.
var asked = logbook.MillisOf(time.Date(2026, 3, 7, 11, 40, 0, 0, time.UTC))

var phone, other = logbook.ID{5: 1, 6: 0x70, 8: 0x80, 15: 1}, logbook.ID{5: 1, 6: 0x70, 8: 0x80, 15: 2}

// demoLog is the invented production in a log of its own, with one of each that is to be
// settled.
func demoLog(t testing.TB, store logbook.Store) *logbook.Log {
	t.Helper()
	drawn := byte(0)
	l, err := logbook.OpenLog(store, demo.Production, kinds.Rules, func() (line logbook.Line) {
		drawn++
		line[0], line[7] = 0xde, drawn
		return line
	})
	if err != nil {
		t.Fatal(err)
	}
	if err := demo.Fill(l, asked); err != nil {
		t.Fatal(err)
	}
	if _, err := l.Push(unsettled(l), other, asked); err != nil {
		t.Fatal(err)
	}
	return l
}

// unsettled are edits of another phone that leave questions: a conflict, a twin, and one that
// is refused.
func unsettled(l *logbook.Log) (edits []*logbook.Edit) {
	l.Read(func(b *logbook.Book) {
		setUp, take := b.Records(kinds.SetUp)[0], b.Records(kinds.Take)[0]
		for _, d := range []logbook.Draft{
			{Kind: kinds.SetUp, Record: setUp.ID, Set: []logbook.Change{{Field: "name", Value: `"another name"`}}},
			{Kind: kinds.Take, Record: logbook.ID{5: 1, 6: 0x70, 8: 0x80, 15: 9}, Set: []logbook.Change{
				{Field: "setUp", Value: logbook.IDValue(take.Ref("setUp"))}, {Field: "number", Value: take.Value("number")}}},
			{Kind: kinds.Take, Record: take.ID, Set: []logbook.Change{{Field: "number", Value: `"twelve"`}}},
		} {
			edits = append(edits, &logbook.Edit{Production: demo.Production, Kind: d.Kind, Record: d.Record, Device: other,
				Dot: logbook.Dot{Line: logbook.Line{0x0d}, N: uint64(len(edits)) + 1}, At: asked - 60_000, By: "Dan", Set: d.Set})
		}
	})
	return edits
}

// stored are the edits of a production as a phone stores them: each in a frame.
func stored(t testing.TB, store logbook.Store, production logbook.ID) (page []byte) {
	t.Helper()
	all, err := store.Read(production, 0, 1<<30)
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range all {
		page = frame(page, s.Bytes)
	}
	return page
}

func frame(out, part []byte) []byte {
	size := uint64(len(part))
	for ; size >= 0x80; size >>= 7 {
		out = append(out, byte(size)|0x80)
	}
	return append(append(out, byte(size)), part...)
}

// unframed takes frames apart.
func unframed(t testing.TB, in []byte) (parts [][]byte) {
	t.Helper()
	for len(in) > 0 {
		size, at := 0, 0
		for shift := 0; ; shift += 7 {
			c := in[at]
			at++
			size |= int(c&0x7f) << shift
			if c < 0x80 {
				break
			}
		}
		parts, in = append(parts, in[at:at+size]), in[at+size:]
	}
	return parts
}

// A machine is an engine of a phone that must answer.
type machine struct {
	testing.TB
	handset.Engine
}

// heldBy is an engine that holds the edits of the invented production.
func heldBy(t testing.TB, store logbook.Store) *machine { return heldOf(t, store, demo.Production) }

func heldOf(t testing.TB, store logbook.Store, production logbook.ID) *machine {
	t.Helper()
	m := &machine{TB: t}
	m.ask("open", fmt.Sprintf(`{"production":"%s","device":"%s"}`, production, phone), nil)
	m.ask("hold", `{}`, stored(t, store, production))
	return m
}

func (m *machine) ask(name, text string, in []byte) handset.Answer {
	m.Helper()
	a, ok := m.Call(name, []byte(text), in)
	if !ok {
		m.Fatalf("%s %s: %s", name, text, a.JSON)
	}
	return a
}

// Call holds what is answered to what encoding/json makes of it.
func (m *machine) Call(name string, text, in []byte) (a handset.Answer, ok bool) {
	m.Helper()
	value, out, err := m.Value(name, text, in)
	if err != nil {
		value, out = handset.FaultOf(err), nil
	}
	want, failed := json.Marshal(value)
	if failed != nil {
		m.Fatal(failed)
	}
	if a.JSON, failed = handset.WrittenOut(value); failed != nil || !bytes.Equal(a.JSON, want) {
		m.Errorf("%s %s: wrote\n%s (%v), and encoding/json writes\n%s", name, text, a.JSON, failed, want)
	}
	a.Bytes = out
	return a, err == nil
}

func (m *machine) member(name, text string, in []byte, member string) logbook.Value {
	m.Helper()
	v, err := logbook.ParseValue(string(m.ask(name, text, in).JSON))
	if err != nil {
		m.Fatal(err)
	}
	return v.Member(member)
}

// writes is how a message says who writes what under the next dot.
func writes(n int, rest string) string {
	return fmt.Sprintf(`{"now":%d,"by":"Ada","line":"00c0ffee00c0ffee","n":%d,"chance":"000102030405060708090a0b0c0d0e%02x",%s}`, asked, n, n, rest)
}

// save stores what an answer holds, as a page does, and hands it in.
func (m *machine) save(a handset.Answer) handset.Answer {
	m.Helper()
	return m.ask("hold", `{"wrote":true,"show":true}`, a.Bytes)
}

// lastSetUp is the set-up that was made last.
func lastSetUp(l *logbook.Log) (setUp logbook.View) {
	l.Read(func(b *logbook.Book) {
		all := b.Records(kinds.SetUp)
		setUp = all[len(all)-1]
	})
	return setUp
}
