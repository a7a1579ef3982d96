package main

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// TestDevelopersTable looks up every function that DEVELOPERS.md names in the life of one entry, and every path that it
// puts in code quotes.
func TestDevelopersTable(t *testing.T) {
	text, err := os.ReadFile("../DEVELOPERS.md")
	if err != nil {
		t.Fatal(err)
	}
	row := regexp.MustCompile("(?m)^\\| [0-9]+ \\| `([A-Za-z.]+)` \\| `([a-z_/]+\\.go)` \\|")
	rows := row.FindAllStringSubmatch(string(text), -1)
	if len(rows) < 10 {
		t.Fatalf("found %d hops in DEVELOPERS.md", len(rows))
	}
	for _, r := range rows {
		if !declares(t, filepath.Join("..", r[2]), r[1]) {
			t.Errorf("%s does not declare %s", r[2], r[1])
		}
	}
	path := regexp.MustCompile("`([a-z_]+(?:/[a-z_]+)*(?:/|/[a-z_0-9]+\\.(?:go|md|csv)))`")
	for _, p := range path.FindAllStringSubmatch(string(text), -1) {
		if _, err := os.Stat(filepath.Join("..", p[1])); err != nil {
			t.Errorf("DEVELOPERS.md names %s, which is not there", p[1])
		}
	}
}

// TestDevelopersCommands looks up every test that DEVELOPERS.md names, and whether each command of it finds something to run and each
// variable that it sets is read by somebody.
func TestDevelopersCommands(t *testing.T) {
	text, err := os.ReadFile("../DEVELOPERS.md")
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	var code strings.Builder
	function := regexp.MustCompile(`(?m)^func ((?:Test|Benchmark|Fuzz)\w+)\(`)
	err = filepath.WalkDir("..", func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && (d.Name() == "node_modules" || d.Name() == ".git") {
			return fs.SkipDir
		}
		if d.IsDir() || filepath.Ext(path) != ".go" && filepath.Base(filepath.Dir(path)) != ".ci" {
			return nil
		}
		src, err := os.ReadFile(path)
		code.Write(src)
		for _, f := range function.FindAllSubmatch(src, -1) {
			names = append(names, string(f[1]))
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	said := regexp.MustCompile("`(Test[A-Z]\\w*)`").FindAllSubmatch(text, -1)
	for _, n := range said {
		if !slices.Contains(names, string(n[1])) {
			t.Errorf("DEVELOPERS.md names %s, which is not there", n[1])
		}
	}
	commands := regexp.MustCompile(`-(?:run|bench|fuzz) '?([^'\s`+"`"+`]+)'?`).FindAllSubmatch(text, -1)
	for _, c := range commands {
		pattern := strings.ReplaceAll(string(c[1]), `\|`, "|") // as a table has it
		if pattern == "^$" {
			continue
		}
		if at, err := regexp.Compile(pattern); err != nil || !slices.ContainsFunc(names, at.MatchString) {
			t.Errorf("DEVELOPERS.md has a command that runs %s: nothing is called so", pattern)
		}
	}
	variables := regexp.MustCompile(`TACET_[A-Z_]+`).FindAll(text, -1)
	for _, v := range variables {
		if !strings.Contains(code.String(), string(v)) {
			t.Errorf("DEVELOPERS.md sets %s, which nobody reads", v)
		}
	}
	if len(said) < 10 || len(commands) < 15 || len(variables) < 10 {
		t.Errorf("found %d tests, %d commands and %d variables in DEVELOPERS.md", len(said), len(commands), len(variables))
	}
}

// declares tells whether a file declares a function, or a method given as Type.Method.
func declares(t *testing.T, file, name string) bool {
	t.Helper()
	f, err := parser.ParseFile(token.NewFileSet(), file, nil, parser.SkipObjectResolution)
	if err != nil {
		t.Error(err)
		return false
	}
	receiver, method, isMethod := strings.Cut(name, ".")
	if !isMethod {
		receiver, method = "", name
	}
	for _, d := range f.Decls {
		fn, ok := d.(*ast.FuncDecl)
		if !ok || fn.Name.Name != method {
			continue
		}
		of := ""
		if fn.Recv != nil {
			expr := fn.Recv.List[0].Type
			if star, ok := expr.(*ast.StarExpr); ok {
				expr = star.X
			}
			of = expr.(*ast.Ident).Name
		}
		if of == receiver {
			return true
		}
	}
	return false
}
