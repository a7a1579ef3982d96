package accounts_test

import (
	"fmt"

	"tacet/jobs"
	"tacet/server/accounts"
)

func Example() {
	fmt.Println(accounts.CheckPassword("m.reed", "short"))
	fmt.Println(accounts.CheckPassword("m.reed", "slate gutter ninety"))
	fmt.Println(accounts.May(jobs.Site, accounts.SyncRecords))
	// Output:
	// password is 5 characters long; give 12 to 128 characters; three or four words make a good one
	// <nil>
	// true
}
