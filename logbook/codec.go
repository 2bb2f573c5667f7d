package logbook

import (
	"encoding/binary"
	"errors"
	"fmt"
	"sort"
	"unicode/utf8"
)

// The one byte form of an edit, which is stored, hashed and handed on, stands in
// exchange/rows.md with the hash and the chain: clients read it there too. Fields, names
// and members stand in rising order and none twice; values are canonical JSON (value.go);
// varints are the shortest. So equal edits have equal bytes.

const (
	editForm = 1
	// MaxEdit is the greatest size of an edit's canonical bytes.
	MaxEdit = 64 << 10
	// ValueDepth is what a value stands within when its edit is sent for people:
	// the body, its list of edits, the edit and its set. What is too deep to be
	// sent there is too deep to be stored.
	ValueDepth = 4
	// maxName bounds the name of a kind, field or member and a person's name.
	maxName = 200
	// YearTenThousand bounds times: RFC 3339 writes four digits of a year.
	YearTenThousand Millis = 253402300800000
)

// ErrForm is wrapped by every error about bytes that are no edit.
var ErrForm = errors.New("not an edit")

func formError(format string, args ...any) error {
	return fmt.Errorf("%w: %s", ErrForm, fmt.Sprintf(format, args...))
}

// HashOf is the hash of an edit's canonical bytes.
func HashOf(bytes []byte) Hash {
	sum := Sum(bytes)
	return Hash(sum[:16])
}

// Next extends a chain by the hash of one more edit.
func (c Chain) Next(h Hash) Chain {
	var b [24]byte
	copy(b[:8], c[:])
	copy(b[8:], h[:])
	sum := Sum(b[:])
	return Chain(sum[:8])
}

// EncodeEdit returns the canonical bytes of an edit, bringing its changes and
// names into order. It refuses what DecodeEdit would refuse.
func EncodeEdit(e *Edit) ([]byte, error) {
	if err := e.arrange(); err != nil {
		return nil, err
	}
	b := make([]byte, 0, 160+64*len(e.Set))
	b = append(b, editForm)
	b = append(b, e.Production[:]...)
	b = append(b, e.Record[:]...)
	b = append(b, e.Device[:]...)
	b = e.appendSaid(append(b, e.Dot.Line[:]...))
	if len(b) > MaxEdit {
		return nil, formError("it has %d bytes; allowed are %d", len(b), MaxEdit)
	}
	return b, nil
}

// appendSaid appends the byte form from n on.
func (e *Edit) appendSaid(b []byte) []byte {
	b = binary.AppendUvarint(b, e.Dot.N)
	b = appendString(b, string(e.Kind))
	b = binary.AppendVarint(b, int64(e.At))
	b = binary.AppendVarint(b, int64(e.Offset))
	b = appendString(b, e.By)
	switch {
	case e.Act.IsZero():
		b = append(b, 0)
	case e.Act.Line == e.Dot.Line:
		b = binary.AppendUvarint(append(b, 1), e.Act.N)
	default:
		b = append(append(b, 2), e.Act.Line[:]...)
		b = binary.AppendUvarint(b, e.Act.N)
	}
	b = binary.AppendUvarint(b, uint64(len(e.Set)))
	for i := range e.Set {
		c := &e.Set[i]
		b = appendString(appendString(b, c.Field), string(c.Value))
		b = binary.AppendUvarint(b, uint64(len(c.Over)))
		for _, d := range c.Over {
			b = binary.AppendUvarint(append(b, d.Line[:]...), d.N)
		}
	}
	b = binary.AppendUvarint(b, uint64(len(e.Extra)))
	for _, m := range e.Extra {
		b = appendString(appendString(b, m.Name), string(m.Value))
	}
	return b
}

func appendString(b []byte, s string) []byte {
	return append(binary.AppendUvarint(b, uint64(len(s))), s...)
}

// arrange sorts what has an order and checks what the byte form demands.
func (e *Edit) arrange() error {
	if e.Production.IsZero() || e.Record.IsZero() || e.Device.IsZero() {
		return formError("production, record and device must each be a UUID other than nil")
	}
	if e.Dot.N == 0 || e.Dot.N > 1<<62 {
		return formError("n is %d; allowed is a whole number from 1", e.Dot.N)
	}
	if err := checkName("kind", string(e.Kind)); err != nil {
		return err
	}
	if len(e.By) > maxName || !utf8.ValidString(e.By) {
		return formError("by must be UTF-8 text of at most %d bytes", maxName)
	}
	if e.At < 0 || e.At >= YearTenThousand || e.Offset <= -YearTenThousand || e.Offset >= YearTenThousand {
		return formError("its time is %d ms with an offset of %d ms; allowed are the years 1970 to 9999", e.At, e.Offset)
	}
	if len(e.Set) == 0 {
		return formError("it sets no field")
	}
	if !sort.SliceIsSorted(e.Set, func(i, j int) bool { return e.Set[i].Field < e.Set[j].Field }) {
		sort.Slice(e.Set, func(i, j int) bool { return e.Set[i].Field < e.Set[j].Field })
	}
	for i := range e.Set {
		c := &e.Set[i]
		if i > 0 && e.Set[i-1].Field == c.Field {
			return formError("the field %q stands twice", Shorten(c.Field))
		}
		if err := c.arrange(); err != nil {
			return err
		}
	}
	sort.Slice(e.Extra, func(i, j int) bool { return e.Extra[i].Name < e.Extra[j].Name })
	for i, m := range e.Extra {
		if i > 0 && e.Extra[i-1].Name == m.Name {
			return formError("the member %q stands twice", Shorten(m.Name))
		}
		if knownMembers[m.Name] {
			return formError("the member %q is one of this version's and stands among the others", m.Name)
		}
		if err := checkMember(m.Name, m.Value); err != nil {
			return err
		}
	}
	return nil
}

func (c *Change) arrange() error {
	if err := checkMember(c.Field, c.Value); err != nil {
		return err
	}
	less := func(i, j int) bool { return c.Over[i].Less(c.Over[j]) }
	if !sort.SliceIsSorted(c.Over, less) {
		sort.Slice(c.Over, less)
	}
	for i, d := range c.Over {
		if d.IsZero() {
			return formError("field %q: a dot in over has n 0", Shorten(c.Field))
		}
		if i > 0 && c.Over[i-1] == d {
			return formError("field %q: over names %s twice", Shorten(c.Field), d)
		}
	}
	return nil
}

func checkName(what, name string) error {
	if name == "" || len(name) > maxName || !utf8.ValidString(name) {
		return formError("%s %q must be UTF-8 text of 1 to %d bytes", what, Shorten(name), maxName)
	}
	return nil
}

func checkMember(name string, v Value) error {
	if err := checkName("name", name); err != nil {
		return err
	}
	if _, ok := plainScalar(string(v)); ok {
		return nil
	}
	if s := (Scanner{In: string(v)}); s.plainForm(ValueDepth) && s.At == len(v) {
		return nil
	}
	canonical, err := parseValueAt(string(v), ValueDepth)
	if err != nil {
		return formError("field %q: %v", Shorten(name), err)
	}
	if canonical != v {
		return formError("field %q: its value is not in canonical form", Shorten(name))
	}
	return nil
}

// DecodeEdit reads canonical bytes. It refuses bytes that are not the canonical
// form of an edit, so that decoding and encoding again gives the same bytes.
func DecodeEdit(b []byte) (*Edit, error) {
	// The texts of an edit stay parts of one string, which does not hold the ids.
	e := &Edit{}
	if err := e.decode(b, string(b[min(saidAt, len(b)):])); err != nil {
		return nil, err
	}
	return e, e.arrange()
}

// saidAt is where the byte form goes on behind the ids.
const saidAt = 1 + 3*16 + 8

// decode reads canonical bytes, of which said is what stands behind the ids, into an edit
// whose changes it writes over.
func (e *Edit) decode(b []byte, said string) error {
	if len(b) > MaxEdit {
		return formError("it has %d bytes; allowed are %d", len(b), MaxEdit)
	}
	if len(b) > 0 && b[0] != editForm {
		return formError("its form is %d; this version knows %d", b[0], editForm)
	}
	*e = Edit{Set: e.Set[:0]}
	head := 1
	for _, to := range [...][]byte{e.Production[:], e.Record[:], e.Device[:], e.Dot.Line[:]} {
		head += copy(to, b[min(head, len(b)):])
	}
	r := reader{in: said, bad: head != saidAt}
	r.head(e)
	r.rest(e)
	if r.bad || r.at != len(r.in) {
		return formError("its bytes end too early or do not end, or a number is not in its shortest form")
	}
	return e.inOrder()
}

// head reads what stands before the changes.
func (r *reader) head(e *Edit) {
	e.Dot.N = r.uvarint()
	e.Kind = Kind(r.string())
	e.At = Millis(r.varint())
	e.Offset = Millis(r.varint())
	e.By = r.string()
	r.act(e)
}

// rest reads the changes and what stands behind them.
func (r *reader) rest(e *Edit) {
	changes := r.count(3)
	if cap(e.Set) < changes {
		e.Set = make([]Change, 0, changes)
	}
	for ; changes > 0 && !r.bad; changes-- {
		e.Set = append(e.Set, r.change())
	}
	if extra := r.count(2); extra > 0 {
		e.Extra = make([]Member, 0, extra)
		for ; extra > 0 && !r.bad; extra-- {
			e.Extra = append(e.Extra, Member{r.string(), Value(r.string())})
		}
	}
}

// DotOf reads the dot alone out of an edit's canonical bytes.
func DotOf(b []byte) (Dot, error) {
	const at = 1 + 3*16
	if len(b) < at+9 {
		return Dot{}, formError("its bytes end too early")
	}
	r := reader{in: string(b[at:min(len(b), at+8+10)])}
	var d Dot
	r.copy(d.Line[:])
	if d.N = r.uvarint(); r.bad || d.N == 0 {
		return Dot{}, formError("its bytes hold no dot")
	}
	return d, nil
}

// inOrder refuses bytes whose parts stand in another than the canonical order,
// which arrange would silently mend.
func (e *Edit) inOrder() error {
	for i := range e.Set {
		if i > 0 && e.Set[i-1].Field >= e.Set[i].Field {
			return formError("its fields are not in rising order")
		}
		for j, over := 1, e.Set[i].Over; j < len(over); j++ {
			if !over[j-1].Less(over[j]) {
				return formError("field %q: the names in over are not in rising order", Shorten(e.Set[i].Field))
			}
		}
	}
	for i := 1; i < len(e.Extra); i++ {
		if e.Extra[i-1].Name >= e.Extra[i].Name {
			return formError("its members are not in rising order")
		}
	}
	return nil
}

// reader reads the parts of the byte form; the first fault sets bad.
type reader struct {
	in  string
	at  int
	bad bool
}

func (r *reader) byte() byte {
	if r.at >= len(r.in) {
		r.bad = true
		return 0
	}
	r.at++
	return r.in[r.at-1]
}

func (r *reader) copy(to []byte) {
	if len(r.in)-r.at < len(to) {
		r.bad = true
		return
	}
	r.at += copy(to, r.in[r.at:r.at+len(to)])
}

func (r *reader) uvarint() uint64 {
	var n uint64
	for shift := uint(0); shift < 64; shift += 7 {
		c := r.byte()
		if shift == 63 && c > 1 || shift > 0 && c == 0 {
			break
		}
		n |= uint64(c&0x7f) << shift
		if c < 0x80 {
			return n
		}
	}
	r.bad = true
	return 0
}

func (r *reader) varint() int64 {
	n := r.uvarint()
	return int64(n>>1) ^ -int64(n&1)
}

func (r *reader) string() string {
	n := r.uvarint()
	if r.bad || n > uint64(len(r.in)-r.at) {
		r.bad = true
		return ""
	}
	r.at += int(n)
	return r.in[r.at-int(n) : r.at]
}

// count reads how many parts follow, each of at least so many bytes.
func (r *reader) count(least int) int {
	n := r.uvarint()
	if r.bad || n > uint64((len(r.in)-r.at)/least) {
		r.bad = true
		return 0
	}
	return int(n)
}

func (r *reader) act(e *Edit) {
	switch form := r.byte(); form {
	case 0:
		return
	case 1:
		e.Act.Line = e.Dot.Line
	case 2:
		r.copy(e.Act.Line[:])
		if e.Act.Line == e.Dot.Line {
			r.bad = true
		}
	default:
		r.bad = true
	}
	if e.Act.N = r.uvarint(); e.Act.N == 0 {
		r.bad = true
	}
}

func (r *reader) change() Change {
	c := Change{Field: r.string(), Value: Value(r.string())}
	if n := r.count(9); n > 0 {
		c.Over = make([]Dot, n)
		for i := range c.Over {
			r.copy(c.Over[i].Line[:])
			c.Over[i].N = r.uvarint()
		}
	}
	return c
}

// RecordIn reads kind and record alone out of an edit's canonical bytes.
func RecordIn(b []byte) (RecordRef, error) {
	const at = 1 + 3*16 + 8
	if len(b) < at {
		return RecordRef{}, formError("its bytes end too early")
	}
	r := reader{in: string(b[at:min(len(b), at+10+2+maxName)])}
	r.uvarint()
	ref := RecordRef{Kind(r.string()), ID(b[17:33])}
	if r.bad {
		return RecordRef{}, formError("its bytes end too early")
	}
	return ref, nil
}
