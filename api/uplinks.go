package api

import (
	"fmt"
	"net/http"
	"strings"

	"github.com/labstack/echo/v4"

	"evenwhite/api/uplink"
)

// uplinkStates say how the links with other servers stand.
func (s *service) uplinkStates() []uplink.State {
	if s.Uplinks == nil {
		return nil
	}
	return s.Uplinks()
}

// ListServers lists the servers that this one is linked with.
func (s *service) ListServers(c echo.Context) error {
	out := struct {
		Servers []uplink.State `json:"servers"`
	}{append([]uplink.State{}, s.uplinkStates()...)}
	return c.JSON(http.StatusOK, out)
}

// writeUplinks writes the figures of links.
func writeUplinks(out *strings.Builder, links []uplink.State) {
	row := header(out, "evenwhite_link_waiting_edits", "gauge", "Edits that a linked server lacks.")
	for _, l := range links {
		for _, p := range l.Productions {
			row(fmt.Sprintf("{address=%q,production=%q}", l.Address, p.Production), float64(p.Waiting))
		}
	}
	row = header(out, "evenwhite_link_coming_edits", "gauge", "Edits that a linked server holds, as far as is known, and this one does not.")
	for _, l := range links {
		for _, p := range l.Productions {
			row(fmt.Sprintf("{address=%q,production=%q}", l.Address, p.Production), float64(p.Coming))
		}
	}
	row = header(out, "evenwhite_link_trouble", "gauge", "1 while a linked server does not exchange.")
	for _, l := range links {
		trouble := 0.0
		if l.Ails() != "" {
			trouble = 1
		}
		row(fmt.Sprintf("{address=%q}", l.Address), trouble)
	}
	row = header(out, "evenwhite_link_last_exchange_seconds", "gauge", "When nothing was left to exchange with a linked server, in Unix time.")
	for _, l := range links {
		for _, p := range l.Productions {
			if !p.Last.IsZero() {
				row(fmt.Sprintf("{address=%q,production=%q}", l.Address, p.Production), float64(p.Last.Unix()))
			}
		}
	}
}
