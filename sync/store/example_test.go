package store_test

import (
	"context"
	"fmt"
	"os"
	"path/filepath"

	"tacet/sync/replica"
	"tacet/sync/store"
)

func ExampleOpen() {
	dir, err := os.MkdirTemp("", "tacet")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer os.RemoveAll(dir)
	s, err := store.Open(context.Background(), filepath.Join(dir, "home.db"))
	if err != nil {
		fmt.Println(err)
		return
	}
	defer s.Close()
	_, err = s.Active(context.Background())
	fmt.Println(s.Dialect(), err == replica.ErrNoHome)
	// Output: sqlite true
}
