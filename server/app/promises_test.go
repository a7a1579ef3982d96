package app_test

import (
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
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
	tests := allTests(t)
	for _, n := range names {
		if !strings.Contains(tests, "func "+n[1]+"(") {
			t.Errorf("the README names %s, which is not there", n[1])
		}
	}
	for row := range strings.Lines(section) {
		if strings.HasPrefix(row, "| ") && !strings.HasPrefix(row, "| promise") && !strings.HasPrefix(row, "| ---") && strings.Count(row, "`") < 2 {
			t.Errorf("a promise without a test: %s", row)
		}
	}
}

// allTests are the texts of all tests there are.
func allTests(t *testing.T) string {
	t.Helper()
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
	return tests.String()
}

// The table of the standard names tests that are there, each row once and with how it is met or why not; what is not met stands in the README
// too, as far as it is a decision of ours.
func TestEveryRowOfTheStandardIsShown(t *testing.T) {
	b, err := os.ReadFile(filepath.Join("..", "evidence", "asvs.md"))
	if err != nil {
		t.Fatal(err)
	}
	tests, name := allTests(t), regexp.MustCompile("`(Test\\w+)`")
	row := regexp.MustCompile(`^\| (\d+\.\d+\.\d+) \| ([123]) \| ([^|]+) \| ([^|]+) \| ([^|]+) \|$`)
	seen, states, shown := map[string]bool{}, map[string]int{}, 0
	for line := range strings.Lines(string(b)) {
		line = strings.TrimSpace(line)
		for _, n := range name.FindAllStringSubmatch(line, -1) {
			if !strings.Contains(tests, "func "+n[1]+"(") {
				t.Errorf("%s is not there: %s", n[1], line)
			}
		}
		if !strings.HasPrefix(line, "| ") || strings.HasPrefix(line, "| row") || strings.HasPrefix(line, "| ---") {
			continue
		}
		m := row.FindStringSubmatch(line)
		if m == nil || seen[m[1]] || !slices.Contains([]string{"met", "part", "not", "n/a"}, m[4]) || len(m[5]) < 2 {
			t.Errorf("a row that can't be read, or twice: %s", line)
			continue
		}
		seen[m[1]] = true
		states[m[4]]++
		if name.MatchString(m[5]) {
			shown++
		}
	}
	if len(seen) < 200 || shown < 120 {
		t.Errorf("%d rows, %d of them shown by tests", len(seen), shown)
	}
	t.Logf("evidence: %d rows of OWASP ASVS 5.0 level 2: %d met, %d in part, %d not met, %d do not apply; %d name the test that shows it", len(seen), states["met"], states["part"], states["not"], states["n/a"], shown)
}
