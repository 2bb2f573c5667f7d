package etcd

import (
	"context"
	"fmt"
	"slices"
	"sync"
	"testing"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/storetest"

	clientv3 "go.etcd.io/etcd/client/v3"
)

// BenchmarkPushStudio compares what 64 devices append at the store's door, one edit a call, with what a
// bare client writes in transactions of 64 keys, one after another. The two take turns. It also says
// what an edit takes in etcd, once its history is compacted and the members defragmented.
func BenchmarkPushStudio(b *testing.B) {
	const devices, each = 64, 8
	for b.Loop() {
		c := startCluster(b)
		bare, s := c.client(), c.open(b, "bench")
		if err := s.Begin(storetest.Production, logbook.Line{1}); err != nil {
			b.Fatal(err)
		}
		edits, text := uint64(0), storetest.Entry(1, 1, "a lens").Bytes
		var ratios, rates []float64
		for round := range 11 {
			begun := time.Now()
			for n := range each {
				var ops []clientv3.Op
				for i := range devices {
					ops = append(ops, clientv3.OpPut(fmt.Sprintf("bare/%d/%d/%d", round, n, i), string(text)))
				}
				if _, err := bare.Txn(b.Context()).Then(ops...).Commit(); err != nil {
					b.Fatal(err)
				}
			}
			rate := devices * each / time.Since(begun).Seconds()
			begun = time.Now()
			var all sync.WaitGroup
			for d := range devices {
				all.Go(func() {
					for n := range uint64(each) {
						e := storetest.Entry(byte(d+1), edits+n+1, "a lens")
						if _, err := s.Append(storetest.Production, []logbook.Entry{e}); err != nil {
							b.Error(err)
						}
					}
				})
			}
			all.Wait()
			edits += each
			rates = append(rates, devices*each/time.Since(begun).Seconds())
			ratios = append(ratios, rates[round]/rate)
		}
		slices.Sort(ratios)
		slices.Sort(rates)
		b.ReportMetric(ratios[5], "studio.push_ratio_64")
		b.ReportMetric(rates[5], "studio.push_per_s_64")
		b.ReportMetric(c.bytesEach(b, bare, float64(edits*devices)), "studio.bytes_per_edit")
	}
}

// BenchmarkLongestGapStudio kills the leader of etcd three times under 20 devices at three processes: the longest time in
// which none of them heard that an edit is taken.
func BenchmarkLongestGapStudio(b *testing.B) {
	for b.Loop() {
		s := openStudio(b, startCluster(b))
		rest := s.begin(1)
		s.goesOn(50)
		longest := time.Duration(0)
		for range 3 {
			s.longest()
			s.loseLeader(50)
			longest = max(longest, s.longest())
		}
		rest()
		b.ReportMetric(float64(longest.Milliseconds()), "studio.longest_gap_ms")
	}
}

// bytesEach is what an edit takes in a member, beside what one has that holds none.
func (c *cluster) bytesEach(b *testing.B, bare *clientv3.Client, edits float64) float64 {
	size := func() float64 {
		ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
		defer cancel()
		c.makeRoom(bare)
		r, err := bare.Status(ctx, c.members[0].client)
		if err != nil {
			b.Fatal(err)
		}
		return float64(r.DbSizeInUse)
	}
	if _, err := bare.Delete(b.Context(), "bare/", clientv3.WithPrefix()); err != nil {
		b.Fatal(err)
	}
	full := size()
	if _, err := bare.Delete(b.Context(), "bench/", clientv3.WithPrefix()); err != nil {
		b.Fatal(err)
	}
	return (full - size()) / edits
}
