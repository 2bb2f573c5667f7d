package etcd

import (
	"fmt"
	"path/filepath"
	"sync/atomic"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/storetest"
)

func TestPromises(t *testing.T) {
	c := someCluster(t)
	var n atomic.Int64
	storetest.Run(t, func(t *testing.T) logbook.Store { return c.open(t, fmt.Sprint("promise/", n.Add(1))) })
	storetest.RunDurable(t, func(t *testing.T, folder string) logbook.Store {
		s, err := Open(c.access(), "durable"+filepath.ToSlash(folder))
		if err != nil {
			t.Fatal(err)
		}
		return s
	})
}
