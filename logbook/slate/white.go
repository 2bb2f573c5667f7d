package slate

import (
	"evenwhite/logbook"
	"evenwhite/logbook/amend"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/setup"
)

// Resting writes into the drafts of new whites what they rest on, where the caller did not
// say it. Whoever makes the edit writes it. An edit that a device pushed is its author's and
// stays as it is. The error is of type amend.Errors.
func Resting(b *logbook.Book, drafts []logbook.Draft, now logbook.Millis) ([]logbook.Draft, error) {
	for i := range drafts {
		d := &drafts[i]
		if d.Kind != kinds.White || valueIn(d.Set, "from") == "" {
			continue
		}
		said := valueIn(d.Set, "restsOn")
		if said != "" {
			if wrong := setup.NotInput(b, said); len(wrong) > 0 {
				return nil, amend.Errors{{Kind: kinds.White, Field: "restsOn", Value: logbook.IDValue(wrong[0]),
					Allowed: "readings, samples and whites"}}
			}
			continue
		}
		if list, ok := setup.RestsOn(b, d.Set, now); ok {
			d.Set = append(d.Set, logbook.Change{Field: "restsOn", Value: list})
		}
	}
	return drafts, nil
}

func valueIn(set []logbook.Change, field string) logbook.Value {
	for _, c := range set {
		if c.Field == field && c.Value != logbook.Null {
			return c.Value
		}
	}
	return ""
}
