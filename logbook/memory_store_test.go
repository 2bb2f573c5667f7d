//go:build !js

package logbook_test

import (
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/storetest"
)

func TestMemoryKeepsThePromises(t *testing.T) {
	storetest.Run(t, func(*testing.T) logbook.Store { return logbook.NewMemory() })
}
