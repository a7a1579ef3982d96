package main

import (
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"os/exec"
	"path"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// The order of the layers: a package imports from its own layer or from one below, never from above. What is not named
// (migrations, testdata) is a leaf that imports nothing of ours.
var layers = []string{"acoustics", "jobs", "sync", "server", "client"}

// topLevel is all that may lie at the top, dot-files and dot-folders aside.
var topLevel = []string{"server", "client", "sync", "acoustics", "jobs", "migrations", "testdata",
	"README.md", "DEVELOPERS.md", "go.mod", "go.sum", "docker-compose.yml"}

// badNames say nothing about what is inside.
var badNames = []string{"util", "utils", "common", "helper", "helpers", "base", "misc", "types", "models", "internal", "shared", "lib", "pkg"}

// goFile is what the layout tests need of a source file.
type goFile struct {
	name    string // slash path from the top
	dir     string
	test    bool
	pkg     string
	comment string // of the package
	example bool   // holds an example that is run
	imports []string
}

func readGoFiles(t *testing.T) []goFile {
	t.Helper()
	var files []goFile
	err := filepath.WalkDir("..", func(p string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		name := filepath.ToSlash(strings.TrimPrefix(p, ".."+string(filepath.Separator)))
		if d.IsDir() && (strings.HasPrefix(d.Name(), ".") && p != ".." || d.Name() == "node_modules") {
			return fs.SkipDir
		}
		if d.IsDir() || !strings.HasSuffix(name, ".go") {
			return nil
		}
		src, err := os.ReadFile(p)
		if err != nil {
			return err
		}
		f, err := parser.ParseFile(token.NewFileSet(), p, src, parser.ImportsOnly|parser.ParseComments)
		if err != nil {
			return err
		}
		g := goFile{name: name, dir: path.Dir(name), test: strings.HasSuffix(name, "_test.go"), pkg: f.Name.Name, comment: strings.TrimSpace(f.Doc.Text())}
		g.example = g.test && exampleRun.Match(src)
		for _, i := range f.Imports {
			g.imports = append(g.imports, strings.Trim(i.Path.Value, `"`))
		}
		files = append(files, g)
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if len(files) < 50 {
		t.Fatalf("found %d Go files: the walk does not start at the top", len(files))
	}
	return files
}

// layer is the place of a folder in the order, -1 for a leaf.
func layer(dir string) int {
	first, _, _ := strings.Cut(dir, "/")
	return slices.Index(layers, first)
}

func TestImportArrow(t *testing.T) {
	for _, f := range readGoFiles(t) {
		own := layer(f.dir)
		for _, i := range f.imports {
			dir, ours := strings.CutPrefix(i, "tacet/")
			if !ours {
				continue
			}
			to := layer(dir)
			switch {
			case dir == "sync":
				t.Errorf("%s imports tacet/sync, which holds no code", f.name)
			case own < 0 && dir != f.dir: // a test may stand outside its package
				t.Errorf("%s is a leaf and imports %s", f.name, i)
			case to > own:
				t.Errorf("%s imports %s, which lies above it", f.name, i)
			case to < 0 && !f.test && own < layer("sync"):
				t.Errorf("%s does no input and output, and imports %s", f.name, i)
			case own == to && own <= layer("jobs") && dir != f.dir && !f.test:
				if !strings.HasPrefix(f.dir, "jobs/") {
					t.Errorf("%s imports %s", f.name, i)
				}
			}
		}
	}
}

func TestLibrariesKeptInTheirPlace(t *testing.T) {
	places := []struct {
		prefix string
		allow  []string // folders, with all below them
	}{
		{"gorm.io/", []string{"sync/store", "sync/storetest", "server/accounts"}}, // storetest is linked into tests only
		{"github.com/glebarez/", []string{"sync/store", "migrations"}},
		{"github.com/gofiber/", []string{"server", "client"}},
		{"github.com/alecthomas/kong", []string{"server/app", "server/commandline", "client"}},
		{"github.com/rogpeppe/go-internal", []string{"client"}},
	}
	for _, f := range readGoFiles(t) {
		if f.name == "server/app/exchange_bench_test.go" {
			continue // its floor is a small program of these libraries alone
		}
		for _, i := range f.imports {
			for _, p := range places {
				if strings.HasPrefix(i, p.prefix) && !slices.ContainsFunc(p.allow, func(a string) bool { return f.dir == a || strings.HasPrefix(f.dir, a+"/") }) {
					t.Errorf("%s imports %s, which belongs to %s alone", f.name, i, strings.Join(p.allow, ", "))
				}
			}
		}
	}
}

func TestPackageNamesAndComments(t *testing.T) {
	documented := map[string]bool{}
	for _, f := range readGoFiles(t) {
		for part := range strings.SplitSeq(f.dir, "/") {
			if slices.Contains(badNames, part) {
				t.Errorf("%s: the folder name %q says nothing about what is inside", f.name, part)
			}
		}
		if slices.Contains(badNames, f.pkg) {
			t.Errorf("%s: the package name %q says nothing about what is inside", f.name, f.pkg)
		}
		if !f.test {
			documented[f.dir] = documented[f.dir] || f.comment != ""
		}
	}
	for dir, ok := range documented {
		if !ok {
			t.Errorf("package in %s has no comment that says what it is for", dir)
		}
	}
}

// exampleRun finds an example whose output is compared.
var exampleRun = regexp.MustCompile(`(?s)\nfunc Example\w*\(\) \{.*\n\t// (Unordered o|O)utput:`)

// withoutExample are packages that are there for tests alone, beside those whose name ends in test, or whose main only calls another package.
var withoutExample = []string{"server", "sync", "sync/sim", "client/e2e", "testdata", "testdata/evidence/gather"}

func TestEveryPackageHasAnExample(t *testing.T) {
	has := map[string]bool{}
	for _, f := range readGoFiles(t) {
		has[f.dir] = has[f.dir] || f.example
	}
	for dir, ok := range has {
		if strings.HasSuffix(dir, "test") {
			continue
		}
		if excused := slices.Contains(withoutExample, dir); ok == excused {
			t.Errorf("%s: an example that is run: %v, in the list of packages without one: %v", dir, ok, excused)
		}
	}
}

// fileOfMap finds the files of its own package that a package's comment names; those of other packages stand there with their folder.
var fileOfMap = regexp.MustCompile(`(?:^|[^/\w.])([a-z]\w*\.go)\b`)

// A map that names what is not there leads newcomers astray.
func TestMapsNameWhatIsThere(t *testing.T) {
	named := 0
	for _, f := range readGoFiles(t) {
		for _, m := range fileOfMap.FindAllStringSubmatch(f.comment, -1) {
			named++
			if _, err := os.Stat(filepath.Join("..", filepath.FromSlash(f.dir), m[1])); err != nil {
				t.Errorf("%s: the package's comment names %s, which is not there", f.name, m[1])
			}
		}
	}
	if named < 200 {
		t.Errorf("found %d names of files: the maps are not where this test looks", named)
	}
}

// byKind are packages with a file for each kind or page: their maps name what stands around those.
var byKind = []string{"jobs", "server/pages"}

// A map that leaves a file out hides it from newcomers.
func TestMapsNameEveryFile(t *testing.T) {
	named := regexp.MustCompile(`[a-z][\w*]*\.go\b`)
	maps, files := map[string][]string{}, map[string][]string{}
	for _, f := range readGoFiles(t) {
		if f.test || slices.Contains(byKind, f.dir) {
			continue
		}
		maps[f.dir] = append(maps[f.dir], named.FindAllString(f.comment, -1)...)
		if f.comment == "" {
			files[f.dir] = append(files[f.dir], path.Base(f.name))
		}
	}
	for dir, patterns := range maps {
		if len(patterns) == 0 {
			continue
		}
		for _, file := range files[dir] {
			if !slices.ContainsFunc(patterns, func(p string) bool { ok, _ := path.Match(p, file); return ok }) {
				t.Errorf("%s: the package's comment names its files, but not %s", dir, file)
			}
		}
	}
}

func TestTopLevelIsFixed(t *testing.T) {
	out, err := exec.Command("git", "-C", "..", "ls-files").Output()
	if err != nil {
		t.Skipf("git can't list the files here: %v", err)
	}
	seen := map[string]bool{}
	for name := range strings.SplitSeq(strings.TrimSpace(string(out)), "\n") {
		top, rest, _ := strings.Cut(name, "/")
		if strings.HasPrefix(top, ".") {
			if strings.HasSuffix(rest, ".go") {
				t.Errorf("%s: ./... skips Go code in dot-folders", name)
			}
			continue
		}
		if !seen[top] && !slices.Contains(topLevel, top) {
			t.Errorf("%s is not of the fixed top level", top)
		}
		seen[top] = true
	}
	if !seen["client"] {
		t.Error("git lists no client folder: the test looks in the wrong place")
	}
}
