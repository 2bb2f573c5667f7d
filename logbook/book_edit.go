package logbook

// A book finds edits by their dots only where somebody asked for it: whoever has a store
// reads them there.

// blockOf is how many edits of one line stand in one block.
const blockOf = 16

type block struct {
	line Line
	at   uint64 // n / blockOf
}

// Index lets Edit find edits. It is called while the book is empty.
func (b *Book) Index() { b.byDot = map[block]*[blockOf]*written{} }

func (b *Book) indexDot(w *written) {
	if b.byDot == nil {
		return
	}
	key := block{w.from.line, w.n / blockOf}
	in := b.byDot[key]
	if in == nil {
		in = new([blockOf]*written)
		b.byDot[key] = in
	}
	in[w.n%blockOf] = w
}

// Edit reads the edit under a dot anew, valid or not; nil where it is not here. The book must
// have an index.
func (b *Book) Edit(d Dot) *Edit {
	b.noteAll()
	if w := b.writtenAt(d); w != nil {
		return w.edit()
	}
	if r, refused := b.refused[d]; refused {
		return r.Edit
	}
	return nil
}

// RecordAt tells which record the edit under a dot is about.
func (b *Book) RecordAt(d Dot) (RecordRef, bool) {
	b.noteAll()
	if w := b.writtenAt(d); w != nil {
		return RecordRef{w.record.kind, w.record.id}, true
	}
	if r, refused := b.refused[d]; refused {
		return RecordRef{r.Edit.Kind, r.Edit.Record}, true
	}
	return RecordRef{}, false
}

func (b *Book) writtenAt(d Dot) *written {
	if in := b.byDot[block{d.Line, d.N / blockOf}]; in != nil {
		return in[d.N%blockOf]
	}
	return nil
}
