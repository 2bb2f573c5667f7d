package bolt

import "testing"

// /proc is a file system on which a folder cannot be synced (EINVAL), as some
// network shares are. A backup there is whole and has its name; to call it failed
// would keep the old ones from being removed until the share is full.
func TestAFolderThatCannotBeSyncedIsNoFailure(t *testing.T) {
	if err := syncFolder("/proc/self"); err != nil {
		t.Errorf("got %v, want none", err)
	}
	if err := syncFolder("/proc/self/nothing"); err == nil {
		t.Error("a folder that is not there was synced")
	}
}
