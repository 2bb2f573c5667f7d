package etcd

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/storetest"

	clientv3 "go.etcd.io/etcd/client/v3"
)

// TestQuotaIsAState fills etcd up to its quota while edits are appended: each is answered, none is
// half there, reading goes on, and after etcd was given room so does writing.
func TestQuotaIsAState(t *testing.T) {
	const quota = 16 << 20
	c := startCluster(t, "--quota-backend-bytes", fmt.Sprint(quota))
	s, bare := c.open(t, "full"), c.client()
	if err := s.Begin(storetest.Production, logbook.Line{1}); err != nil {
		t.Fatal(err)
	}
	var err error
	acknowledged := logbook.Seq(0)
	for n := uint64(1); err == nil; n++ {
		if n*64<<10 > 4*quota {
			t.Fatal("etcd takes more than its quota")
		}
		if _, err = bare.Put(t.Context(), "garbage", strings.Repeat("x", 512<<10)); err != nil {
			break
		}
		if n == 1 {
			for _, m := range c.members {
				if told := s.doors.quota("http://" + m.client); told != quota {
					t.Errorf("a member tells a quota of %d, want %d", told, quota)
				}
			}
		}
		if _, err = s.Append(storetest.Production, []logbook.Entry{storetest.Entry(1, n, strings.Repeat("x", 30_000))}); err == nil {
			acknowledged++
		}
	}
	for n := uint64(1000); err == nil || !errors.Is(err, logbook.ErrFull); n++ { // the garbage met the quota first
		_, err = s.Append(storetest.Production, []logbook.Entry{storetest.Entry(1, n, "x")})
		if err == nil {
			acknowledged++
		}
		if n == 2000 {
			t.Fatalf("got %v, want %v", err, logbook.ErrFull)
		}
	}
	if !s.Full() {
		t.Error("the store does not say that it is full")
	}
	if err := s.Keep("device/x", []byte("1")); !errors.Is(err, logbook.ErrFull) {
		t.Errorf("a small value: got %v, want %v", err, logbook.ErrFull)
	}
	within(t, "warnings", func() bool { return strings.Contains(strings.Join(s.looked(), "\n"), "has reached its quota") })
	for _, store := range []*Store{s, c.open(t, "full")} { // it also opens
		if head, err := store.Head(storetest.Production); err != nil || head.Seq != acknowledged {
			t.Errorf("the log ends at %d (%v), want %d", head.Seq, err, acknowledged)
		}
		storetest.MustAgree(t, store)
	}
	c.makeRoom(bare)
	if _, err := s.Append(storetest.Production, []logbook.Entry{storetest.Entry(2, 1, "x")}); err != nil {
		t.Errorf("after there is room: %v", err)
	}
	if s.Full() {
		t.Error("the store still says that it is full")
	}
}

// makeRoom does what somebody does who finds the quota reached.
func (c *cluster) makeRoom(bare *clientv3.Client) {
	c.t.Helper()
	must := func(err error) {
		c.t.Helper()
		if err != nil {
			c.t.Fatal(err)
		}
	}
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	defer cancel()
	_, err := bare.Delete(ctx, "garbage")
	must(err)
	r, err := bare.Get(ctx, "garbage")
	must(err)
	_, err = bare.Compact(ctx, r.Header.Revision, clientv3.WithCompactPhysical())
	must(err)
	for _, m := range c.members {
		_, err := bare.Defragment(ctx, m.client)
		must(err)
	}
	_, err = bare.AlarmDisarm(ctx, &clientv3.AlarmMember{})
	must(err)
}

// TestMuchOfTheQuotaIsToldBefore: where etcd does not say its quota the usual one counts, and that is said.
func TestMuchOfTheQuotaIsToldBefore(t *testing.T) {
	for _, one := range []struct {
		size, quota int64
		told        string
	}{{1 << 30, 0, ""}, {3 << 29, 0, "75 % of its quota at a member (1536 of 2048 MB; it does not say its quota"},
		{3 << 29, 8 << 30, ""}, {6 << 30, 8 << 30, "75 % of its quota at a member (6144 of 8192 MB):"}} {
		if told := ofQuota(one.size, one.quota); (told == "") != (one.told == "") || !strings.Contains(told, one.told) {
			t.Errorf("%d of %d bytes: told is %q", one.size, one.quota, told)
		}
	}
}
