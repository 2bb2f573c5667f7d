package exchange

import "evenwhite/logbook"

// A device that takes parts compares what it holds with the service's list, part by part in
// the order of dots, and asks for what it lacks: after a restore neither says more than it has
// to, and no call has more than a bounded body, however many lines there are. The
// service remembers nothing of it.

const (
	// mostWanted is how many edits a device asks for at a time; mostLooked, how many
	// dots a service looks up in one call.
	mostWanted, mostLooked = 4096, 1 << 14
	// listBytes bounds the part of a list in one answer.
	listBytes = 512 << 10
)

// catchesUp reports whether the request asks for edits, or a later part of the list,
// instead of what is behind the cursor.
func (q *Request) catchesUp() bool { return q.ListBehind != (logbook.Dot{}) || len(q.Want) > 0 }

// list adds the list to an answer, or a part of it, where it is due or asked for.
func (p *Peer) list(req *Request, out *Answer) (err error) {
	due := out.Reset || req.Run != p.Run()
	switch {
	case due && !req.Parts:
		out.List, err = p.Ranges()
		return err
	case due:
		req.ListBehind, req.Want = logbook.Dot{}, nil // they were about a list that is void
	case req.ListBehind == (logbook.Dot{}):
		return nil
	}
	out.ListBehind = req.ListBehind
	out.List, out.ListTo, err = p.RangesBehind(req.ListBehind, min(listBytes, pullLimit(req.Limit)/2))
	return err
}

// A wantedEdit is one as it is stored, and decoded.
type wantedEdit struct {
	hash logbook.Hash
	edit *logbook.Edit
}

// wanted reads the edits that a request wants, in the order of dots, until its limit is
// reached. Those that are not held are passed over.
func (p *Peer) wanted(req *Request, out *Answer) (found []wantedEdit, err error) {
	limit, size, looked := pullLimit(req.Limit), 0, 0
	var dots []logbook.Dot
	read := func() error {
		held, err := p.Get(dots)
		for i := range held {
			if size >= limit || err != nil {
				break
			}
			e, err := logbook.DecodeEdit(held[i].Bytes)
			if err != nil { // of a newer version: told as damage
				continue
			}
			found, size = append(found, wantedEdit{held[i].Hash, e}), size+len(held[i].Bytes)
			out.Marks = append(out.Marks, p.markOf(e)...)
		}
		dots = dots[:0]
		return err
	}
	for _, line := range req.Want.Lines() {
		for _, s := range req.Want[line] {
			for n := s.From; n <= s.To && size < limit && looked < mostLooked; n++ {
				dots, looked = append(dots, logbook.Dot{Line: line, N: n}), looked+1
				if len(dots) == MaxPush {
					if err := read(); err != nil {
						return nil, err
					}
				}
			}
		}
	}
	return found, read()
}

// wantedRows writes edits with every record: the device may lack what they name.
func wantedRows(edits []wantedEdit) *Passage {
	w := newRowsWriter([]byte("[\"tables\"]\n"), nil)
	for _, e := range edits {
		w.edit(e.edit, e.hash)
	}
	w.check()
	return &Passage{Rows: w.out, Edits: w.edits}
}
