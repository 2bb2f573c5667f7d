package logbook

import "fmt"

// ApplyValid merges stored edits that were found valid when they came, by their bytes: neither their values
// nor what they name is looked at again. Those that take does not want are left out; the
// edit that it is shown is written over by the next. What cannot be read is told, and left out.
func (b *Book) ApplyValid(edits [][]byte, take func(*Edit) bool) (unread []error) {
	said := saidIn(edits)
	var e Edit
	for _, bytes := range edits {
		own := said[:max(len(bytes)-saidAt, 0)]
		said = said[len(own):]
		err := e.decode(bytes, own)
		if err == nil && e.Production != b.production {
			err = fmt.Errorf("it is of production %s", e.Production)
		}
		if err != nil {
			unread = append(unread, err)
		} else if take(&e) {
			_ = b.apply(&e, own, nil)
		}
	}
	return unread
}
