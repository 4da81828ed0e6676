package words

import (
	"go/ast"
	"go/parser"
	"go/token"
	"go/types"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"toneplumb/spectrum/finding"
)

// Every kind of finding that the packages below have is in the golden file: whoever adds one
// is told to word it.
func TestEveryKindIsWorded(t *testing.T) {
	worded := map[string]bool{}
	name := func(f finding.Finding) string { return strings.TrimPrefix(reflect.TypeOf(f).String(), "*") }
	for _, f := range ofATrack() { // TrackFindings has them
		worded[name(f)] = true
	}
	for _, f := range slices.Concat(findings(3), many(), prints()) {
		if worded[name(f)] = true; Finding(f) == "" { // or it panics
			t.Errorf("%s has no sentence", name(f))
		}
	}
	kinds := 0
	for _, dir := range []string{"..", "../listen", "../probe", "../tracks"} {
		for _, file := range sources(t, dir) {
			for _, d := range file.Decls {
				f, is := d.(*ast.FuncDecl)
				if !is || f.Name.Name != "Severity" || f.Recv == nil {
					continue
				}
				kinds++
				if name := file.Name.Name + "." + strings.TrimPrefix(types.ExprString(f.Recv.List[0].Type), "*"); !worded[name] {
					t.Errorf("%s is not in the golden file", name)
				}
			}
		}
	}
	if kinds < 10 {
		t.Errorf("only %d kinds of findings found in the source", kinds)
	}
	for dir, all := range map[string][]finding.Finding{"../probe": prints(), "../tracks": ofATrack()} {
		codes := map[string]bool{}
		for _, f := range all {
			codes[f.Code()] = true
		}
		if n := constants(t, dir, "FindingKind"); n < 10 || n != len(codes) || n != len(all) {
			t.Errorf("%s: %d kinds in the source; %d codes of %d findings in the golden file", dir, n, len(codes), len(all))
		}
	}
}

// constants returns the number of a folder's constants of a type.
func constants(t *testing.T, dir, of string) (n int) {
	for _, file := range sources(t, dir) {
		for _, d := range file.Decls {
			g, is := d.(*ast.GenDecl)
			if !is || g.Tok != token.CONST {
				continue
			}
			typed := false // as long as nothing else is given, the type of the line above holds
			for _, spec := range g.Specs {
				v := spec.(*ast.ValueSpec)
				if v.Type != nil || v.Values != nil {
					typed = v.Type != nil && types.ExprString(v.Type) == of
				}
				if typed {
					n += len(v.Names)
				}
			}
		}
	}
	return n
}

// sources are a folder's files without tests, by name.
func sources(t *testing.T, dir string) map[string]*ast.File {
	t.Helper()
	names, err := filepath.Glob(filepath.Join(dir, "*.go"))
	if err != nil || len(names) == 0 {
		t.Fatalf("%s: %d files, %v", dir, len(names), err)
	}
	files := map[string]*ast.File{}
	for _, name := range names {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		f, err := parser.ParseFile(token.NewFileSet(), name, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		files[filepath.ToSlash(name)] = f
	}
	return files
}
