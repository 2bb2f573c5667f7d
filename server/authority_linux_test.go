package main

import (
	"bytes"
	"log/slog"
	"net/netip"
	"strings"
	"testing"
	"time"

	"evenwhite/logbook/storetest"
	"evenwhite/server/lan/authority"
)

func TestAFullDiskKeepsNoCertificateFromBeingRenewed(t *testing.T) {
	disk := t.TempDir()
	storetest.MountSmall(t, disk, "1m")
	var log bytes.Buffer
	open := func(host string) *authority.Authority {
		t.Helper()
		a, err := openAuthority(disk, host, true, time.Now(), slog.New(slog.NewTextHandler(&log, nil)))
		if err != nil {
			t.Fatal(err)
		}
		return a
	}
	a := open("set7.local")
	free := storetest.FillUp(t, disk)
	again := open("set7.local")
	if again.Fingerprint() != a.Fingerprint() || log.Len() > 0 {
		t.Errorf("another root, or something to say: %s", &log)
	}
	now := time.Now()
	l, err := again.Leaves(func() time.Time { return now }, nil)
	if err != nil {
		t.Fatal(err)
	}
	first := l.Current()
	now = now.Add(authority.LeafLife)
	if _, err := l.GetCertificate(nil); err != nil || l.Current().Equal(first) {
		t.Errorf("the leaf was not renewed (%v)", err)
	}
	if err := l.Reach([]netip.Addr{netip.MustParseAddr("10.0.0.1")}); err != nil {
		t.Error(err)
	}

	// A root that is wished under another name will do until the next start, and the old one stays.
	other := open("set8.local")
	if !strings.Contains(log.String(), "could not be written") || !strings.Contains(log.String(), "make room") {
		t.Errorf("the log says %q", &log)
	}
	free()
	if kept := open("set7.local"); kept.Fingerprint() != a.Fingerprint() || other.Fingerprint() == a.Fingerprint() {
		t.Error("the old root is gone")
	}
}
