package live_test

import (
	"context"
	"fmt"

	"tacet/server/live"
)

// News are a position. What was heard already, or arrives late, changes nothing.
func ExampleHub() {
	h := live.New(live.Config{Position: func(context.Context, string) (int64, error) { return 7, nil }})
	defer h.Close()
	for _, end := range []int64{0, 9, 8} {
		if end > 0 {
			h.Announce("firm", end)
		}
		at, err := h.At(context.Background(), "firm")
		fmt.Println(at, err)
	}
	// Output:
	// 7 <nil>
	// 9 <nil>
	// 9 <nil>
}
