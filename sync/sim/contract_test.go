package sim

import (
	"testing"

	"tacet/sync/replica"
	"tacet/sync/storetest"
)

// The store of the simulation keeps to what the databases keep to.
func TestMemoryKeepsTheContract(t *testing.T) {
	storetest.Run(t, func(testing.TB) replica.Store { return newMemory() })
}
