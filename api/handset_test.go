package api

import (
	"testing"

	"evenwhite/api/pairing"
	"evenwhite/logbook"
	"evenwhite/logbook/exchange"
	"evenwhite/logbook/kinds"
)

// A handset is a phone as the service sees it: it exchanges in rows, and keeps every
// edit through a start of its program.
type handset struct {
	*client
	at   *stage // the service that it reaches
	form *rowsForm
	r    *exchange.Replica
	met  logbook.Line
	kept []*logbook.Edit
}

func (g *stage) handset(label string) *handset {
	h := &handset{client: g.admit(pairing.Editor, label, g.production), at: g, form: &rowsForm{}}
	h.start(drawLine)
	return h
}

// start begins the program anew on what the phone keeps.
func (h *handset) start(draw func() logbook.Line) {
	h.r, h.met = exchange.NewReplica(h.at.production, h.device, kinds.Rules, draw), logbook.Line{}
	for _, e := range h.kept {
		h.r.Hold(e)
	}
}

// copied is another phone made from the storage of this one.
func (h *handset) copied() *handset {
	c := *h
	c.form, c.kept = &rowsForm{}, append([]*logbook.Edit(nil), h.kept...)
	c.start(drawLine)
	return &c
}

// writes makes the edit that sets one field of a record over what the phone shows.
func (h *handset) writes(kind logbook.Kind, name, field string, value logbook.Value) *logbook.Edit {
	h.Helper()
	id, err := logbook.ParseID(h.at.ids[name])
	if err != nil {
		h.Fatal(err)
	}
	d := logbook.Draft{Kind: kind, Record: id, Set: []logbook.Change{{Field: field, Value: value}}}
	if v, ok := h.r.Book().RecordOf(kind, id); ok {
		d.Set[0] = logbook.Replace(v, field, value)
	}
	e, err := h.r.Write(d, "2nd AC", 1_930_000_000_000, 0)
	if err != nil {
		h.Fatal(err)
	}
	h.kept = append(h.kept, e)
	return e
}

// meets exchanges until there is no more.
func (h *handset) meets() {
	h.Helper()
	for more := true; more; {
		text := h.form.request(h.T, h.r, h.met, nil)
		body := h.ask("POST", h.at.base+"/exchange", string(text), h.form.header()...).want(200).body
		a, err := h.form.answer(h.r, h.at.production, body)
		if err != nil {
			h.Fatal(err)
		}
		h.kept = append(h.kept, a.Edits...)
		h.met, more = h.r.Take(a)
	}
}

// sees is a field as the phone shows it.
func (h *handset) sees(kind logbook.Kind, name, field string) logbook.FieldState {
	h.Helper()
	id, err := logbook.ParseID(h.at.ids[name])
	if err != nil {
		h.Fatal(err)
	}
	v, _ := h.r.Book().RecordOf(kind, id)
	return v.Field(field)
}

// holdsOnce fails unless the service holds each of the edits, as they were written.
func (g *stage) holdsOnce(t *testing.T, edits ...*logbook.Edit) {
	t.Helper()
	for _, e := range edits {
		want, err := logbook.EncodeEdit(e)
		if err != nil {
			t.Fatal(err)
		}
		stored, err := g.store.Get(g.production, []logbook.Dot{e.Dot})
		if err != nil || len(stored) != 1 || string(stored[0].Bytes) != string(want) {
			t.Errorf("the service holds %v (%v) under %s, want what the phone wrote", stored, err, e.Dot)
		}
	}
}
