package logbook

import (
	"fmt"
	"sort"
	"strings"
	"sync"
)

// Memory is the reference store: it keeps its promises in the plainest way and
// forgets everything with the process.
type Memory struct {
	mu     sync.Mutex
	logs   map[ID]*memoryLog
	kept   map[string][]byte
	closed bool
}

type memoryLog struct {
	identity Line
	edits    []Stored
	at       map[Dot]int
	held     Held
	clashes  []Entry
	crowd    Crowd
	asides   map[AsideKey]Aside
}

// NewMemory makes an empty store.
func NewMemory() *Memory {
	return &Memory{logs: map[ID]*memoryLog{}, kept: map[string][]byte{}}
}

// open locks the store and finds a log; the caller unlocks.
func (m *Memory) open(production ID) (*memoryLog, error) {
	m.mu.Lock()
	if m.closed {
		return nil, ErrClosed
	}
	l, ok := m.logs[production]
	if !ok {
		return nil, ErrNoProduction
	}
	return l, nil
}

// Productions implements Store.
func (m *Memory) Productions() ([]ID, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.closed {
		return nil, ErrClosed
	}
	ids := make([]ID, 0, len(m.logs))
	for id := range m.logs {
		ids = append(ids, id)
	}
	sort.Slice(ids, func(i, j int) bool { return ids[i].Less(ids[j]) })
	return ids, nil
}

// Begin implements Store.
func (m *Memory) Begin(production ID, identity Line) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.closed {
		return ErrClosed
	}
	if _, removed := m.kept[RemovedName(production)]; removed {
		return ErrRemoved
	}
	if _, ok := m.logs[production]; !ok {
		m.logs[production] = &memoryLog{identity: identity, at: map[Dot]int{}, crowd: Crowd{}, asides: map[AsideKey]Aside{}}
	}
	return nil
}

// Verify returns an error that wraps ErrForm unless the entry's dot and hash are
// those of its bytes: a store that took such an entry could never read it again. One
// that wraps ErrRequest says that nothing is kept under the name of a note.
func (e *Entry) Verify() error {
	dot, err := DotOf(e.Bytes)
	if err != nil {
		return err
	}
	if dot != e.Dot {
		return formError("the dot is %s; that of the bytes is %s", e.Dot, dot)
	}
	if HashOf(e.Bytes) != e.Hash {
		return formError("the hash of %s is not that of its bytes", e.Dot)
	}
	for _, n := range e.Notes {
		if err := CheckKeptName(n.Name); err != nil {
			return err
		}
	}
	return nil
}

// Append implements Store.
func (m *Memory) Append(production ID, entries []Entry) ([]Receipt, error) {
	l, err := m.open(production)
	defer m.mu.Unlock()
	if err != nil {
		return nil, err
	}
	for i := range entries {
		if err := entries[i].Verify(); err != nil {
			return nil, err
		}
	}
	receipts := make([]Receipt, len(entries))
	for i, e := range entries {
		notes := e.Notes
		e = e.clone()
		if at, ok := l.at[e.Dot]; ok {
			receipts[i] = Receipt{Repeat, l.edits[at].Seq}
			if l.edits[at].Hash != e.Hash {
				receipts[i].Outcome = l.keepAside(e)
			}
			continue
		}
		head := l.head()
		s := Stored{Entry: e, Seq: head.Seq + 1, Chain: head.Chain.Next(e.Hash)}
		l.at[e.Dot] = len(l.edits)
		l.edits = append(l.edits, s)
		l.held.Add(e.Dot)
		receipts[i] = Receipt{Taken, s.Seq}
		for _, n := range notes {
			m.keep(n.Name, n.Value)
		}
	}
	return receipts, nil
}

// keepAside keeps a clash; the same bytes again are the same clash.
func (l *memoryLog) keepAside(e Entry) Outcome {
	for _, c := range l.clashes {
		if c.Dot == e.Dot && c.Hash == e.Hash {
			return Clash
		}
	}
	if !l.crowd.Room(e, nil) {
		return CrowdedOut
	}
	l.crowd.Add(e)
	l.clashes = append(l.clashes, e)
	return Clash
}

// clone is a copy without the notes, which are no part of what is stored of it.
func (e Entry) clone() Entry {
	e.Bytes, e.Notes = append([]byte(nil), e.Bytes...), nil
	return e
}

func (l *memoryLog) head() Head {
	h := Head{Identity: l.identity}
	if n := len(l.edits); n > 0 {
		h.Seq, h.Chain = l.edits[n-1].Seq, l.edits[n-1].Chain
	}
	return h
}

// Read implements Store.
func (m *Memory) Read(production ID, after Seq, atMost int) ([]Stored, error) {
	l, err := m.open(production)
	defer m.mu.Unlock()
	if err != nil {
		return nil, err
	}
	var out []Stored
	for size := 0; after < Seq(len(l.edits)) && (len(out) == 0 || size < atMost); after++ {
		s := l.edits[after]
		s.Entry = s.Entry.clone()
		out = append(out, s)
		size += len(s.Bytes)
	}
	return out, nil
}

// Get implements Store.
func (m *Memory) Get(production ID, dots []Dot) ([]Stored, error) {
	l, err := m.open(production)
	defer m.mu.Unlock()
	if err != nil {
		return nil, err
	}
	var out []Stored
	for _, d := range dots {
		if at, ok := l.at[d]; ok {
			s := l.edits[at]
			s.Entry = s.Entry.clone()
			out = append(out, s)
		}
	}
	return out, nil
}

// Head implements Store.
func (m *Memory) Head(production ID) (Head, error) {
	l, err := m.open(production)
	defer m.mu.Unlock()
	if err != nil {
		return Head{}, err
	}
	return l.head(), nil
}

// ChainAt implements Store.
func (m *Memory) ChainAt(production ID, seq Seq) (Chain, bool, error) {
	l, err := m.open(production)
	defer m.mu.Unlock()
	switch {
	case err != nil:
		return Chain{}, false, err
	case seq == 0:
		return Chain{}, true, nil
	case seq > Seq(len(l.edits)):
		return Chain{}, false, nil
	}
	return l.edits[seq-1].Chain, true, nil
}

// Ranges implements Store.
func (m *Memory) Ranges(production ID) (Ranges, error) {
	l, err := m.open(production)
	defer m.mu.Unlock()
	if err != nil {
		return nil, err
	}
	return l.held.Ranges(), nil
}

// RangesBehind implements Store.
func (m *Memory) RangesBehind(production ID, behind Dot, atMost int) (Ranges, Dot, error) {
	l, err := m.open(production)
	defer m.mu.Unlock()
	if err != nil {
		return nil, Dot{}, err
	}
	told, to := l.held.Part(behind, atMost)
	return told, to, nil
}

// Damaged implements Store: memory keeps what it is given.
func (m *Memory) Damaged(production ID) ([]Damage, error) {
	_, err := m.open(production)
	m.mu.Unlock()
	return nil, err
}

// Clashes implements Store.
func (m *Memory) Clashes(production ID) ([]Entry, error) {
	l, err := m.open(production)
	defer m.mu.Unlock()
	if err != nil {
		return nil, err
	}
	out := make([]Entry, len(l.clashes))
	for i, e := range l.clashes {
		out[i] = e.clone()
	}
	return out, nil
}

// SetAside implements Store.
func (m *Memory) SetAside(production ID, rows []Aside) error {
	l, err := m.open(production)
	defer m.mu.Unlock()
	if err != nil {
		return err
	}
	for i := range rows {
		if err := rows[i].Verify(); err != nil {
			return err
		}
	}
	for _, row := range rows {
		if known, ok := l.asides[row.Key()]; ok {
			row.Entry = known.Entry
		}
		row.Entry = row.clone()
		l.asides[row.Key()] = row
	}
	return nil
}

// DropAside implements Store.
func (m *Memory) DropAside(production ID, keys []AsideKey) error {
	l, err := m.open(production)
	defer m.mu.Unlock()
	if err != nil {
		return err
	}
	for _, k := range keys {
		delete(l.asides, k)
	}
	return nil
}

// Asides implements Store.
func (m *Memory) Asides(production ID) ([]Aside, error) {
	l, err := m.open(production)
	defer m.mu.Unlock()
	if err != nil {
		return nil, err
	}
	var out []Aside
	for _, row := range l.asides {
		row.Entry = row.clone()
		out = append(out, row)
	}
	sort.Slice(out, func(i, j int) bool { return out[i].Key().Less(out[j].Key()) })
	return out, nil
}

// Remove implements Store.
func (m *Memory) Remove(production ID, at Head, mark []byte) error {
	l, err := m.open(production)
	defer m.mu.Unlock()
	switch {
	case err != nil:
		return err
	case l.head() != at:
		return ErrWentOn
	}
	delete(m.logs, production)
	m.keep(RemovedName(production), mark)
	return nil
}

// maxKeptName is what the stores at hand can all keep under.
const maxKeptName = 1000

// CheckKeptName returns an error that wraps ErrRequest unless a small value can be
// kept under the name: 1 to 1000 bytes.
func CheckKeptName(name string) error {
	if name == "" || len(name) > maxKeptName {
		return fmt.Errorf("%w: the name %q has %d bytes; allowed are 1 to %d", ErrRequest, Shorten(name), len(name), maxKeptName)
	}
	return nil
}

// Keep implements Store.
func (m *Memory) Keep(name string, value []byte) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.closed {
		return ErrClosed
	}
	if err := CheckKeptName(name); err != nil {
		return err
	}
	m.keep(name, value)
	return nil
}

func (m *Memory) keep(name string, value []byte) {
	if value == nil {
		delete(m.kept, name)
		return
	}
	m.kept[name] = append([]byte{}, value...)
}

// Kept implements Store.
func (m *Memory) Kept(name string) ([]byte, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.closed {
		return nil, ErrClosed
	}
	if value, ok := m.kept[name]; ok {
		return append([]byte{}, value...), nil
	}
	return nil, nil
}

// KeptUnder implements Store.
func (m *Memory) KeptUnder(prefix string) ([]KeptValue, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.closed {
		return nil, ErrClosed
	}
	var out []KeptValue
	for name, value := range m.kept {
		if strings.HasPrefix(name, prefix) {
			out = append(out, KeptValue{name, append([]byte{}, value...)})
		}
	}
	sort.Slice(out, func(i, j int) bool { return out[i].Name < out[j].Name })
	return out, nil
}

// Close implements Store.
func (m *Memory) Close() error {
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.closed {
		return ErrClosed
	}
	m.closed = true
	return nil
}
