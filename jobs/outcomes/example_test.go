package outcomes_test

import (
	"fmt"

	"tacet/jobs/outcomes"
)

// Three complaints in forty jobs, and none in twenty: what that allows to be said.
func Example() {
	r := outcomes.RateOf(3, 40, 5)
	fmt.Printf("%d of %d, 95 %% %.1f to %.1f %%, %d not heard from\n", r.Events, r.N, 100*r.Wilson.Low, 100*r.Wilson.High, r.Unknown)
	fmt.Printf("0 of 20: below %.1f %% (one-sided 95 %%)\n", 100*outcomes.AtMost(0, 20, 0.95))
	fmt.Println("1 of 4: share said:", outcomes.RateOf(1, 4, 0).Share != nil)
	// Output:
	// 3 of 40, 95 % 2.6 to 19.9 %, 5 not heard from
	// 0 of 20: below 13.9 % (one-sided 95 %)
	// 1 of 4: share said: false
}
