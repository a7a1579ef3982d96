package app_test

import (
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// Each promise of the README names tests, and each of them is there.
func TestPromisesNameTests(t *testing.T) {
	_, section, _ := strings.Cut(readTop(t, "README.md"), "\n## Security\n")
	section, _, _ = strings.Cut(section, "\n## ")
	names := regexp.MustCompile("`(Test\\w+)`").FindAllStringSubmatch(section, -1)
	if len(names) < 20 {
		t.Fatalf("only %d tests are named", len(names))
	}
	var tests strings.Builder
	err := filepath.WalkDir(filepath.Join("..", ".."), func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && (d.Name() == "node_modules" || d.Name() == ".git") {
			return fs.SkipDir
		}
		if !strings.HasSuffix(path, "_test.go") {
			return nil
		}
		b, err := os.ReadFile(path)
		tests.Write(b)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	for _, n := range names {
		if !strings.Contains(tests.String(), "func "+n[1]+"(") {
			t.Errorf("the README names %s, which is not there", n[1])
		}
	}
	for row := range strings.Lines(section) {
		if strings.HasPrefix(row, "| ") && !strings.HasPrefix(row, "| promise") && !strings.HasPrefix(row, "| ---") && strings.Count(row, "`") < 2 {
			t.Errorf("a promise without a test: %s", row)
		}
	}
}
