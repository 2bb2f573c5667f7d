package footage

import (
	"bytes"
	"testing"
)

// BenchmarkPostJoin reads a listing of some 38,000 files and joins it with 28,800 clips. The shares are
// of what is called sure: how much of it is another's file, and how much of what could be sure is.
func BenchmarkPostJoin(b *testing.B) {
	s := aShoot(1, 60).draw()
	listing := []byte(s.listing.String())
	var j Joined
	for b.Loop() {
		c := NewCollection()
		if err := c.Read(bytes.NewReader(listing), Form{}); err != nil {
			b.Fatal(err)
		}
		j = Join(s.rows, c)
	}
	b.ReportMetric(float64(b.Elapsed().Microseconds())/1000/float64(b.N), "post.join_ms")
	r := s.judge(j)
	b.ReportMetric(r.wrongShare(), "post.join_wrong_share")
	b.ReportMetric(r.sureShare(), "post.join_sure_share")
}
