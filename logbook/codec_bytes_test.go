package logbook_test

import (
	"bytes"
	"encoding/binary"
	"maps"
	"strings"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/logtest"
)

// The parts of an edit's bytes, in their order. A test may spoil one and leave the others.
var formParts = []string{"form", "production", "record", "device", "line", "n", "kind", "at", "offset", "by", "act",
	"fields", "card", "lens", "extras", "gps", "iris", "end"}

func number(n uint64) []byte { return binary.AppendUvarint(nil, n) }
func signed(n int64) []byte  { return binary.AppendVarint(nil, n) }

// overlong writes a number in one byte more than it takes.
func overlong(b []byte) []byte {
	b = bytes.Clone(b)
	b[len(b)-1] |= 0x80
	return append(b, 0)
}

func sized(text string) []byte { return append(number(uint64(len(text))), text...) }

func member(name, value string) []byte { return append(sized(name), sized(value)...) }

func field(name, value string, over ...logbook.Dot) []byte {
	b := append(member(name, value), number(uint64(len(over)))...)
	for _, d := range over {
		b = append(append(b, d.Line[:]...), number(d.N)...)
	}
	return b
}

// formed writes the bytes of one edit part by part, some of them otherwise.
func formed(otherwise map[string][]byte) []byte {
	production, record, device, line := logtest.Production, logtest.ID(2), logtest.ID(3), logtest.Line(1)
	act := append(append([]byte{2}, line[:]...), 7)
	act[1]++
	parts := map[string][]byte{"form": {1}, "production": production[:], "record": record[:], "device": device[:], "line": line[:],
		"n": number(300), "kind": sized("clip"), "at": signed(1e12), "offset": signed(-70), "by": sized("DIT"), "act": act,
		"fields": number(2), "card": field("card", `"001"`), "lens": field("lens", "50.00", logtest.Dot(2, 1), logtest.Dot(2, 3)),
		"extras": number(2), "gps": member("gps", `{"lat":52.5,"long":13}`), "iris": member("iris", "[1]"), "end": nil}
	maps.Copy(parts, otherwise)
	var b []byte
	for _, part := range formParts {
		b = append(b, parts[part]...)
	}
	return b
}

// Two byte forms of one edit would be two edits: one would be a clash of the other on each
// device that holds it.
func TestAnEditHasOneByteForm(t *testing.T) {
	whole := formed(nil)
	e, err := logbook.DecodeEdit(whole)
	if err != nil {
		t.Fatal(err)
	}
	if again, err := logbook.EncodeEdit(e); err != nil || !bytes.Equal(again, whole) {
		t.Fatalf("it reads as %x (%v), want %x", again, err, whole)
	}
	for n := range whole {
		if _, err := logbook.DecodeEdit(whole[:n]); err == nil {
			t.Errorf("its first %d of %d bytes are taken for an edit", n, len(whole))
		}
	}
	var nobody logbook.ID
	line := logtest.Line(1)
	one, three := logtest.Dot(2, 1), logtest.Dot(2, 3)
	lens := field("lens", "50.00", one, three)
	spaced := append(sized("lens"), sized("50.00")...)
	for _, c := range []struct{ name, part, is, want string }{
		{"a byte behind the end", "end", "\x00", "do not end"},
		{"a form to come", "form", "\x02", "its form is 2"},
		{"no production", "production", string(nobody[:]), "production"},
		{"no record", "record", string(nobody[:]), "record"},
		{"no device", "device", string(nobody[:]), "device"},
		{"n is 0", "n", string(number(0)), "n is 0"},
		{"n beyond what a device may count to", "n", string(number(1<<62 + 1)), "n is 4611686018427387905"},
		{"n in more bytes than it takes", "n", string(overlong(number(300))), "shortest"},
		{"n over 64 bits", "n", strings.Repeat("\xff", 9) + "\x02", "shortest"},
		{"n without end", "n", strings.Repeat("\xff", 12) + "\x01", "shortest"},
		{"a length in more bytes than it takes", "kind", string(overlong(number(4))) + "clip", "shortest"},
		{"a length beyond the end", "kind", string(number(1<<40)) + "clip", "too early"},
		{"no kind", "kind", string(sized("")), "kind"},
		{"a kind of 201 bytes", "kind", string(sized(strings.Repeat("k", 201))), "kind"},
		{"a kind that is no UTF-8", "kind", string(sized("cl\xffp")), "kind"},
		{"a time in more bytes than it takes", "at", string(overlong(signed(1e12))), "shortest"},
		{"a time before 1970", "at", string(signed(-1)), "1970 to 9999"},
		{"a time after 9999", "at", string(signed(int64(logbook.YearTenThousand))), "1970 to 9999"},
		{"an offset past all years", "offset", string(signed(int64(logbook.YearTenThousand))), "1970 to 9999"},
		{"an offset before all years", "offset", string(signed(-int64(logbook.YearTenThousand))), "1970 to 9999"},
		{"a person of 201 bytes", "by", string(sized(strings.Repeat("p", 201))), "by must"},
		{"a person who is no UTF-8", "by", string(sized("\xff")), "by must"},
		{"an act of the own line that names the line", "act", "\x02" + string(line[:]) + "\x07", "too early"},
		{"an act with n 0", "act", "\x01\x00", "too early"},
		{"an act in a form to come", "act", "\x03\x07", "too early"},
		{"more fields than there are bytes", "fields", string(number(1 << 50)), "too early"},
		{"fields in falling order", "card", string(field("z", `"001"`)), "not in rising order"},
		{"a field twice", "card", string(lens), "not in rising order"},
		{"a field without a name", "card", string(field("", "1")), "name"},
		{"a field of 201 bytes", "card", string(field(strings.Repeat("c", 201), "1")), "name"},
		{"a name of a field that is no UTF-8", "lens", string(field("\xff", "1")), "name"},
		{"a value that is no JSON", "lens", string(field("lens", "50,00")), `field "lens"`},
		{"no value", "lens", string(field("lens", "")), `field "lens"`},
		{"a value with a space", "lens", string(field("lens", " 50")), "canonical"},
		{"a value with members in falling order", "lens", string(field("lens", `{"y":1,"x":2}`)), "canonical"},
		{"a value with an escape that it does not need", "lens", string(field("lens", `"\u0041"`)), "canonical"},
		{"a value too deep to be sent", "lens", string(field("lens", strings.Repeat("[", 30)+strings.Repeat("]", 30))), "deeper"},
		{"names in over in falling order", "lens", string(field("lens", "1", three, one)), "over are not in rising order"},
		{"a name in over twice", "lens", string(field("lens", "1", one, one)), "over are not in rising order"},
		{"a name in over with n 0", "lens", string(field("lens", "1", logtest.Dot(2, 0))), "n 0"},
		{"more names in over than there are bytes", "lens", string(append(spaced, number(1<<50)...)), "too early"},
		{"members in falling order", "gps", string(member("z", "1")), "not in rising order"},
		{"a member twice", "gps", string(member("iris", "1")), "not in rising order"},
		{"a member without a name", "gps", string(member("", "1")), "name"},
		{"a member of this version among the others", "gps", string(member("by", `"gaffer"`)), "this version's"},
		{"a member with a value that is not canonical", "gps", string(member("gps", `{ }`)), "canonical"},
		{"more bytes than an edit may have", "lens", string(field("lens", `"`+strings.Repeat("x", logbook.MaxEdit)+`"`)), "allowed are 65536"},
	} {
		t.Run(c.name, func(t *testing.T) {
			if e, err := logbook.DecodeEdit(formed(map[string][]byte{c.part: []byte(c.is)})); err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("got %+v and %v, want an error with %q", e, err, c.want)
			}
		})
	}
	t.Run("no field", func(t *testing.T) {
		b := formed(map[string][]byte{"fields": number(0), "card": nil, "lens": nil})
		if _, err := logbook.DecodeEdit(b); err == nil || !strings.Contains(err.Error(), "sets no field") {
			t.Errorf("got %v, want an error", err)
		}
	})
}

// What is read alone out of an edit's bytes is what the whole edit says.
func TestPartsOfAnEditAreReadAlone(t *testing.T) {
	whole := formed(nil)
	e, err := logbook.DecodeEdit(whole)
	if err != nil {
		t.Fatal(err)
	}
	if d, err := logbook.DotOf(whole); err != nil || d != e.Dot {
		t.Errorf("the dot is %s (%v), want %s", d, err, e.Dot)
	}
	if ref, err := logbook.RecordIn(whole); err != nil || ref != (logbook.RecordRef{Kind: e.Kind, Record: e.Record}) {
		t.Errorf("the record is %v (%v), want %s %s", ref, err, e.Kind, e.Record)
	}
	dot := map[string][]byte{"n": number(0)}
	if d, err := logbook.DotOf(formed(dot)); err == nil {
		t.Errorf("with n 0 the dot is %s, want an error", d)
	}
	for n := range 1 + 3*16 + 8 + 2 {
		if d, err := logbook.DotOf(whole[:n]); err == nil {
			t.Errorf("of %d bytes the dot is %s, want an error", n, d)
		}
	}
}
