package review

import (
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/amend"
)

// A Refused is a refused edit and what people did about it.
type Refused struct {
	Dot       string        `json:"dot"`
	Edit      *logbook.Edit `json:"edit"`
	Reason    string        `json:"reason"`
	Open      []string      `json:"open,omitempty"`
	Corrected *logbook.Edit `json:"corrected,omitempty"`
	Discarded *logbook.Edit `json:"discarded,omitempty"`
}

// A Clash is an edit that was kept aside, and the one that is held under its dot.
type Clash struct {
	Dot        string        `json:"dot"`
	Edit       *logbook.Edit `json:"edit"`
	Held       *logbook.Edit `json:"held,omitempty"` // nil where it is damaged
	Via        logbook.ID    `json:"via"`
	ReceivedAt time.Time     `json:"receivedAt"`
}

// Quarantine is what is held and does not apply. Clashes are the store's to list.
type Quarantine struct {
	Refused []Refused `json:"refused"`
	Clashes []Clash   `json:"clashes"`
}

// Quarantined lists the edits that are held and refused; no clashes.
func Quarantined(b *logbook.Book) Quarantine {
	out := Quarantine{Refused: []Refused{}, Clashes: []Clash{}}
	for _, q := range amend.Quarantine(b) {
		out.Refused = append(out.Refused, Refused{q.Edit.Dot.String(), q.Edit, q.Reason, q.Open, q.Corrected, q.Discarded})
	}
	return out
}
