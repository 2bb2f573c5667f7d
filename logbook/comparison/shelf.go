package comparison

import (
	"bytes"
	"compress/flate"
	"encoding/gob"

	"evenwhite/logbook"
	"evenwhite/logbook/colorlog"
)

// rowKey is what a row is known by in both states.
type rowKey struct{ Clip, Take logbook.ID }

func keyOf(row *colorlog.Row) rowKey {
	k := rowKey{Clip: row.Find.ClipRecord}
	if row.Find.Take != nil {
		k.Take = row.Find.Take.Record
	}
	return k
}

// kept is a row on the shelf.
type kept struct {
	key    rowKey
	head   ClipChange
	cells  []string
	behind behind
}

// shelf keeps rows packed, some together: rows that follow one another are much alike.
type shelf struct {
	boxes  [][]byte
	at     map[rowKey]place
	order  []rowKey
	open   [][]string // the cells of the box that is being filled
	opened int        // the box whose cells are in shown; 0: none
	shown  [][]string
}

type place struct {
	box, at int
	head    ClipChange
	behind  behind
	taken   bool
}

// rowsABox is how many rows are packed together.
const rowsABox = 64

func (s *shelf) put(k kept) {
	if s.at == nil {
		s.at = map[rowKey]place{}
	}
	s.at[k.key] = place{box: len(s.boxes) + 1, at: len(s.open), head: k.head, behind: k.behind}
	s.order = append(s.order, k.key)
	if s.open = append(s.open, k.cells); len(s.open) == rowsABox {
		s.boxes, s.open = append(s.boxes, packed(s.open)), nil
	}
}

// close packs what is left.
func (s *shelf) close() {
	if len(s.open) > 0 {
		s.boxes, s.open = append(s.boxes, packed(s.open)), nil
	}
}

func packed(rows [][]string) []byte {
	var out bytes.Buffer
	deflate, _ := flate.NewWriter(&out, flate.BestSpeed) // the level is one of its own
	_ = gob.NewEncoder(deflate).Encode(rows)             // text, into memory
	_ = deflate.Close()
	return out.Bytes()
}

// take finds a row, and takes it off the shelf.
func (s *shelf) take(k rowKey) (kept, bool, error) {
	p, ok := s.at[k]
	if !ok {
		return kept{}, false, nil
	}
	if s.opened != p.box {
		s.shown = nil
		if err := gob.NewDecoder(flate.NewReader(bytes.NewReader(s.boxes[p.box-1]))).Decode(&s.shown); err != nil {
			return kept{}, false, err
		}
		s.opened = p.box
	}
	p.taken = true
	s.at[k] = p
	return kept{key: k, head: p.head, cells: s.shown[p.at], behind: p.behind}, true, nil
}

// left are the rows that nobody took, in their order, without their cells.
func (s *shelf) left() (all []kept) {
	for _, k := range s.order {
		if p := s.at[k]; !p.taken {
			all = append(all, kept{key: k, head: p.head, behind: p.behind})
		}
	}
	return all
}
