package acoustics

import (
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// Every exported function and method says where it comes from, or is so plain that it needs no source; those whose source has not been
// compared with the printed text are listed, so that whoever has the text knows what to read.
func TestSourcesAreNamed(t *testing.T) {
	set := token.NewFileSet()
	names, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	var unread []string
	for _, name := range names {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		f, err := parser.ParseFile(set, name, nil, parser.ParseComments)
		if err != nil {
			t.Fatal(err)
		}
		for _, d := range f.Decls {
			fn, ok := d.(*ast.FuncDecl)
			if !ok || !fn.Name.IsExported() {
				continue
			}
			doc := fn.Doc.Text()
			if doc == "" {
				t.Errorf("%s has no doc comment", fn.Name.Name)
			}
			if strings.Contains(doc, "not yet compared") || strings.Contains(doc, "from memory") {
				unread = append(unread, fn.Name.Name)
			}
			// A formula (an indented line with "=" in the comment) needs a source.
			if strings.Contains(doc, "\n\t") && strings.Contains(doc, "=") &&
				!strings.Contains(doc, "ource") && !strings.Contains(doc, "erived") && !strings.Contains(doc, "arithmetic") {
				t.Errorf("%s has a formula without a source", fn.Name.Name)
			}
		}
	}
	if len(unread) == 0 {
		t.Error("no docstring says that its source is unread: the marks have been lost")
	}
	t.Logf("%d functions whose source is not yet compared with the printed text: %s", len(unread), strings.Join(unread, ", "))
}

// Each exported function or method that takes physical numbers says in what unit, which values are sensible, and its source. Plain sums over
// levels and what reads no numbers need none.
func TestUnitsAndRangesAreNamed(t *testing.T) {
	set := token.NewFileSet()
	names, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	unit := regexp.MustCompile(`\b(dB|Hz|m|m²|kg/m²|kg/m³|kg/m|Pa|GPa|MPa|N/m³|MN/m³|Pa·s/m²|N·m|s|mm|°C)([^a-zA-Z]|$)`)
	span := regexp.MustCompile(`above 0|0 or more|at most|not below|\d to \d|below \d|from \d|-\d+ to|at least|octaves? \d|up to`)
	source := regexp.MustCompile(`Source|Derived|derived|arithmetic|As \[`)
	checked := 0
	for _, name := range names {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		f, err := parser.ParseFile(set, name, nil, parser.ParseComments)
		if err != nil {
			t.Fatal(err)
		}
		for _, d := range f.Decls {
			fn, ok := d.(*ast.FuncDecl)
			if !ok || !fn.Name.IsExported() || !takesNumbers(fn) {
				continue
			}
			checked++
			doc := fn.Doc.Text()
			for what, pattern := range map[string]*regexp.Regexp{"unit": unit, "range": span, "source": source} {
				if !pattern.MatchString(doc) {
					t.Errorf("%s: %s says no %s:\n%s", name, fn.Name.Name, what, doc)
				}
			}
		}
	}
	if checked < 40 {
		t.Errorf("only %d functions were checked", checked)
	}
}

// takesNumbers reports whether a function takes a float64 and returns one.
func takesNumbers(fn *ast.FuncDecl) bool {
	isNumber := func(e ast.Expr) bool {
		switch x := e.(type) {
		case *ast.Ident:
			return x.Name == "float64"
		case *ast.ArrayType:
			id, ok := x.Elt.(*ast.Ident)
			return ok && id.Name == "float64"
		case *ast.Ellipsis:
			id, ok := x.Elt.(*ast.Ident)
			return ok && id.Name == "float64"
		}
		return false
	}
	takes, gives := false, false
	for _, p := range fn.Type.Params.List {
		takes = takes || isNumber(p.Type)
	}
	if fn.Type.Results != nil {
		for _, r := range fn.Type.Results.List {
			id, ok := r.Type.(*ast.Ident)
			gives = gives || ok && (id.Name == "float64" || id.Name == "complex128")
		}
	}
	return takes && gives
}
