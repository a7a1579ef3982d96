package migrations_test

import (
	"fmt"
	"io/fs"
	"testing"

	"tacet/migrations"
)

func ExampleFor() {
	files, err := migrations.For(migrations.SQLite)
	if err != nil {
		fmt.Println(err)
		return
	}
	_, err = fs.Stat(files, "00001_entries.sql")
	fmt.Println(err)
	// Output: <nil>
}

// Both dialects have the same steps.
func TestSameSteps(t *testing.T) {
	names := func(dialect string) (list []string) {
		files, err := migrations.For(dialect)
		if err != nil {
			t.Fatal(err)
		}
		entries, err := fs.ReadDir(files, ".")
		if err != nil {
			t.Fatal(err)
		}
		for _, e := range entries {
			list = append(list, e.Name())
		}
		return list
	}
	a, b := names(migrations.SQLite), names(migrations.Postgres)
	if len(a) == 0 || fmt.Sprint(a) != fmt.Sprint(b) {
		t.Errorf("SQLite has %v, PostgreSQL %v", a, b)
	}
}
