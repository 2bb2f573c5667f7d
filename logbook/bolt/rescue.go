package bolt

import (
	"io"
	"os"

	"evenwhite/logbook"
)

// Rescue hands take each edit that can still be read of a file, once, with its production, also
// of one that does not open: it reads page after page and follows none, so that what is damaged costs what stood
// there. An edit counts where its bytes give the hash beside them. Pages that are free are read
// as well: what was removed may be among them. What was kept aside is not.
func Rescue(path string, take func(logbook.ID, logbook.Entry) error) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	defer f.Close()
	p := &pages{file: f}
	if _, err := p.head(); err != nil {
		p.size = int64(os.Getpagesize()) // of the machine that wrote it, most likely
	}
	r := rescue{take, map[logbook.Hash]bool{}}
	for at := int64(0); ; at += p.size {
		page, err := p.readAt(at)
		if err == io.EOF {
			return nil
		}
		if err != nil {
			continue // a sector that cannot be read
		}
		if err := r.leaf(page, 0); err != nil {
			return err
		}
	}
}

// mostPages bounds what counts as one page: an edit has at most 64 KiB.
const mostPages = 256

// readAt reads the page that stands at a place, with those that belong to it; io.EOF behind the
// last.
func (p *pages) readAt(at int64) ([]byte, error) {
	head := make([]byte, pageHead)
	if n, err := p.file.ReadAt(head, at); n < pageHead {
		return nil, err
	}
	more := min(int64(order.Uint32(head[12:])), mostPages)
	page := make([]byte, (more+1)*p.size)
	n, err := p.file.ReadAt(page, at)
	if err == io.EOF {
		err = nil
	}
	return page[:n], err
}

type rescue struct {
	take func(logbook.ID, logbook.Entry) error
	met  map[logbook.Hash]bool
}

// leaf takes the edits of a page, if it is one that holds any.
func (r rescue) leaf(page []byte, depth int) error {
	if len(page) < pageHead || order.Uint16(page[8:]) != leafPage || depth > mostDepth {
		return nil
	}
	for i := range int(order.Uint16(page[10:])) {
		key, err := part(0, page, i, 4, 8)
		if err != nil {
			continue
		}
		value, err := part(0, page, i, 4, 8, 12)
		if err != nil {
			continue
		}
		if order.Uint32(page[pageHead+i*elementSize:])&bucketFlag != 0 {
			if len(value) > bucketHead { // one so small that it stands within the page
				err = r.leaf(value[bucketHead:], depth+1)
			}
		} else {
			err = r.row(key, value)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

func (r rescue) row(key, value []byte) error {
	if _, err := wholeRow(value); err != nil || len(key) != 8 {
		return nil
	}
	s, err := decodeStored(key, value)
	if err != nil || r.met[s.Hash] {
		return nil
	}
	r.met[s.Hash] = true
	return r.take(productionIn(s.Bytes), s.Entry)
}
