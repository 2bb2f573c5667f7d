package logbook

import "slices"

// A crowd says where each head of a field stands that has many: a push of a few
// kilobytes names more than a hundred thousand of them, and walking the heads for each
// name would keep everybody else waiting for seconds.
type crowd map[Dot]int

// crowded is from how many heads on they are a crowd; at half of it no longer.
const crowded = 32

// addHead adds a version to the heads of a cell.
func (b *Book) addHead(r *record, at int, h head) {
	c := &r.cells[at]
	heads := append(c.heads(), h)
	c.set(heads)
	switch n := len(heads); {
	case n == crowded:
		all := make(crowd, 2*n)
		for i, other := range heads {
			all[other.edit.dot()] = i
		}
		b.crowds[place{r, c.field()}] = all
	case n > crowded/2:
		if all := b.crowds[place{r, c.field()}]; all != nil {
			all[h.edit.dot()] = n - 1
		}
	}
}

// dropHead removes a version from the heads of a cell and reports whether it was one.
func (b *Book) dropHead(r *record, at int, d Dot) bool {
	c := &r.cells[at]
	heads := c.heads()
	if len(heads) > crowded/2 {
		if all := b.crowds[place{r, c.field()}]; all != nil {
			return b.leaveCrowd(place{r, c.field()}, c, all, d)
		}
	}
	for i := range heads {
		if heads[i].edit.dot() == d {
			if len(heads) == 1 {
				c.set([]head{}) // the name stays
			} else {
				c.set(slices.Delete(heads, i, i+1))
			}
			return true
		}
	}
	return false
}

// leaveCrowd lets the last head take the place of the one that goes: the heads of a cell
// stand in no order.
func (b *Book) leaveCrowd(p place, c *cell, all crowd, d Dot) bool {
	i, ok := all[d]
	if !ok {
		return false
	}
	heads := c.heads()
	last := len(heads) - 1
	heads[i] = heads[last]
	all[heads[i].edit.dot()] = i
	heads[last] = head{}
	c.set(heads[:last])
	if delete(all, d); last <= crowded/2 {
		delete(b.crowds, p)
	}
	return true
}

// supersede removes a named version from the heads, or lets the name wait.
func (b *Book) supersede(r *record, at int, d Dot) {
	if b.dropHead(r, at, d) {
		return
	}
	if b.held.Has(d) {
		if _, refused := b.refused[d]; !refused {
			return
		}
	}
	p := place{r, r.cells[at].field()}
	if known := b.waiting[d]; len(known) == 0 || known[len(known)-1] != p {
		b.keepName(d)
		b.waiting[d] = append(known, p)
	}
}

func notNamed(place) bool { return false }

// namedBefore returns whether an edit that is now here was named for a field before it came.
func (b *Book) namedBefore(e *Edit) func(place) bool {
	waiting := b.waiting[e.Dot]
	b.keepName(e.Dot)
	delete(b.waiting, e.Dot)
	if len(waiting) == 0 {
		return notNamed
	}
	if len(waiting) < crowded || len(e.Set) < 2 {
		return func(p place) bool { return slices.Contains(waiting, p) }
	}
	all := make(map[place]bool, len(waiting))
	for _, p := range waiting {
		all[p] = true
	}
	return func(p place) bool { return all[p] }
}
