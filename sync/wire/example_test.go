package wire_test

import (
	"fmt"

	"tacet/sync/replica"
	"tacet/sync/wire"
)

// One table says how an error ends a command and how it looks over HTTP, and is read backwards on the other side.
func ExampleProblemOf() {
	err := fmt.Errorf("push: %w", &replica.Refusal{Err: replica.ErrExpectedRun, NextRun: 12})
	p, _ := wire.ProblemOf(err)
	fmt.Println(p.Status, p.Type, p.NextRun)
	fmt.Println(wire.Exit(p.Err()), p.Err())
	// Output:
	// 409 /problems/expected-run 12
	// 1 entries before these have not arrived
}
