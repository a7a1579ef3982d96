package wire_test

import (
	"errors"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"tacet/jobs"
	"tacet/sync/replica"
	"tacet/sync/wire"
)

// sentinels lists the sentences of all package-level errors.New of a folder.
func sentinels(t *testing.T, dir string) map[string]string {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(dir, "*.go"))
	if err != nil || len(files) == 0 {
		t.Fatalf("no files in %s: %v", dir, err)
	}
	found := map[string]string{}
	for _, file := range files {
		if strings.HasSuffix(file, "_test.go") {
			continue
		}
		f, err := parser.ParseFile(token.NewFileSet(), file, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		for _, decl := range f.Decls {
			gen, ok := decl.(*ast.GenDecl)
			if !ok || gen.Tok != token.VAR {
				continue
			}
			for _, spec := range gen.Specs {
				v := spec.(*ast.ValueSpec)
				for i, name := range v.Names {
					if says, ok := errorsNew(v, i); ok && name.IsExported() {
						found[name.Name] = says
					}
				}
			}
		}
	}
	return found
}

func errorsNew(v *ast.ValueSpec, i int) (string, bool) {
	if i >= len(v.Values) {
		return "", false
	}
	call, ok := v.Values[i].(*ast.CallExpr)
	if !ok || len(call.Args) != 1 {
		return "", false
	}
	fun, ok := call.Fun.(*ast.SelectorExpr)
	lit, isText := call.Args[0].(*ast.BasicLit)
	if !ok || !isText || fun.Sel.Name != "New" {
		return "", false
	}
	says, err := strconv.Unquote(lit.Value)
	return says, err == nil
}

// Every sentinel that a caller may meet has a row.
func TestEverySentinelHasARow(t *testing.T) {
	rows := map[string]bool{}
	for _, r := range wire.Rows() {
		rows[r.Err.Error()] = true
	}
	n := 0
	for _, dir := range []string{"../replica", "../../jobs"} {
		for name, says := range sentinels(t, dir) {
			n++
			if !rows[says] {
				t.Errorf("%s of %s has no row in the table", name, dir)
			}
		}
	}
	if n < 20 {
		t.Errorf("only %d sentinels found: does this test still read the source?", n)
	}
}

// The table read backwards gives what it was made of, with all that the client needs.
func TestThereAndBack(t *testing.T) {
	names := map[string]bool{}
	for _, row := range wire.Rows() {
		if names[row.Name] {
			t.Errorf("two rows are called %s", row.Name)
		}
		names[row.Name] = true
		in := &replica.Refusal{Err: row.Err, Says: "because", NextRun: 7, Job: "j", Seq: 3, H: jobs.Hash{1}, Epoch: "e", ForkN: 9, RetryAfter: 4 * time.Second}
		p, known := wire.ProblemOf(fmt.Errorf("receive: %w", in))
		if !known || p.Status != row.Status || p.Type != "/problems/"+row.Name || p.Status < 400 {
			t.Errorf("%s: %+v", row.Name, p)
		}
		err := p.Err()
		var out *replica.Refusal
		if !errors.Is(err, row.Err) || !errors.As(err, &out) || *out != *in {
			t.Errorf("%s came back as %#v", row.Name, err)
		}
		if wire.Exit(fmt.Errorf("sync: %w", err)) != row.Exit {
			t.Errorf("%s: exit %d", row.Name, wire.Exit(err))
		}
	}
}

func TestExit(t *testing.T) {
	for _, c := range []struct {
		err  error
		want int
	}{
		{nil, 0},
		{errors.New("disk on fire"), 1},
		{replica.ErrBroken, 1},
		{fmt.Errorf("record: %w", &jobs.InputError{Field: "share", Value: "2"}), 2},
		{&jobs.RuleError{Says: "no"}, 2},
		{replica.ErrNoJob, 2},
		{replica.ErrNotEnrolled, 2},
		{replica.ErrSignIn, 4},
		{replica.ErrRevoked, 4},
		{replica.ErrUnreachable, 5},
	} {
		if got := wire.Exit(c.err); got != c.want {
			t.Errorf("%v: exit %d, want %d", c.err, got, c.want)
		}
	}
}

// What is not in the table says nothing about the inside.
func TestUnknownErrorSaysNothing(t *testing.T) {
	p, known := wire.ProblemOf(errors.New("/var/lib/secret: no such file"))
	if known || p.Status != 500 || strings.Contains(p.Title+p.Detail, "secret") {
		t.Errorf("%+v, %v", p, known)
	}
	p, known = wire.ProblemOf(&jobs.InputError{Field: "share", Value: "2", Range: "0 to 1"})
	if !known || p.Status != 422 || p.Field != "share" || !strings.Contains(p.Detail, "0 to 1") {
		t.Errorf("%+v, %v", p, known)
	}
}
