package bolt

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"hash/fnv"
	"os"

	"evenwhite/logbook"
)

// bbolt maps its file into memory and trusts it: a page that is missing or
// changed is a memory fault or a panic in a goroutine of bbolt's own, and ends
// the process. So a file's pages are read here first, by ordinary reads, and
// held to everything that bbolt's walk over them takes for granted.
//
// The form (numbers in the machine's own byte order): pages of equal size. Each
// begins with id (8), flags (2), count (2), overflow (4), the number of further
// pages that belong to it. Pages 0 and 1 are heads of which the one with the
// higher transaction counts. Branch pages hold (pos, key size, page) and leaf
// pages (flags, pos, key size, value size) per key, 16 bytes each; pos counts
// from where the element stands. A value with flag 1 is a bucket: root page (8),
// sequence (8), and where the root is 0 a leaf page within the value.

const (
	pageHead     = 16
	elementSize  = 16
	bucketHead   = 16
	branchPage   = 0x01
	leafPage     = 0x02
	freelistPage = 0x10
	bucketFlag   = 0x01
	headMagic    = 0xED0CDAED
	headVersion  = 2
	headSize     = 64
	noFreelist   = ^uint64(0)
	mostDepth    = 64
)

var order = binary.NativeEndian

// pages walks the pages of one file.
type pages struct {
	file *os.File
	size int64 // of a page
	high uint64
	met  map[uint64]bool
	torn bool // one of the two heads cannot be read
}

type headPage struct {
	pageSize                          int64
	root, freelist, high, transaction uint64
}

// verifyPages reads all pages of a file that are in use. torn says that the
// other head is damaged, so that the last commit may be missing.
func verifyPages(path string) (torn bool, err error) {
	f, err := os.Open(path)
	if err != nil {
		return false, err
	}
	defer f.Close()
	p := &pages{file: f, met: map[uint64]bool{}}
	head, err := p.head()
	if err != nil {
		return false, err
	}
	info, err := f.Stat()
	if err != nil {
		return false, err
	}
	if p.high > uint64(info.Size()/p.size) {
		return p.torn, fmt.Errorf("it was cut off: it has %d bytes of %d pages of %d", info.Size(), p.high, p.size)
	}
	if _, err := p.walk(head.root, nil, nil, 0); err != nil {
		return p.torn, err
	}
	return p.torn, p.freelist(head.freelist)
}

// head finds the head that counts and the size of pages.
func (p *pages) head() (headPage, error) {
	first, ok := p.headAt(0)
	if !ok {
		for size := int64(1 << 10); size <= 1<<16; size <<= 1 {
			if second, ok := p.headAt(size); ok && second.pageSize == size {
				p.size, p.high, p.torn = size, second.high, true
				return second, nil
			}
		}
		return headPage{}, fmt.Errorf("neither of the two head pages can be read")
	}
	p.size, p.high = first.pageSize, first.high
	second, ok := p.headAt(first.pageSize)
	p.torn = !ok
	if ok && second.transaction > first.transaction {
		p.high = second.high
		return second, nil
	}
	return first, nil
}

func (p *pages) headAt(offset int64) (h headPage, ok bool) {
	b := make([]byte, pageHead+headSize)
	if _, err := p.file.ReadAt(b, offset); err != nil {
		return h, false
	}
	b = b[pageHead:]
	sum := fnv.New64a()
	sum.Write(b[:headSize-8])
	if order.Uint32(b) != headMagic || order.Uint32(b[4:]) != headVersion || order.Uint64(b[headSize-8:]) != sum.Sum64() {
		return h, false
	}
	h = headPage{int64(order.Uint32(b[8:])), order.Uint64(b[16:]), order.Uint64(b[32:]), order.Uint64(b[40:]), order.Uint64(b[48:])}
	return h, h.pageSize >= 1<<10 && h.pageSize <= 1<<24 && h.pageSize&(h.pageSize-1) == 0
}

// read returns a page with its overflow, once.
func (p *pages) read(id uint64) (page []byte, flags, count uint16, err error) {
	if id < 2 || id >= p.high {
		return nil, 0, 0, fmt.Errorf("page %d is named and is not in the file", id)
	}
	head := make([]byte, pageHead)
	if _, err := p.file.ReadAt(head, int64(id)*p.size); err != nil {
		return nil, 0, 0, fmt.Errorf("page %d: %w", id, err)
	}
	more := uint64(order.Uint32(head[12:]))
	if order.Uint64(head) != id || more >= p.high-id {
		return nil, 0, 0, fmt.Errorf("page %d is damaged", id)
	}
	for at := id; at <= id+more; at++ {
		if p.met[at] {
			return nil, 0, 0, fmt.Errorf("page %d is named twice", at)
		}
		p.met[at] = true
	}
	page = make([]byte, int64(more+1)*p.size)
	if _, err := p.file.ReadAt(page, int64(id)*p.size); err != nil {
		return nil, 0, 0, fmt.Errorf("page %d: %w", id, err)
	}
	return page, order.Uint16(head[8:]), order.Uint16(head[10:]), nil
}

// walk checks a page and all below it. Keys must lie from least up to, but not
// at, most (nil: no bound). It returns the greatest key.
func (p *pages) walk(id uint64, least, most []byte, depth int) ([]byte, error) {
	if depth > mostDepth {
		return nil, fmt.Errorf("page %d: pages stand in each other", id)
	}
	page, flags, count, err := p.read(id)
	if err != nil {
		return nil, err
	}
	switch {
	case flags == branchPage && count > 0:
		return p.branch(id, page, int(count), least, most, depth)
	case flags == leafPage:
		return p.leaf(id, page, int(count), least, most, depth)
	}
	return nil, fmt.Errorf("page %d is of no kind that can stand there", id)
}

func (p *pages) branch(id uint64, page []byte, count int, least, most []byte, depth int) ([]byte, error) {
	key := func(i int) ([]byte, error) {
		return part(id, page, i, 0, 4)
	}
	before := least
	for i := range count {
		from, err := key(i)
		if err != nil {
			return nil, err
		}
		to := most
		if i+1 < count {
			if to, err = key(i + 1); err != nil {
				return nil, err
			}
		}
		if !rises(before, from, most, i == 0) {
			return nil, fmt.Errorf("page %d: keys stand out of order", id)
		}
		child := order.Uint64(page[pageHead+i*elementSize+8:])
		if before, err = p.walk(child, from, to, depth+1); err != nil {
			return nil, err
		}
	}
	return before, nil
}

func (p *pages) leaf(id uint64, page []byte, count int, least, most []byte, depth int) ([]byte, error) {
	before := least
	for i := range count {
		key, err := part(id, page, i, 4, 8)
		if err != nil {
			return nil, err
		}
		value, err := part(id, page, i, 4, 8, 12)
		if err != nil {
			return nil, err
		}
		if !rises(before, key, most, i == 0) {
			return nil, fmt.Errorf("page %d: keys stand out of order", id)
		}
		before = key
		if order.Uint32(page[pageHead+i*elementSize:])&bucketFlag == 0 {
			continue
		}
		if err := p.bucket(id, value, depth); err != nil {
			return nil, err
		}
	}
	return before, nil
}

// bucket checks what hangs on a leaf's value that is a bucket.
func (p *pages) bucket(id uint64, value []byte, depth int) error {
	if len(value) < bucketHead {
		return fmt.Errorf("page %d: a bucket is cut off", id)
	}
	if root := order.Uint64(value); root != 0 {
		_, err := p.walk(root, nil, nil, depth+1)
		return err
	}
	inner := value[bucketHead:]
	if len(inner) < pageHead || order.Uint16(inner[8:]) != leafPage || depth > mostDepth {
		return fmt.Errorf("page %d: a bucket within it is damaged", id)
	}
	_, err := p.leaf(id, inner, int(order.Uint16(inner[10:])), nil, nil, depth+1)
	return err
}

// part returns the last of the parts of element i whose sizes stand, one after
// another, where sizes say; before them stands their position.
func part(id uint64, page []byte, i, pos int, sizes ...int) ([]byte, error) {
	at := pageHead + i*elementSize
	if at+elementSize > len(page) {
		return nil, fmt.Errorf("page %d: it counts more keys than it holds", id)
	}
	from, to := uint64(0), uint64(at)+uint64(order.Uint32(page[at+pos:]))
	for _, size := range sizes {
		from, to = to, to+uint64(order.Uint32(page[at+size:]))
	}
	if to > uint64(len(page)) {
		return nil, fmt.Errorf("page %d: a key or value reaches beyond it", id)
	}
	return page[from:to], nil
}

// rises reports whether a key stands in its place: above the one before (a first
// key may equal its branch's) and below the next branch's.
func rises(before, key, most []byte, first bool) bool {
	order := bytes.Compare(before, key)
	return (before == nil || order < 0 || first && order == 0) && (most == nil || bytes.Compare(key, most) < 0)
}

// freelist checks the list of free pages of a file that has one: a page that is
// in use and counts as free would be written over.
func (p *pages) freelist(id uint64) error {
	if id == noFreelist {
		return nil
	}
	page, flags, short, err := p.read(id)
	if err != nil {
		return err
	}
	count, ids := uint64(short), page[pageHead:]
	if short == 0xFFFF {
		count, ids = order.Uint64(ids), ids[8:]
	}
	if flags != freelistPage || count > uint64(len(ids)/8) {
		return fmt.Errorf("the list of free pages is damaged")
	}
	for i := range count {
		free := order.Uint64(ids[8*i:])
		if free < 2 || free >= p.high || p.met[free] {
			return fmt.Errorf("page %d counts as free and is not", free)
		}
		p.met[free] = true
	}
	return nil
}

func damaged(path string, fault any) error {
	return fmt.Errorf("%s: %w (%v): it was left as it is; keep it, restore the latest backup into "+
		"another folder, and let the phones bring what came after", path, logbook.ErrDamaged, fault)
}
