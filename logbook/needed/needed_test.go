package needed

import (
	"fmt"
	"runtime"
	"strings"
	"testing"
)

// told is a test that notes how it ended.
type told struct {
	testing.TB
	skipped, failed string
}

func (t *told) Helper() {}

func (t *told) Skipf(format string, args ...any) {
	t.skipped = fmt.Sprintf(format, args...)
	runtime.Goexit()
}

func (t *told) Fatalf(format string, args ...any) {
	t.failed = fmt.Sprintf(format, args...)
	runtime.Goexit()
}

func TestWhatIsMissingFailsInCIAndIsSaidElsewhere(t *testing.T) {
	ends := func(ci string) *told {
		t.Setenv("CI", ci)
		of, done := &told{}, make(chan struct{})
		go func() {
			defer close(done)
			Tool(of, "no such program")
		}()
		<-done
		return of
	}
	if of := ends("true"); of.skipped != "" || !strings.Contains(of.failed, "no such program is not here: make setup-test") {
		t.Errorf("in CI: got %+v", of)
	}
	if of := ends(""); of.failed != "" || !strings.HasPrefix(of.skipped, "SKIPPED, NOT CHECKED: no such program is not here") {
		t.Errorf("elsewhere: got %+v", of)
	}
}
