//go:build !linux

package uplink

import "syscall"

// giveUp leaves it to the system when a connection is given up whose other end is silent.
func giveUp(string, string, syscall.RawConn) error { return nil }
