package amend

import (
	"hash/fnv"
	"slices"
	"sort"
	"sync"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
)

// twinIndex keeps which records have equal natural keys. A key that one record has alone
// costs its hash and the record's id; what has the same one is looked at again when it
// changes.
type twinIndex struct {
	kinds  map[logbook.Kind]*keysOfKind
	reads  map[logbook.ID]logbook.ID // where an id reads under another one
	mu     sync.Mutex                // readers ask at once: one of them makes sorted
	sorted []*TwinGroup
	stale  bool // sorted is not what the groups are
}

type keysOfKind struct {
	spec   *kinds.Spec
	alone  map[uint64]logbook.ID   // that had the key when it was looked at last
	shared map[uint64]*sharedKey   // keys that several records have
	in     map[logbook.ID][]uint64 // which of those a record has
}

// sharedKey is the records whose natural keys have one hash.
type sharedKey struct {
	ids    []logbook.ID
	groups []*TwinGroup // that are asked about: one, but for two keys of one hash
	stale  bool
}

// KeepTwins keeps which records may be twins.
var KeepTwins = logbook.Keep{Name: "twins", Begin: newTwinIndex}

func newTwinIndex() logbook.Keeper {
	x := &twinIndex{kinds: map[logbook.Kind]*keysOfKind{}, reads: map[logbook.ID]logbook.ID{}}
	for i := range kinds.Specs {
		if spec := &kinds.Specs[i]; len(spec.Natural) > 0 || spec.Kind == kinds.Clip {
			x.kinds[spec.Kind] = &keysOfKind{spec: spec, alone: map[uint64]logbook.ID{},
				shared: map[uint64]*sharedKey{}, in: map[logbook.ID][]uint64{}}
		}
	}
	return x
}

// Change looks at a record again, and where its id reads otherwise now, at all whose keys
// hold it.
func (x *twinIndex) Change(apart logbook.View) {
	b := apart.Book()
	if k := x.kinds[apart.Kind]; k != nil {
		x.stale = k.look(b, apart.ID) || x.stale
	}
	now, was := b.Resolve(apart.ID), apart.ID
	if known, ok := x.reads[apart.ID]; ok {
		was = known
	}
	if now == was {
		return
	}
	if x.reads[apart.ID] = now; now == apart.ID {
		delete(x.reads, apart.ID)
	}
	for kind, k := range x.kinds {
		for _, field := range k.references() {
			for _, v := range b.AllReferring(kind, field, apart.ID) {
				x.stale = k.look(b, v.ID) || x.stale
			}
		}
	}
}

// references are the fields of a kind whose records stand in its natural keys.
func (k *keysOfKind) references() (fields []string) {
	if k.spec.Kind == kinds.Clip {
		return []string{"takes", "camera"}
	}
	for _, name := range k.spec.Natural {
		if f, _ := k.spec.Field(name); f.Type == kinds.Reference {
			fields = append(fields, name)
		}
	}
	return fields
}

// hashes are those of a record's natural keys: none where it reads under another id or is
// struck out.
func (k *keysOfKind) hashes(b *logbook.Book, id logbook.ID) (all []uint64) {
	v, ok := b.RecordOf(k.spec.Kind, id)
	if !ok || v.ID != id || v.Deleted() {
		return nil
	}
	for _, key := range naturalKeys(b, k.spec, v) {
		all = append(all, hashOf(key))
	}
	return all
}

func hashOf(key string) uint64 {
	h := fnv.New64a()
	h.Write([]byte(key))
	return h.Sum64()
}

// look puts a record where its keys are now, and reports whether a group may be another.
func (k *keysOfKind) look(b *logbook.Book, id logbook.ID) (changed bool) {
	now := k.hashes(b, id)
	for _, key := range slices.Clone(k.in[id]) {
		changed = true
		if k.shared[key].stale = true; !slices.Contains(now, key) {
			k.leave(key, id)
		}
	}
	for _, key := range now {
		if s := k.shared[key]; s != nil {
			if !slices.Contains(k.in[id], key) {
				s.ids, s.stale, changed = append(s.ids, id), true, true
				k.in[id] = append(k.in[id], key)
			}
			continue
		}
		first, ok := k.alone[key]
		if !ok || first == id || !slices.Contains(k.hashes(b, first), key) {
			k.alone[key] = id
			continue
		}
		delete(k.alone, key)
		k.shared[key], changed = &sharedKey{ids: []logbook.ID{first, id}, stale: true}, true
		k.in[first], k.in[id] = append(k.in[first], key), append(k.in[id], key)
	}
	return changed
}

func (k *keysOfKind) leave(key uint64, id logbook.ID) {
	s := k.shared[key]
	s.ids = slices.DeleteFunc(s.ids, func(other logbook.ID) bool { return other == id })
	k.not(key, id)
	if len(s.ids) == 1 {
		k.not(key, s.ids[0])
		k.alone[key] = s.ids[0]
		delete(k.shared, key)
	}
}

func (k *keysOfKind) not(key uint64, id logbook.ID) {
	k.in[id] = slices.DeleteFunc(k.in[id], func(other uint64) bool { return other == key })
	if len(k.in[id]) == 0 {
		delete(k.in, id)
	}
}

// groupsAsked are the groups that are asked about, in order.
func groupsAsked(b *logbook.Book) []*TwinGroup {
	x := b.Kept(KeepTwins).(*twinIndex)
	x.mu.Lock()
	defer x.mu.Unlock()
	if !x.stale {
		return x.sorted
	}
	x.sorted, x.stale = nil, false
	for _, k := range x.kinds {
		for key, s := range k.shared {
			if s.stale {
				s.groups, s.stale = k.groups(b, key, s.ids), false
			}
		}
		for _, s := range k.shared {
			for _, g := range s.groups {
				if !k.within(g) {
					x.sorted = append(x.sorted, g)
				}
			}
		}
	}
	sort.Slice(x.sorted, func(i, j int) bool { return x.sorted[i].Place().Compare(x.sorted[j].Place()) < 0 })
	return x.sorted
}

// groups are those of one hash that are asked about.
func (k *keysOfKind) groups(b *logbook.Book, hash uint64, ids []logbook.ID) (all []*TwinGroup) {
	byKey := map[string][]logbook.ID{}
	for _, id := range ids {
		v, _ := b.RecordOf(k.spec.Kind, id)
		for _, key := range naturalKeys(b, k.spec, v) {
			if hashOf(key) == hash {
				byKey[key] = append(byKey[key], id)
			}
		}
	}
	for _, ids := range byKey {
		slices.SortFunc(ids, compareIDs)
		two, n := twoAmong(b, k.spec.Kind, ids), len(ids)
		if len(two) == n*(n-1)/2 {
			continue
		}
		first, _ := b.RecordOf(k.spec.Kind, ids[0])
		all = append(all, &TwinGroup{Kind: k.spec.Kind, SetUp: setUpOf(first), Records: ids, Two: two, key: hash})
	}
	return all
}

// within reports whether all records of a group are asked about in another one: clips that
// hold the same two takes share two keys.
func (k *keysOfKind) within(g *TwinGroup) bool {
	for _, key := range k.in[g.Records[0]] {
		for _, other := range k.shared[key].groups {
			if len(other.Records) < len(g.Records) || len(other.Records) == len(g.Records) && other.key >= g.key {
				continue
			}
			if !slices.ContainsFunc(g.Records, func(id logbook.ID) bool { return !slices.Contains(other.Records, id) }) {
				return true
			}
		}
	}
	return false
}
