package runner_test

import (
	"fmt"

	"tacet/client/runner"
	"tacet/sync/replica"
)

func ExampleLine() {
	fmt.Println(runner.Line(replica.Report{Sent: 14, Received: 2}, nil))
	fmt.Println(runner.Line(replica.Report{Waiting: 14}, replica.ErrUnreachable))
	fmt.Println(runner.Line(replica.Report{Sent: 1, Held: 1}, nil))
	// Output:
	// All changes sent. Sent 14, received 2.
	// No connection. Your work is saved here and will be sent later. 14 changes to send.
	// All changes sent. Sent 1, received 0. 1 record waits for the supervisor; nobody else counts on it yet.
}
