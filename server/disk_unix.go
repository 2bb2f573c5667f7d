//go:build unix

package main

import (
	"errors"
	"os"
	"syscall"
)

// connectionsAtMost is how many the server takes: most of the files that it may have open.
func connectionsAtMost() int64 {
	var files syscall.Rlimit
	if err := syscall.Getrlimit(syscall.RLIMIT_NOFILE, &files); err != nil {
		return fewestConnections
	}
	return int64(min(max(uint64(files.Cur), 2*fewestConnections)-fewestConnections, mostConnections))
}

// onOneDisk reports whether two paths lie on the same file system.
func onOneDisk(a, b string) (bool, error) {
	first, err := os.Stat(a)
	if err != nil {
		return false, err
	}
	second, err := os.Stat(b)
	if err != nil {
		return false, err
	}
	x, okX := first.Sys().(*syscall.Stat_t)
	y, okY := second.Sys().(*syscall.Stat_t)
	if !okX || !okY {
		return false, errors.New("this system does not tell disks apart")
	}
	return x.Dev == y.Dev, nil
}
