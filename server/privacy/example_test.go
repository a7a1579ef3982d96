package privacy_test

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"tacet/server/accounts"
	"tacet/server/privacy"
	"tacet/sync/store"
)

// What is held about people, and for how long unless the firm sets another time. The days are our own defaults.
func ExampleDesk_Classes() {
	dir, err := os.MkdirTemp("", "tacet")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer os.RemoveAll(dir)
	ctx := context.Background()
	s, err := store.Open(ctx, filepath.Join(dir, "tacet.db"))
	if err != nil {
		fmt.Println(err)
		return
	}
	defer s.Close()
	keys, err := accounts.LoadKeys(filepath.Join(dir, "keys"))
	if err != nil {
		fmt.Println(err)
		return
	}
	a, err := accounts.New(accounts.Config{DB: s.DB(), Record: s, Keys: keys})
	if err != nil {
		fmt.Println(err)
		return
	}
	firm, err := a.AddCompany(ctx, "Quarrystone Interiors (invented)")
	if err != nil {
		fmt.Println(err)
		return
	}
	desk := privacy.Desk{Accounts: a, Now: time.Now}
	classes, err := desk.Classes(ctx, firm.ID)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, c := range classes {
		fmt.Printf("%s, %d days\n", c.Name, c.Now)
	}
	// Output:
	// Who asked and who pays: enquiries, quotes, 730 days
	// What people complained of, outcomes, answers to follow-ups, 2190 days
	// Who accepted, declined or signed off, 5475 days
	// Notes, 5475 days
	// Name and login of people whose access ended, 365 days
	// Who looked at what about people, 365 days
	// Photos of the work, 5475 days
	// The server's own log, 90 days
}
