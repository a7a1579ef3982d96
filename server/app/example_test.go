package app_test

import (
	"fmt"
	"os"
	"strings"

	"tacet/server/app"
)

// The command line of the server, without a process of its own: a company in a new data folder, and a password that is too short.
func ExampleRun() {
	dir, err := os.MkdirTemp("", "tacet")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer os.RemoveAll(dir)
	var id strings.Builder
	code := app.Run([]string{"--data", dir, "company", "add", "Quarrystone Interiors (invented)"}, nil, &id, os.Stdout)
	fmt.Println(code, len(strings.TrimSpace(id.String())), "characters of an id")
	code = app.Run([]string{"--data", dir, "user", "add", "--company", strings.TrimSpace(id.String()), "--login", "idris", "--role", "site", "--password-stdin"},
		strings.NewReader("short"), os.Stdout, os.Stdout)
	fmt.Println(code)
	// Output:
	// 0 36 characters of an id
	// server: password is 5 characters long; give 12 to 128 characters; three or four words make a good one
	// 2
}
