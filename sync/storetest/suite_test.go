package storetest_test

import (
	"fmt"

	"tacet/sync/storetest"
)

// A new store is held to the contract with one line in its own test:
//
//	func TestMine(t *testing.T) {
//		storetest.Run(t, func(t testing.TB) replica.Store { return mine.Open(t.TempDir()) })
//	}
func Example() {
	fmt.Println(len(storetest.Company))
	// Output: 36
}
