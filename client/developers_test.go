package main

import (
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"regexp"
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
