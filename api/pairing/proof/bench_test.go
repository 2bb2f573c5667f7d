package proof

import (
	"syscall"
	"testing"

	"evenwhite/api/pairing/prooftest"
)

// cpu is what this process has used of the processors so far, in microseconds.
func cpu(b *testing.B) float64 {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		b.Fatal(err)
	}
	return float64(u.Utime.Nano()+u.Stime.Nano()) / 1000
}

// BenchmarkPushProof measures what the processor spends on one proof: parsing, nonce and
// signature.
func BenchmarkPushProof(b *testing.B) {
	n, key := NewNonces(counted(), nil), prooftest.Draw()
	shown := make([]string, b.N)
	for i := range shown {
		shown[i] = key.Proof("POST", there, "the token", n.Current(noon))
	}
	b.ResetTimer()
	before := cpu(b)
	for _, s := range shown {
		if _, err := n.Check([]string{s}, request("the token"), noon); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric((cpu(b)-before)/float64(b.N), "net.proof_us")
}
