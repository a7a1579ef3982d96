package replica_test

import (
	"flag"
	"fmt"
	"os"
	"testing"
)

func TestMain(m *testing.M) {
	if path := os.Getenv("TACET_TEST_WRITER"); path != "" {
		if err := writer(path); err != nil {
			fmt.Fprintln(os.Stderr, err)
		}
		os.Exit(1)
	}
	flag.Parse()
	asked := false
	flag.Visit(func(f *flag.Flag) { asked = asked || f.Name == "rapid.checks" })
	if !asked {
		// a run of the simulation is some 0.3 s; -rapid.checks=2000 plays more
		if err := flag.Set("rapid.checks", "12"); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
	}
	os.Exit(m.Run())
}
