package rebuild

import (
	"slices"
	"strings"

	"evenwhite/logbook"
)

// A pair is a light here and the one that it stands for in the model; one of the two may be missing.
type pair struct{ here, model *SheetLight }

// pairsOf pairs lights by name and, where that is asked, what is left by a role that only one on
// each side has.
func pairsOf(here, model []SheetLight, byRole bool) (pairs []pair) {
	taken := map[logbook.ID]bool{}
	find := func(fits func(l *SheetLight) bool) (found *SheetLight) {
		for i := range here {
			if l := &here[i]; !taken[l.Rigged.Light] && fits(l) {
				if found != nil {
					return nil // which of them is not said
				}
				found = l
			}
		}
		return found
	}
	named := map[logbook.ID]*SheetLight{}
	for i := range model {
		m := &model[i]
		if l := find(func(l *SheetLight) bool { return folded(l.Rigged.Name) == folded(m.Rigged.Name) }); l != nil {
			named[m.Rigged.Light], taken[l.Rigged.Light] = l, true
		}
	}
	for i := range model {
		m := &model[i]
		l := named[m.Rigged.Light]
		if l == nil && byRole && soleOfRole(model, named, m.Rigged.Role) {
			if l = find(func(l *SheetLight) bool { return l.Rigged.Role == m.Rigged.Role }); l != nil {
				taken[l.Rigged.Light] = true
			}
		}
		pairs = append(pairs, pair{l, m})
	}
	for i := range here {
		if l := &here[i]; !taken[l.Rigged.Light] {
			pairs = append(pairs, pair{l, nil})
		}
	}
	return pairs
}

func folded(name string) string { return strings.ToLower(strings.TrimSpace(name)) }

// soleOfRole reports whether of the lights that no name paired one alone has a role.
func soleOfRole(all []SheetLight, named map[logbook.ID]*SheetLight, role string) bool {
	n := 0
	for _, l := range all {
		if named[l.Rigged.Light] == nil && l.Rigged.Role == role {
			n++
		}
	}
	return n == 1
}

func (p pair) name() string {
	switch {
	case p.model == nil:
		return p.here.Rigged.Name
	case p.here == nil || folded(p.here.Rigged.Name) == folded(p.model.Rigged.Name):
		return p.model.Rigged.Name
	}
	return p.model.Rigged.Name + ", here " + p.here.Rigged.Name
}

// A cameraPair is a letter on both sides; one of the two may be missing.
type cameraPair struct{ here, model *SheetCamera }

func cameraPairs(here, model []SheetCamera) (pairs []cameraPair) {
	for i := range model {
		p := cameraPair{nil, &model[i]}
		if at := slices.IndexFunc(here, func(c SheetCamera) bool { return c.Letter == model[i].Letter }); at >= 0 {
			p.here = &here[at]
		}
		pairs = append(pairs, p)
	}
	for i := range here {
		if !slices.ContainsFunc(model, func(c SheetCamera) bool { return c.Letter == here[i].Letter }) {
			pairs = append(pairs, cameraPair{&here[i], nil})
		}
	}
	return pairs
}
