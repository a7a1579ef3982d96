package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// What a run of go test says is counted, failures make the step fail, and what tests log as evidence is kept by test.
func TestKeep(t *testing.T) {
	out := `{"Action":"run","Package":"p","Test":"TestKill"}
{"Action":"output","Package":"p","Test":"TestKill","Output":"    kill_test.go:9: evidence: 50 kills, nothing lost\n"}
{"Action":"pass","Package":"p","Test":"TestKill"}
{"Action":"skip","Package":"p","Test":"TestBrowser"}
{"Action":"pass","Package":"p"}
`
	file := filepath.Join(t.TempDir(), "ci.json")
	read := func() map[string]run {
		t.Helper()
		data, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		all := map[string]run{}
		if err := json.Unmarshal(data, &all); err != nil {
			t.Fatal(err)
		}
		return all
	}
	if failed, err := keep(file, "tests", run{Result: "passed"}, strings.NewReader(out)); err != nil || failed {
		t.Fatalf("failed %v, %v", failed, err)
	}
	r := read()["tests"]
	if r.Result != "passed" || !strings.Contains(r.Says, "1 tests and parts of tests passed, 0 failed, 1 skipped, in 1 packages") || len(r.Counts) != 1 || r.Counts[0] != (count{"TestKill", "50 kills, nothing lost"}) {
		t.Errorf("%+v", r)
	}
	bad := out + `{"Action":"fail","Package":"q"}` + "\n"
	if failed, err := keep(file, "race", run{Result: "passed"}, strings.NewReader(bad)); err != nil || !failed {
		t.Errorf("a package that failed without a test: failed %v, %v", failed, err)
	}
	if all := read(); all["race"].Result != "failed" || all["tests"].Result != "passed" {
		t.Errorf("%+v", all)
	}
}
