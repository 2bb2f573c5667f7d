//go:build linux || darwin

package doctor

import "syscall"

// freeOf is how many bytes whoever asks may still write to the disk of a path.
func freeOf(path string) (uint64, error) {
	var s syscall.Statfs_t
	if err := syscall.Statfs(path, &s); err != nil {
		return 0, err
	}
	return s.Bavail * uint64(s.Bsize), nil
}
