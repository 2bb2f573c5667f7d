package main

import (
	"os/exec"
	"strings"
	"testing"
)

// TestTheProgramOfASetKnowsNoEtcd: what a studio's program links in, that of a set does without.
func TestTheProgramOfASetKnowsNoEtcd(t *testing.T) {
	deps, err := exec.Command("go", "list", "-deps", ".").CombinedOutput()
	if err != nil || !strings.Contains(string(deps), "evenwhite/logbook/bolt") {
		t.Fatalf("%v: %s", err, deps)
	}
	for _, module := range []string{"go.etcd.io/etcd", "google.golang.org/grpc", "evenwhite/logbook/etcd"} {
		if strings.Contains(string(deps), module) {
			t.Errorf("the program links %s", module)
		}
	}
}
