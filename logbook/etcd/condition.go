package etcd

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"
	"time"

	"go.etcd.io/etcd/api/v3/etcdserverpb"
)

// condition is how the members stand, as far as it was seen last.
type condition struct {
	mu       sync.Mutex
	warnings []string
}

const (
	lookEvery  = 5 * time.Second
	usualQuota = 2 << 30 // what etcd keeps at most unless it is told otherwise (--quota-backend-bytes)
	muchOfIt   = 0.7
)

// look asks the members how they stand, now and then.
func (s *Store) look() {
	tick := time.NewTicker(lookEvery)
	defer tick.Stop()
	for {
		warnings := s.looked()
		s.condition.mu.Lock()
		s.condition.warnings = warnings
		s.condition.mu.Unlock()
		select {
		case <-s.ctx.Done():
			return
		case <-tick.C:
		}
	}
}

func (s *Store) looked() (warnings []string) {
	var silent []string
	for _, member := range s.doors.members {
		ctx, cancel := context.WithTimeout(s.ctx, firstTry)
		r, err := s.client.Status(ctx, member)
		cancel()
		if err != nil {
			why, _ := s.doors.knock(member)
			silent = append(silent, cmp.Or(why, hostOf(member)+": "+err.Error()))
			continue
		}
		quota := r.DbSizeQuota
		if quota == 0 { // before 3.6
			quota = s.doors.quota(member)
		}
		if much := ofQuota(r.DbSize, quota); much != "" && !slices.Contains(warnings, much) {
			warnings = append(warnings, much)
		}
	}
	if all := len(s.doors.members); len(silent) > 0 {
		warnings = append(warnings, fmt.Sprintf("%d of %d members of etcd give no answer (%s)", len(silent), all, strings.Join(silent, "; ")))
	}
	ctx, cancel := context.WithTimeout(s.ctx, firstTry)
	defer cancel()
	if r, err := s.client.AlarmList(ctx); err == nil {
		full := false
		for _, a := range r.Alarms {
			full = full || a.Alarm == etcdserverpb.AlarmType_NOSPACE
		}
		s.full.Store(full)
	} // else, where not every user may ask that, the last write told
	if s.full.Load() {
		warnings = append(warnings, "etcd has reached its quota: what devices push is answered later, and changes are refused; "+
			"reading goes on. Compact and defragment it or give it more, then: etcdctl alarm disarm")
	}
	return warnings
}

// ofQuota says that much of a quota is used, where it is. One that is 0 is not known.
func ofQuota(size, quota int64) string {
	known := ""
	if quota <= 0 {
		quota, known = usualQuota, "; it does not say its quota: the usual one is counted by"
	}
	share := float64(size) / float64(quota)
	if share < muchOfIt {
		return ""
	}
	return fmt.Sprintf("etcd has used %.0f %% of its quota at a member (%d of %d MB%s): "+
		"compact and defragment it, remove finished productions, or give it more", share*100, size>>20, quota>>20, known)
}

// Warnings says what a person should see to, in words for anybody.
func (s *Store) Warnings() []string {
	s.condition.mu.Lock()
	all := append([]string(nil), s.condition.warnings...)
	s.condition.mu.Unlock()
	if at := s.AsOf(); !at.IsZero() {
		what := "etcd gives no answer"
		var refused *Refused
		s.following.standing.Lock()
		if errors.As(s.following.why, &refused) {
			what = refused.Error()
		}
		s.following.standing.Unlock()
		all = append(all, fmt.Sprintf("%s: what is read is as of %s, and nothing is changed", what, at.UTC().Format(time.RFC3339)))
	}
	return all
}

// Full reports whether etcd has reached its quota, as far as is known.
func (s *Store) Full() bool { return s.full.Load() }

// Changes is a number that rises with what is written.
func (s *Store) Changes() (uint64, error) {
	s.following.standing.Lock()
	defer s.following.standing.Unlock()
	return uint64(s.following.rev), nil
}
