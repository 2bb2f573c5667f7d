//go:build !unix

package main

import "os"

// connectionsAtMost is how many the server takes.
func connectionsAtMost() int64 { return mostConnections }

// onOneDisk cannot be known here: a folder is taken for one on another disk.
func onOneDisk(a, _ string) (bool, error) {
	_, err := os.Stat(a)
	return false, err
}
