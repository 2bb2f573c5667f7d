//go:build !js

package exchange_test

import (
	"syscall"
	"time"
)

// cpuTime is what this process has used of the processors so far.
func cpuTime() time.Duration {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		panic(err)
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}
