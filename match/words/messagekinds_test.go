package words_test

import (
	"cmp"
	"go/ast"
	"slices"
	"strconv"
	"strings"
)

// kind is a kind of finding.
type kind struct{ code, severity string }

// kinds are all findings of the module: types with a Code and a Severity.
func (s *source) kinds() []kind {
	codes, severities := map[string]string{}, map[string]string{} // by package and type
	for dir, files := range s.packages {
		for _, file := range files {
			for _, d := range file.Decls {
				f, is := d.(*ast.FuncDecl)
				if !is || f.Recv == nil {
					continue
				}
				of, is := f.Recv.List[0].Type.(*ast.Ident)
				if !is {
					continue
				}
				key := dir + " " + of.Name
				switch f.Name.Name {
				case "Code":
					codes[key] = strings.Join(returned(f), " ")
				case "Severity":
					severities[key] = strings.ToLower(strings.Join(returned(f), " or "))
				}
			}
		}
	}
	var all []kind
	for key, severity := range severities {
		if codes[key] != "" { // else a field says which: see sections
			all = append(all, kind{codes[key], severity})
		}
	}
	slices.SortFunc(all, func(a, b kind) int { return cmp.Compare(a.code, b.code) })
	return slices.Compact(all)
}

// returned are the literals and names that a method returns.
func returned(f *ast.FuncDecl) []string {
	var all []string
	ast.Inspect(f.Body, func(n ast.Node) bool {
		r, is := n.(*ast.ReturnStmt)
		if !is {
			return true
		}
		switch e := r.Results[0].(type) {
		case *ast.BasicLit:
			text, _ := strconv.Unquote(e.Value)
			all = append(all, text)
		case *ast.Ident:
			all = append(all, e.Name)
		case *ast.SelectorExpr:
			all = append(all, e.Sel.Name)
		}
		return true
	})
	return all
}
